"""Facts about the piece itself, one `Fact` a sentence, holding only what it may speak of.

Each slot declares its attributes. A builder is given those alone, so a sentence can always name the
observations it rests on. How the facts are worded is left to the templates.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping

from keygen.core.examine import Examination
from keygen.core.model import Rules
from keygen.prose import words
from keygen.prose.condition import CONTEXT, DAMAGE, NOTES, UNSEEN
from keygen.prose.facts import Fact, Form, Grounds, Own, Page, Part, Slot, Values, View
from keygen.prose.grammar import listed, plain, said
from keygen.prose.others import others
from keygen.prose.seen import NOTHING, Seen, hafting, width_against

IN_TITLE = {"length": "long", "width": "wide", "thickness": "thick", "weight": ""}
TITLE = frozenset(IN_TITLE)


def _of_the_piece(page: Page) -> Grounds:
    """Return which of the measures and details that stand with the piece it has."""
    details = page.examination.piece.details
    given = tuple([name for name in ("material", "colour") if details.get(name)])
    return page.taken & TITLE, given


def _piece(view: View, taken: frozenset[str], given: tuple[str, ...]) -> Iterator[Fact]:
    portion, style, notched = view["portion"], view["haft_style"], view["notch_position"]
    wholes = tuple(s for s in portion.ids if s in ("complete", "near_complete"))
    fragments = tuple(s for s in portion.ids if s not in wholes) if portion else ()
    kind = hafting(style, notched)
    loose = fragments and not kind and not wholes and set(fragments) <= {"distal", "medial"}
    measures = tuple(n for n in IN_TITLE if n in taken and n in view.rules.measurements)

    def fill(own: Own) -> Values:
        filled: dict[str, object] = {"label": own.piece.label}
        if given:
            filled["material"] = _material(own)
        if measures:
            figures = {name: own.measure(name) for name in measures}
            filled["weight"] = figures.pop("weight", "")
            filled["dimensions"] = [f"{text} {IN_TITLE[name]}" for name, text in figures.items()]
        return filled

    values: dict[str, object] = {
        "whole": _portion(view, wholes) if portion else "",
        "fragment": _portion(view, fragments),
        "kind": kind,
        "noun": "biface" if loose else "point",
        "size": view["size_class"].said,
        "material": "",
        "dimensions": [],
        "weight": "",
    }
    yield Fact("piece", values, view.voiced(), measures, given, fill=fill)


def _portion(view: View, states: tuple[str, ...]) -> str:
    attribute = view["portion"].attribute
    if attribute is None:
        return ""
    own = words.SETS["portion"].get(frozenset(states))
    terms = words.PREDICATES["portion"]
    return own or listed(
        (terms.get(s) or plain(attribute.within(attribute.bits[s])[0].term) for s in states), "or"
    )


def _material(own: Own) -> str:
    material, colour = own.detail("material"), own.detail("colour")
    if material.lower() in ("unknown", "indeterminate", "undetermined", "?"):
        material = "undetermined material"
    if not colour:
        return material
    if any(sign.isdigit() for sign in colour):  # a Munsell reading
        return f"{material or 'stone'} ({colour})"
    return f"{colour} {material or 'stone'}"


def _taken(page: Page) -> Grounds | None:
    return (page.taken,) if page.taken else None


def _measures(view: View, taken: frozenset[str]) -> Iterator[Fact]:
    stem = any(view[name].present for name in ("stem_shape", "stem_length"))
    aside = {*IN_TITLE, "haft_length"} if stem else {*IN_TITLE}
    names = tuple(n for n in view.rules.measurements if n in taken and n not in aside)
    if names:
        yield Fact("measures", {}, measures=names, fill=lambda own: {"items": own.measures(names)})


def _blade(view: View) -> Iterator[Fact]:
    values = {
        "edges": view.part("blade_shape", "blade_edge"),
        "retouch": view["blade_retouch"],
        "symmetry": view["blade_symmetry"],
        "tip": view["tip"],
    }
    if view.voiced():
        yield Fact("blade", values, about=view.voiced())


MARGINS = ("haft_sides", "haft_waist", "haft_edge")
FLUTES = ("fluting", "flute_length")
BASE_ONLY = ("ears", "base_width_class", "base_finish", "basal_thinning")


def _grinding(page: Page) -> Seen:
    """Return the grinding of the haft, unless it is told with its margins."""
    return page.voice("haft_grinding") if page.said.isdisjoint(MARGINS) else NOTHING


def _sure(page: Page, *names: str) -> bool:
    """Tell whether a part of the piece is spoken of and certainly there."""
    seen = [page.voice(name) for name in names if name in page.said]
    present = [s.maybe for s in seen if s.present]
    return bool(present) and True not in present


def _tail(page: Page) -> tuple[Seen, ...]:
    """Return the base and its grinding, if so little is said of them that the haft's sentence can.

    A stem has to be there for it, and shoulders or notches that set it off.
    """
    if "base_shape" not in page.said or not page.said.isdisjoint(BASE_ONLY):
        return ()
    grinding = _grinding(page)
    stem = _sure(page, "stem_length", "stem_shape")
    if (grinding and not grinding.absent) or not stem:
        return ()
    shoulders = _sure(page, "shoulder_strength", "shoulder_shape")
    return (page["base_shape"], grinding) if shoulders or _sure(page, "notch_form") else ()


def _with_the_haft(page: Page) -> Grounds:
    return page.once(_tail), "haft_length" in page.taken


def _haft(view: View, tail: tuple[Seen, ...], measured: bool) -> Iterator[Fact]:
    """Join notches, shoulders and stem into one sentence, and the base if little is said of it."""
    notches = view.part("notch_form")
    shoulders = view.part("shoulder_strength", "shoulder_shape")
    stem = view.part("stem_length", "stem_shape")
    about = (*view.voiced("notch_count"), *notches.about, *shoulders.about, *stem.about)
    if not about:
        return

    def fill(own: Own) -> Values:
        size = own.measure("haft_length")
        return {"stem": Part(stem.before, stem.after, stem.sure, size, stem.about)}

    sized = bool(stem) and measured and "haft_length" in view.rules.measurements
    values = {
        "count": view["notch_count"],
        "notches": notches,
        "shoulders": shoulders,
        "stem": stem,
        "base": tuple(said((tail[0].attributive, tail[1].said))) if tail else (),
    }
    about += tuple(seen.id for seen in tail if seen)
    measures = ("haft_length",) if sized else ()
    yield Fact("haft", values, about, measures, fill=fill if sized else None)


def _of_the_base(page: Page) -> Grounds | None:
    """Return what the base is told with: its grinding, what it is as wide as, and no flute."""
    if page.once(_tail):
        return None
    grinding, flute = _grinding(page), page.voice("fluting")
    against = ""
    if "base_width_class" in page.said:
        shoulder = page.voice("shoulder_shape")
        sure = shoulder.present and not shoulder.maybe
        against = "the shoulders" if sure else width_against(page["haft_style"])
    return grinding, against, flute if flute.absent else NOTHING


def _base(view: View, grinding: Seen, against: str, flute: Seen) -> Iterator[Fact]:
    about = tuple(
        s.id for s in (view["base_shape"], grinding, *map(view.__getitem__, BASE_ONLY)) if s
    )
    if about:
        values = {
            "shape": view["base_shape"],
            "ears": view["ears"],
            "width": view["base_width_class"],
            "against": against,
            "finish": view["base_finish"],
            "grinding": grinding,
            "thinning": view["basal_thinning"],
            "unfluted": flute.said,
        }
        yield Fact("base", values, (*about, *(("fluting",) if flute else ())))


def _of_the_flutes(page: Page) -> Grounds | None:
    """Leave out that there is no flute where the base is told with it."""
    if page.said.isdisjoint(FLUTES):
        return None
    flute = page.voice("fluting")
    if not flute.absent or page.once(_tail):
        return ()
    told = "base_shape" in page.said or not page.said.isdisjoint(BASE_ONLY)
    return None if told or _grinding(page) else ()


def _plain(slot: str) -> Callable[[View], Iterator[Fact]]:
    """Return a builder that hands each declared attribute to the template under its own name."""

    def build(view: View) -> Iterator[Fact]:
        if view.voiced():
            yield Fact(slot, {name: view[name] for name in view.declared}, view.voiced())

    return build


def _with_margins(page: Page) -> Grounds | None:
    """Leave the grinding of the haft to the base, unless something is said of the margins."""
    return None if page.said.isdisjoint(MARGINS) else ()


FORMS: Mapping[str, Form] = {
    "piece": Form(_piece, ("portion", "haft_style", "notch_position", "size_class"), _of_the_piece),
    "measures": Form(_measures, ("stem_shape", "stem_length"), _taken),
    "blade": Form(_blade, ("blade_shape", "blade_edge", "blade_retouch", "blade_symmetry", "tip")),
    "haft": Form(
        _haft,
        (
            "notch_count",
            "notch_form",
            "shoulder_strength",
            "shoulder_shape",
            "stem_length",
            "stem_shape",
        ),
        _with_the_haft,
        lent=("base_shape", "haft_grinding", *BASE_ONLY, *MARGINS),
    ),
    "barbs": Form(_plain("barbs"), ("barb_tip", "barb_reach")),
    "base": Form(
        _base,
        ("base_shape", *BASE_ONLY),
        _of_the_base,
        lent=("haft_style", "shoulder_shape", "haft_grinding", "fluting"),
    ),
    "margins": Form(_plain("margins"), (*MARGINS, "haft_grinding"), _with_margins),
    "flutes": Form(_plain("flutes"), FLUTES, _of_the_flutes),
    "section": Form(_plain("section"), ("cross_section", "flaking")),
    "others": Form(others, ("others",)),
    "use": Form(_plain("use"), ("resharpening", "reworked_as")),
    "damage": DAMAGE,
    "unseen": UNSEEN,
    "handling": Form(_plain("handling"), ("handling",)),
    "context": CONTEXT,
    "notes": NOTES,
}

NAMED = frozenset(name for form in FORMS.values() for name in (*form.declared, *form.lent))


def form_slots(rules: Rules) -> dict[str, Slot]:
    """Return the slots about the piece, in the order of a description."""
    return {name: form.under(rules, NAMED) for name, form in FORMS.items()}


def form(rules: Rules, examination: Examination) -> list[Fact]:
    """Return the facts about a piece, with its own figures filled in."""
    page, own = Page(rules, examination), Own(rules, examination.piece)
    found = []
    for slot in form_slots(rules).values():
        if (grounds := slot.grounds(page)) is not None:
            found += [f._replace(values=f.of(own)) for f in slot.facts(rules, grounds)]
    return found
