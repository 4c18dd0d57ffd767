"""Facts about the state of the piece: damage, what is gone or hidden, and what was noted."""

from __future__ import annotations

from collections.abc import Iterator

from keygen.prose import words
from keygen.prose.facts import Fact, Form, Grounds, Page, View
from keygen.prose.grammar import plain
from keygen.prose.seen import Seen, name_of, untold

FIELDS = ("site", "unit", "level", "provenience", "observer", "date")  # never coordinates
TIP_LOST = ("damage.tip_snap", "damage.impact")


def _broken(page: Page) -> Grounds:
    portion = page.voice("portion")
    return (portion.spoken and portion.ids != ("complete",),)


def _damage(view: View, broken: bool) -> Iterator[Fact]:
    items = [(name, view[name]) for name in view.declared]
    certain = [name for name, seen in items if seen.spoken and seen.ids == ("present",)]
    possible = [name for name, seen in items if seen.doubtful]
    denied = [name for name, seen in items if seen.spoken and seen.ids == ("absent",)]
    nothing = bool(items) and len(denied) == len(items)
    if not certain and not possible and not nothing:
        return

    def noun(name: str) -> str:
        attribute = view[name].attribute
        label = plain(attribute.label) if attribute else name
        return words.DAMAGE_NOUNS.get(name.partition(".")[2], label)

    clauses = [words.DAMAGE.get(n.partition(".")[2], f"the piece shows {noun(n)}") for n in certain]
    if set(TIP_LOST) <= set(certain):
        clauses[:2] = ["the tip is lost to a snap and an impact fracture"]
    yield Fact(
        "damage",
        {
            "clauses": clauses,
            "broken": broken,
            "nouns": [noun(n) for n in certain],
            "possible": [noun(n) for n in possible],
        },
        tuple(denied if nothing else (*certain, *possible)),
    )


def _gaps(page: Page) -> Grounds | None:
    """Return what nothing is known of, and which parts are gone of which nothing is said."""
    gone = page.examination.gone
    gaps = tuple([s for s in page.unsaid if s.gap or (s.how == "unsure" and _undecided(page, s))])
    if not gone:
        return (gaps, gone, gone) if gaps else None
    told = {s.part for s in page.voices if s.part}
    if any(page.voice(name).ids == ("present",) for name in TIP_LOST):
        told.add("tip")
    return gaps, gone, gone - told


def _undecided(page: Page, seen: Seen) -> bool:
    """Tell whether somebody left a trait undecided of which the style of haft tells no more.

    A walk that ended early leaves the same states; there nobody was asked.
    """
    a = seen.attribute
    if a is None or a.item_of or a.stability == "record" or not untold(a, seen.mask):
        return False
    recorded = page.examination.piece.observations.get(page.rules.index[a.id])
    return recorded is not None and recorded.mask == a.full


def _unseen(
    view: View, gaps: tuple[Seen, ...], gone: frozenset[str], untold: frozenset[str]
) -> Iterator[Fact]:
    """Say which parts are gone, and what could not be observed or decided on the rest."""
    known = [s.attribute for s in gaps if s.attribute is not None and s.how == "missing"]
    hidden = [a for a in known if a.part not in gone]
    undecided = [s.attribute for s in gaps if s.attribute is not None and s.how == "unsure"]
    parts = [plain(label) for part, label in view.rules.parts.items() if part in untold]
    if parts or hidden or undecided:
        values = {
            "parts": parts,
            "hidden": [name_of(a) for a in hidden],
            "undecided": [name_of(a) for a in undecided],
        }
        yield Fact("unseen", values, tuple(a.id for a in (*hidden, *undecided)))


def _recorded(page: Page) -> Grounds | None:
    details = page.examination.piece.details
    given = tuple(name for name in FIELDS if details.get(name, "").strip())
    return (given,) if given else None


def _context(_view: View, given: tuple[str, ...]) -> Iterator[Fact]:
    """Hand on where and by whom the piece was recorded."""
    yield Fact(
        "context", {}, details=given, fill=lambda own: {name: own.detail(name) for name in FIELDS}
    )


def _noted(page: Page) -> Grounds | None:
    return () if page.examination.piece.notes.strip() else None


def _notes(_view: View) -> Iterator[Fact]:
    """Hand on what the analyst noted in the record, on one line."""
    yield Fact("notes", {}, fill=lambda own: {"notes": " ".join(own.piece.notes.split())})


DAMAGE = Form(_damage, ("damage",), _broken, lent=("portion",))
UNSEEN = Form(_unseen, (), _gaps, lent=("form", *TIP_LOST))
CONTEXT = Form(_context, (), _recorded)
NOTES = Form(_notes, (), _noted)
