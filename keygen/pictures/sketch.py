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

from keygen.core.examine import Examination
from keygen.core.infer import gone_parts
from keygen.core.measure import Reading
from keygen.core.model import PRESENT, Rules, Type
from keygen.core.states import Box, is_single, narrow
from keygen.pictures.form import PLAIN

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


@dataclass(frozen=True)
class Sketch:
    """States and sizes from which a picture is drawn.

    Attributes:
        states: the state of each attribute that is drawn in full.
        others: the further states still possible, where some but not all are.
        unknown: attributes of which nothing is known.
        damage: items of damage that are there.
        sizes: measurements in mm and degrees.
        at_least: length of what survives in mm, where it was measured across a break.
        measured: true where a length or width in mm is known.
    """

    states: Mapping[str, str]
    others: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    unknown: frozenset[str] = frozenset()
    damage: frozenset[str] = frozenset()
    sizes: Mapping[str, float] = field(default_factory=dict)
    at_least: float = 0.0
    measured: bool = False


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
    states = choose(rules, boxes, limits, {**_fitting(sizes), **(prefer or {})})
    others, unknown = _open(rules, known, states, hidden)
    damage = {
        attribute.id.partition(".")[2]
        for attribute, mask in zip(rules.attributes, known, strict=True)
        if attribute.item_of and mask == PRESENT
    }
    return Sketch(
        states, others, unknown, frozenset(damage), sizes, at_least, _is_sized(sizes, at_least)
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
    known = [allowed.get(i, full) for i, full in enumerate(rules.full)]
    sizes = {m.measurement: sqrt(m.low * m.high) for m in kind.measures if m.low > 0}
    plain = choose(rules, _narrowed(rules.universe, allowed), allowed, _fitting(sizes))
    others, unknown = _open(rules, known, plain)
    return Sketch(plain, others, unknown, frozenset(), sizes, 0.0, _is_sized(sizes, 0.0))


def _fitting(sizes: Mapping[str, float]) -> dict[str, str]:
    """Return the state that a wide base makes likelier, to be drawn where nothing was said."""
    wide = sizes.get("base_width", 0.0) > _WIDE_BASE * sizes.get("width", 1e9)
    return {"stem_shape": "expanding"} if wide and "neck_width" not in sizes else {}


def _is_sized(sizes: Mapping[str, float], at_least: float) -> bool:
    return at_least > 0 or bool(set(sizes) & {"length", "width", "neck_width", "base_width"})


def doubts(
    rules: Rules, known: Sequence[int], sketch: Sketch
) -> Iterator[tuple[str, Mapping[str, str]]]:
    """Yield further outlines: the attribute in doubt, and the states with one other of its own."""
    for name in OUTLINED:
        rest = sketch.others.get(name, ())
        for state in rest if len(rest) < 3 else (rest[0], rest[-1]):  # the ends of the range
            limits = {i: mask for i, mask in enumerate(known) if mask != rules.full[i]}
            limits[rules.index[name]] = rules.mask(name, state)
            boxes = _narrowed(rules.universe, limits)
            if boxes:
                yield name, choose(rules, boxes, limits, {**sketch.states, name: state})


def _narrowed(boxes: Iterable[Box], limits: Mapping[int, int]) -> tuple[Box, ...]:
    return tuple(box for whole in boxes if (box := narrow(whole, limits)) is not None)


def choose(
    rules: Rules,
    boxes: tuple[Box, ...],
    limits: Mapping[int, int],
    prefer: Mapping[str, str],
) -> dict[str, str]:
    """Return one state an attribute, all possible together: preferred, plain, or the first.

    Args:
        boxes: pieces that the key can describe, not none.
        limits: masks of what is known, by attribute index; the rest is drawn plain.
        prefer: states to take where they are possible.
    """
    chosen: dict[str, str] = {}
    names = [name for name in _FIRST if name in rules.index]
    names += [a.id for a in rules.attributes if a.id in PLAIN and a.id not in names]
    for name in names:
        i = rules.index[name]
        attribute = rules.attributes[i]
        mask = reduce(or_, (box[i] for box in boxes))
        wanted = [prefer[name]] if name in prefer else []
        if limits.get(i, attribute.full) == attribute.full:
            if name == "base_width_class" and not wanted:
                continue
            wanted += _plainest(name, chosen)
        ids = attribute.ids(mask)
        state = next((s for s in wanted if s in ids), ids[0])
        bit = attribute.bits[state]
        boxes = tuple(box for box in boxes if box[i] & bit)
        chosen[name] = state
    return chosen


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
    """Return the further states of what is in doubt, and the attributes nothing is known of."""
    others, unknown = {}, set()
    for attribute, mask in zip(rules.attributes, known, strict=True):
        if mask == attribute.full or attribute.id in hidden:
            unknown.add(attribute.id)
        elif attribute.id in states:
            rest = tuple(s for s in attribute.ids(mask) if s != states[attribute.id])
            if rest:
                others[attribute.id] = rest
    return others, frozenset(unknown)


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
