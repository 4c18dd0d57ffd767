"""What is to be drawn of a piece or a type: one state drawn in full, the others still possible.

States are chosen so that the key can describe them together. What nobody said is drawn plain where
the outline needs it, and remembered as unknown.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import reduce
from math import sqrt
from operator import or_
from typing import TYPE_CHECKING

from keygen.core.infer import gone_parts
from keygen.core.model import PRESENT, Rules, Type
from keygen.core.states import Box, is_single, narrow
from keygen.pictures.form import PLAIN
from keygen.pictures.kindred import Words, looks, named, unspoken

if TYPE_CHECKING:
    from keygen.core.examine import Examination
    from keygen.core.measure import Reading

# Drawn where nothing is known and the plainest state (of `PLAIN`) is not possible.
_ORDINARY = {
    "blade_shape": ("excurvate",),
    "shoulder_shape": ("horizontal", "tapered"),
    "shoulder_strength": ("strong",),
    "stem_shape": ("straight", "expanding"),
    "stem_length": ("medium",),
    "notch_position": ("corner", "side"),
    "notch_form": ("broad_u",),
    "notch_count": ("two",),
    "haft_sides": ("parallel",),
    "barb_tip": ("pointed",),
    "barb_reach": ("short",),
    "flute_length": ("short",),
}
# Whether a set of states shows in the outline, in the order in which doubts are drawn.
OUTLINED = (
    "haft_style",
    "notch_position",
    "stem_shape",
    "base_shape",
    "shoulder_shape",
    "ears",
    "blade_shape",
    "haft_sides",
    "haft_waist",
    "notch_form",
    "barb_reach",
    "barb_tip",
    "base_width_class",
    "shoulder_strength",
    "stem_length",
    "tip",
)
_WIDE_BASE = 0.7  # base over width above which a stem of unknown shape is drawn expanding
_FIRST = ("haft_style", "notch_position", "portion")
_DRAWN_UNSAID = PLAIN.keys() - {"base_width_class"}  # drawn plain where nobody said anything


@dataclass(frozen=True)
class Sketch:
    """States and sizes from which a picture is drawn.

    Attributes:
        states: the state of each form that is drawn in full.
        others: by attribute, the further states still possible, where some but not all are.
        unknown: forms, and other attributes, of which nothing is known.
        damage: items of damage that are there.
        sizes: measurements in mm and degrees.
        at_least: length of what survives in mm, where it was measured across a break.
        measured: true where a length or width in mm is known.
        known: the states still possible, one mask an attribute.
    """

    states: Mapping[str, str]
    others: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    unknown: frozenset[str] = frozenset()
    damage: frozenset[str] = frozenset()
    sizes: Mapping[str, float] = field(default_factory=dict)
    at_least: float = 0.0
    measured: bool = False
    known: tuple[int, ...] = ()


def of_box(
    rules: Rules,
    known: Sequence[int],
    readings: Mapping[str, Reading] | None = None,
    prefer: Mapping[str, str] | None = None,
    hidden: frozenset[str] = frozenset(),
) -> Sketch:
    """Return what is to be drawn of a piece.

    Args:
        known: the states still possible, one mask an attribute.
        readings: measurements by id.
        prefer: states to draw in full where they are possible.
        hidden: attributes that nothing was said of, although something may follow for them.
    """
    limits = {i: mask for i, mask in enumerate(known) if mask != rules.full[i]}
    sizes, at_least = _sizes(rules, known, readings or {})
    boxes = _narrowed(rules.universe, limits) or (tuple(known),)
    wanted = {**_fitting(sizes), **(prefer or {})}
    states = filled(rules, choose(rules, boxes, limits, wanted))
    others, unknown = _open(rules, known, states, hidden)
    damage = {
        attribute.id.partition(".")[2]
        for attribute, mask in zip(rules.attributes, known, strict=True)
        if attribute.item_of and mask == PRESENT
    }
    return Sketch(
        states,
        others,
        unknown,
        frozenset(damage),
        sizes,
        at_least,
        _is_sized(sizes, at_least),
        tuple(known),
    )


def of_piece(rules: Rules, examination: Examination) -> Sketch:
    """Return what is to be drawn of an examined piece."""
    hidden = frozenset(
        attribute.id
        for attribute, observation in zip(rules.attributes, examination.observations, strict=True)
        if observation.how in ("missing", "not_asked")
        or (observation.how == "implied" and not is_single(observation.mask))
    )
    return of_box(rules, examination.known, examination.piece.readings, hidden=hidden)


def of_type(rules: Rules, kind: Type) -> Sketch:
    """Return what is to be drawn of a type: what it usually shows, within what defines it.

    Sizes are the middle (geometric mean) of the ranges recorded for the type.
    """
    allowed = {criterion.attribute: criterion.allowed for criterion in kind.defined_by}
    for criterion in kind.usual:
        both = allowed.get(criterion.attribute, criterion.allowed) & criterion.allowed
        wanted = {**allowed, criterion.attribute: both}
        if both and _narrowed(rules.universe, wanted):
            allowed = wanted
    known = tuple(allowed.get(i, full) for i, full in enumerate(rules.full))
    sizes = {m.measurement: sqrt(m.low * m.high) for m in kind.measures if m.low > 0}
    boxes = _narrowed(rules.universe, allowed)
    states = filled(rules, choose(rules, boxes, allowed, _fitting(sizes)))
    others, unknown = _open(rules, known, states)
    sized = _is_sized(sizes, 0.0)
    return Sketch(states, others, unknown, frozenset(), sizes, 0.0, sized, known)


def _fitting(sizes: Mapping[str, float]) -> dict[str, str]:
    """Return the state that a wide base makes likelier, to be drawn where nothing was said."""
    wide = sizes.get("base_width", 0.0) > _WIDE_BASE * sizes.get("width", 1e9)
    return {"stem_shape": "expanding"} if wide and "neck_width" not in sizes else {}


def _is_sized(sizes: Mapping[str, float], at_least: float) -> bool:
    return at_least > 0 or bool(set(sizes) & {"length", "width", "neck_width", "base_width"})


def doubts(rules: Rules, sketch: Sketch) -> Iterator[tuple[str, Words]]:
    """Yield further outlines: the form in doubt, and the states with one other of its own."""
    seen, known = looks(rules), sketch.known
    for place, i in sorted(
        (OUTLINED.index(names[0]), i)
        for i in range(len(rules.attributes))
        if (names := named(rules, i)) and names[0] in OUTLINED
    ):
        attribute = rules.attributes[i]
        rest = sketch.others.get(attribute.id, ())
        for state in rest if len(rest) < 3 else (rest[0], rest[-1]):  # the ends of the range
            limits = {j: mask for j, mask in enumerate(known) if mask != rules.full[j]}
            limits[i] = attribute.bits[state]
            boxes = _narrowed(rules.universe, limits)
            if boxes:
                wanted = {**sketch.states, **seen[i][state]}
                states = choose(rules, boxes, limits, wanted)
                yield OUTLINED[place], filled(rules, states, sketch.states)


def _narrowed(boxes: Iterable[Box], limits: Mapping[int, int]) -> tuple[Box, ...]:
    return tuple(box for whole in boxes if (box := narrow(whole, limits)) is not None)


def choose(
    rules: Rules,
    boxes: tuple[Box, ...],
    limits: Mapping[int, int],
    prefer: Mapping[str, str],
) -> dict[str, str]:
    """Return as what a piece is drawn: states that are possible together, preferred or plain.

    Args:
        boxes: pieces that the key can describe, not none.
        limits: masks of what is known, by attribute index; the rest is drawn plain.
        prefer: forms to take where they are possible.

    Returns:
        A state for each form of which the rules say something, and figures for classes of them.
    """
    drawn: dict[str, str] = {}
    said: dict[str, str] = {}
    for i in rules.once(_in_turn):
        attribute, words, first = rules.attributes[i], looks(rules)[i], named(rules, i)[0]
        mask = reduce(or_, (box[i] for box in boxes))
        ids = attribute.ids(mask)
        liked = [s for s in ids if words[s] and words[s].items() <= prefer.items()]
        if limits.get(i, attribute.full) == attribute.full:
            if not liked and not _is_wanted(first, words, prefer):
                continue
            liked += [
                s for word in _plainest(first, drawn) for s in ids if words[s].get(first) == word
            ]
        state = (liked or ids)[0]
        bit = attribute.bits[state]
        boxes = tuple(box for box in boxes if box[i] & bit)
        if limits.get(i, attribute.full) != attribute.full:
            said = {**words[state], **said}  # where two attributes say it, the first does
        drawn = {**words[state], **drawn, **said}
    return drawn


def filled(rules: Rules, states: Words, neutral: Words | None = None) -> dict[str, str]:
    """Return states with those of a neutral point where the rules have no word for a form.

    Args:
        neutral: states by form; those that are drawn where nothing was said if not given.
    """
    more = neutral or {}
    return {
        **{n: more.get(n) or _plainest(n, states)[0] for n in unspoken(rules)},
        **states,
    }


def _is_wanted(form: str, words: Mapping[str, Words], prefer: Words) -> bool:
    """Tell whether an attribute of which nothing was said is drawn: not if others say it better."""
    if form in prefer:
        return any(shown.get(form) == prefer[form] for shown in words.values())
    return form in _DRAWN_UNSAID


def _in_turn(rules: Rules) -> tuple[int, ...]:
    """Return the attributes that are drawn, by index: what decides most of the outline first."""
    drawn = [i for i in range(len(rules.attributes)) if named(rules, i)]
    foremost = {name: place for place, name in enumerate(_FIRST)}
    return tuple(sorted(drawn, key=lambda i: foremost.get(named(rules, i)[0], len(_FIRST))))


def _plainest(name: str, chosen: Mapping[str, str]) -> tuple[str, ...]:
    """Return the states to draw where nothing was said, best first."""
    style = chosen.get("haft_style", "")
    if name == "haft_sides" and style == "triangular":
        return ("expanding",)
    ordinary = _ORDINARY.get(name, ())
    if name.startswith("shoulder") and style in ("stemmed", "notched"):
        return (*ordinary, PLAIN[name])
    return (PLAIN[name], *ordinary)


def _open(
    rules: Rules,
    known: Sequence[int],
    states: Mapping[str, str],
    hidden: frozenset[str] = frozenset(),
) -> tuple[dict[str, tuple[str, ...]], frozenset[str]]:
    """Return the further states of what is in doubt, and the forms nothing is known of."""
    others: dict[str, tuple[str, ...]] = {}
    unknown, seen = set(unspoken(rules)), set[str]()
    for i, (attribute, mask) in enumerate(zip(rules.attributes, known, strict=True)):
        names = named(rules, i)
        if mask == attribute.full or attribute.id in hidden:
            unknown.update(names or (attribute.id,))
            continue
        seen.update(names)
        drawn = [s for s in attribute.ids(mask) if looks(rules)[i][s]]
        rest = tuple(s for s in drawn if not looks(rules)[i][s].items() <= states.items())
        if rest:
            others[attribute.id] = rest
    if seen & {"notch_opening"}:
        seen.add("shoulder_shape")
    return others, frozenset(unknown - seen)


def _sizes(
    rules: Rules, known: Sequence[int], readings: Mapping[str, Reading]
) -> tuple[dict[str, float], float]:
    """Return measurements to draw by, and the length of what survives if that is all there is."""
    gone = gone_parts(rules, known)
    sizes, at_least = {}, 0.0
    for name, reading in readings.items():
        across = reading.incomplete or bool(gone & set(rules.measurements[name].parts))
        if name == "length" and across:
            at_least = reading.value
        elif name not in ("blade_length", "haft_length", "grinding_length") or not across:
            sizes[name] = reading.value
    if at_least:
        sizes["length_at_least"] = at_least
    return sizes, at_least
