"""Sets of states as bit masks, and boxes of them.

The value of an attribute is never a guess: it is the set of states still possible. State number
`i` of an attribute is bit `1 << i`, so intersection, union and inclusion are `&`, `|` and `a & ~b
== 0`.

A *box* is one mask per attribute, in the order of the vocabulary: every piece whose state lies in
the mask of each attribute. Several boxes together can say what one box cannot ("something was
done to the haft, but not said what").
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from enum import Enum
from functools import reduce
from itertools import cycle
from math import prod
from operator import and_, or_
from struct import Struct

Box = tuple[int, ...]
MOST_STATES = 64  # of one attribute
FIELDS = {"B": 8, "H": 16, "I": 32, "Q": MOST_STATES}  # codes of `struct` with their bits


class Fit(Enum):
    """How an observed set of states compares with the set that a criterion allows."""

    MET = "met"
    OPEN = "open"
    AGAINST = "against"


def compare(observed: int, allowed: int) -> Fit:
    """Compare an observed set with an allowed one.

    Met if nothing observed lies outside what is allowed, against if nothing lies inside, else open.
    """
    if not observed & allowed:
        return Fit.AGAINST
    return Fit.OPEN if observed & ~allowed else Fit.MET


def is_single(mask: int) -> bool:
    """Tell whether exactly one state is left."""
    return mask != 0 and mask & (mask - 1) == 0


def volume(box: Box) -> int:
    """Return how many single combinations of states a box holds (0 for an empty one)."""
    return prod(mask.bit_count() for mask in box)


def narrow(box: Box, limits: Mapping[int, int]) -> Box | None:
    """Intersect a box with masks for some attributes; None if no combination is left."""
    masks: list[int] | None = None
    for index, mask in limits.items():
        left = box[index] & mask
        if not left:
            return None
        if left != box[index]:
            masks = masks or list(box)
            masks[index] = left
    return tuple(masks) if masks else box


def complement(full: Box, limits: Mapping[int, int]) -> tuple[dict[int, int], ...]:
    """Return disjoint limits that together hold all that lies outside `limits`.

    The first says that the first attribute is outside its mask; the second that the first is
    inside and the second outside; and so on.
    """
    outside: list[dict[int, int]] = []
    inside: dict[int, int] = {}
    for index, mask in limits.items():
        rest = full[index] & ~mask
        if rest:
            outside.append({**inside, index: rest})
        inside[index] = mask
    return tuple(outside)


def merge(boxes: Iterable[Box], over: Iterable[int] | None = None) -> tuple[Box, ...]:
    """Join boxes that differ in one attribute only, which loses nothing, until none do.

    Meanwhile a box is one whole number with a field for each mask (see `joined`).

    Args:
        boxes: boxes that share no combination, or are equal.
        over: the attributes in which boxes may differ; all of them if not given.
    """
    current = tuple(boxes)
    if len(current) < 2 or not current[0]:
        return current[:1]
    layout, whole = _as_numbers(current)
    width = 8 * layout.size // len(current[0])
    places = range(len(current[0])) if over is None else over
    fields = [((1 << width) - 1) << width * i for i in places]
    found = joined(whole, fields)
    return tuple([layout.unpack(box.to_bytes(layout.size, "little")) for box in found])


def joined(boxes: Iterable[int], fields: Sequence[int]) -> tuple[int, ...]:
    """Join boxes as whole numbers, which are quicker to cut up and to look up than tuples.

    Boxes that differ in nothing else than some fields are joined among themselves; that is done
    once for groups that are alike, as most are.

    Args:
        boxes: boxes that share no combination, or are equal.
        fields: the bits of each mask in which boxes may differ.
    """
    inside = reduce(or_, fields, 0)
    groups: dict[int, list[int]] = {}
    for box in dict.fromkeys(boxes):
        groups.setdefault(box & ~inside, []).append(box & inside)
    done: dict[tuple[int, ...], list[int]] = {}
    found: list[int] = []
    for rest, group in groups.items():
        alike = tuple(group)
        if alike not in done:
            done[alike] = _join(group, fields)
        found += [rest | part for part in done[alike]]
    return tuple(found)


def _as_numbers(boxes: Sequence[Box]) -> tuple[Struct, list[int]]:
    """Return boxes as whole numbers, in fields as wide as the widest mask needs, and the layout."""
    widest = max(map(max, boxes)).bit_length()
    code = next(code for code, bits in FIELDS.items() if widest <= bits)
    layout = Struct(f"<{len(boxes[0])}{code}")
    return layout, [int.from_bytes(layout.pack(*box), "little") for box in boxes]


def _join(boxes: list[int], fields: Sequence[int]) -> list[int]:
    """Join boxes as numbers: grouping by all masks but one finds the partners."""
    differs = reduce(or_, boxes) ^ reduce(and_, boxes)
    changing = [field for field in fields if field & differs]
    unchanged = 0
    for field in cycle(changing):
        if unchanged == len(changing):
            break
        groups: dict[int, int] = {}
        for box in boxes:
            rest = box & ~field
            groups[rest] = groups.get(rest, 0) | box
        unchanged = 1 if len(groups) < len(boxes) else unchanged + 1
        boxes = list(groups.values())
    return boxes


def spread(boxes: Iterable[Box]) -> Box:
    """Return, attribute by attribute, all states that some box still allows."""
    return tuple(reduce(or_, set(column)) for column in zip(*boxes, strict=True))
