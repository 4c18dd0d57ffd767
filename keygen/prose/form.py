"""Facts about the piece itself, one `Fact` a sentence, holding only what it may speak of.

Each slot declares its attributes. A builder that asks for any other fails, so a sentence can always
name the observations it rests on. How the facts are worded is left to the templates.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field

from keygen.core.examine import Examination
from keygen.core.model import Rules
from keygen.prose import words
from keygen.prose.facts import Fact, View
from keygen.prose.grammar import listed, plain, said
from keygen.prose.seen import NOTHING, Seen, hafting, name_of, width_against


def _piece(view: View) -> Iterator[Fact]:
    portion, style, notched = view["portion"], view["haft_style"], view["notch_position"]
    wholes = tuple(s for s in portion.ids if s in ("complete", "near_complete"))
    fragments = tuple(s for s in portion.ids if s not in wholes) if portion else ()
    dimensions = [
        f"{text} {word}"
        for name, word in (("length", "long"), ("width", "wide"), ("thickness", "thick"))
        if (text := view.measure(name))
    ]
    kind = hafting(style, notched)
    loose = fragments and not kind and not wholes and set(fragments) <= {"distal", "medial"}
    yield Fact(
        "piece",
        {
            "label": view.examination.piece.label,
            "whole": _portion(view, wholes) if portion else "",
            "fragment": _portion(view, fragments),
            "kind": kind,
            "noun": "biface" if loose else "point",
            "size": view["size_class"].said,
            "material": _material(view.details),
            "dimensions": dimensions,
            "weight": view.measure("weight"),
        },
        about=view.voiced(),
        measures=tuple(n for n in IN_TITLE if view.measure(n)),
        details=tuple(n for n in ("material", "colour") if view.details.get(n)),
    )


def _portion(view: View, states: tuple[str, ...]) -> str:
    attribute = view["portion"].attribute
    if attribute is None:
        return ""
    own = words.SETS["portion"].get(frozenset(states))
    terms = words.PREDICATES["portion"]
    return own or listed(
        (terms.get(s) or plain(attribute.within(attribute.bits[s])[0].term) for s in states), "or"
    )


def _material(details: Mapping[str, str]) -> str:
    material, colour = details.get("material", "").strip(), details.get("colour", "").strip()
    if material.lower() in ("unknown", "indeterminate", "undetermined", "?"):
        material = "undetermined material"
    if not colour:
        return material
    if any(sign.isdigit() for sign in colour):  # a Munsell reading
        return f"{material or 'stone'} ({colour})"
    return f"{colour} {material or 'stone'}"


IN_TITLE = ("length", "width", "thickness", "weight")


def _measures(view: View) -> Iterator[Fact]:
    stem = any(view[name].present for name in ("stem_shape", "stem_length"))
    names = [
        name
        for name in view.rules.measurements
        if view.measure(name) and name not in IN_TITLE and not (stem and name == "haft_length")
    ]
    if names:
        items = [
            {"name": plain(view.rules.measurements[n].label), "value": view.measure(n)}
            for n in names
        ]
        yield Fact("measures", {"items": items}, measures=tuple(names))


def _blade(view: View) -> Iterator[Fact]:
    edges = view.part("blade_shape", "blade_edge")
    values = {
        "edges": edges,
        "retouch": view["blade_retouch"],
        "symmetry": view["blade_symmetry"],
        "tip": view["tip"],
    }
    if view.voiced():
        yield Fact("blade", values, about=view.voiced())


MARGINS = ("haft_sides", "haft_waist", "haft_edge")
BASE_ONLY = ("ears", "base_width_class", "base_finish", "basal_thinning")


def _haft(view: View) -> Iterator[Fact]:
    """Join notches, shoulders and stem into one sentence, and the base if little is said of it."""
    length = view.measure("haft_length")
    notches = view.part("notch_form")
    count = view["notch_count"]
    shoulders = view.part("shoulder_strength", "shoulder_shape")
    stem = view.part("stem_length", "stem_shape", size=length)
    base, grinding = view["base_shape"], view["haft_grinding"]
    ground: tuple[str, ...] = ("haft_grinding",)
    if view.voiced(*MARGINS):  # these are told with how they are ground
        grinding, ground = NOTHING, ()
    plain_base = base and not view.voiced(*BASE_ONLY) and (grinding.absent or not grinding)
    linked = stem and stem.sure and any(p and p.sure for p in (shoulders, notches))
    tail: tuple[str, ...] = ()
    about = (*view.voiced("notch_count"), *notches.about, *shoulders.about, *stem.about)
    if plain_base and linked:
        tail = tuple(said((base.attributive, grinding.said)))
        about += view.voiced("base_shape", *ground)
    if about:
        values = {
            "count": count,
            "notches": notches,
            "shoulders": shoulders,
            "stem": stem,
            "base": tail,
        }
        yield Fact("haft", values, about, ("haft_length",) if stem.size else ())
    rest = ("base_shape", *ground, *BASE_ONLY)
    flutes = view["fluting"]
    unfluted = flutes.absent and not tail and bool(view.voiced(*rest))
    if not tail and view.voiced(*rest):
        shoulder = view["shoulder_shape"]
        against = "the shoulders" if shoulder.present and not shoulder.maybe else ""
        yield Fact(
            "base",
            {
                "shape": base,
                "ears": view["ears"],
                "width": view["base_width_class"],
                "against": against or width_against(view["haft_style"]),
                "finish": view["base_finish"],
                "grinding": grinding,
                "thinning": view["basal_thinning"],
                "unfluted": flutes.said if unfluted else "",
            },
            view.voiced(*rest, *(("fluting",) if unfluted else ())),
        )
    if not unfluted and view.voiced("fluting", "flute_length"):
        told = {"fluting": flutes, "flute_length": view["flute_length"]}
        yield Fact("flutes", told, view.voiced("fluting", "flute_length"))


def _plain_slot(slot: str, *needed: str) -> Callable[[View], Iterator[Fact]]:
    """Return a builder that hands each declared attribute to the template under its own name.

    Something has to be said of one of the `needed`, or of any attribute if none is named.
    """

    def build(view: View) -> Iterator[Fact]:
        if view.voiced(*needed):
            yield Fact(slot, {name: view[name] for name in view.declared}, view.voiced())

    return build


def _damage(view: View) -> Iterator[Fact]:
    items = [(name, view[name]) for name in view.declared if name != "portion"]
    certain = [name for name, seen in items if seen.spoken and seen.ids == ("present",)]
    possible = [name for name, seen in items if seen.how == "unsure" and len(seen.ids) > 1]
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
            "broken": bool(set(view["portion"].ids) - {"complete"}),
            "nouns": [noun(n) for n in certain],
            "possible": [noun(n) for n in possible],
        },
        tuple(denied if nothing else (*certain, *possible)),
    )


def _unseen(view: View) -> Iterator[Fact]:
    """Say which parts are gone, and what could not be observed or decided on the rest."""
    gone = view.examination.gone
    attributes = [a for a in view.rules.attributes if a.id in view.declared]
    # items of damage that are in doubt are told with the damage
    unknown = [a for a in attributes if view[a.id].mask == a.full and not a.item_of]
    hidden = [a for a in unknown if view[a.id].how == "missing" and a.part not in gone]
    undecided = [a for a in unknown if view[a.id].how == "unsure"]
    tip_said = any(view[n].ids == ("present",) and view[n] for n in TIP_LOST if n in view.declared)
    told = {a.part for a in attributes if view[a.id]}
    parts = [p for p in view.rules.parts if p in gone - told and not (p == "tip" and tip_said)]
    if parts or hidden or undecided:
        yield Fact(
            "unseen",
            {
                "parts": [plain(view.rules.parts[p]) for p in parts],
                "hidden": [name_of(a) for a in hidden],
                "undecided": [name_of(a) for a in undecided],
            },
            tuple(a.id for a in (*hidden, *undecided)),
        )


CONTEXT = ("site", "unit", "level", "provenience", "observer", "date")


def _context(view: View) -> Iterator[Fact]:
    """Hand on where and by whom the piece was recorded; never coordinates."""
    known = {name: view.details.get(name, "").strip() for name in CONTEXT}
    if any(known.values()):
        yield Fact("context", known, details=tuple(name for name in CONTEXT if known[name]))


def _notes(view: View) -> Iterator[Fact]:
    """Hand on what the analyst noted in the record, on one line."""
    if notes := " ".join(view.examination.piece.notes.split()):
        yield Fact("notes", {"notes": notes})


TIP_LOST = ("damage.tip_snap", "damage.impact")


@dataclass(frozen=True)
class Slot:
    """One place in a description: its builder and the attributes it may speak of.

    `damage` stands for all items of damage, `form` for every attribute that is not a mere record.
    """

    build: Callable[[View], Iterator[Fact]]
    declared: tuple[str, ...] = field(default=())


SLOTS: Mapping[str, Slot] = {
    "piece": Slot(_piece, ("portion", "haft_style", "notch_position", "size_class")),
    "measures": Slot(_measures, ("stem_shape", "stem_length")),
    "blade": Slot(_blade, ("blade_shape", "blade_edge", "blade_retouch", "blade_symmetry", "tip")),
    "haft": Slot(
        _haft,
        (
            "haft_style",
            "notch_count",
            "notch_form",
            "shoulder_strength",
            "shoulder_shape",
            "stem_length",
            "stem_shape",
            "base_shape",
            "haft_grinding",
            *BASE_ONLY,
            *MARGINS,
            "fluting",
            "flute_length",
        ),
    ),
    "barbs": Slot(_plain_slot("barbs"), ("barb_tip", "barb_reach")),
    "margins": Slot(_plain_slot("margins", *MARGINS), (*MARGINS, "haft_grinding")),
    "section": Slot(_plain_slot("section"), ("cross_section", "flaking")),
    "use": Slot(_plain_slot("use"), ("resharpening", "reworked_as")),
    "damage": Slot(_damage, ("damage", "portion")),
    "unseen": Slot(_unseen, ("form", *TIP_LOST)),
    "handling": Slot(_plain_slot("handling"), ("handling",)),
    "context": Slot(_context, ()),
    "notes": Slot(_notes, ()),
}


def form(rules: Rules, examination: Examination, seen: Mapping[str, Seen]) -> list[Fact]:
    """Return the facts about the piece, in the order of a description."""
    facts: list[Fact] = []
    for slot in SLOTS.values():
        declared: list[str] = []
        for name in slot.declared:
            if name == "damage":
                declared += [a.id for a in rules.attributes if a.item_of == name]
            elif name == "form":
                declared += [a.id for a in rules.attributes if a.stability != "record"]
            else:
                declared.append(name)
        facts += slot.build(View(rules, examination, seen, tuple(declared)))
    return facts
