"""Sets of states as bit masks, and boxes of them.

The value of an attribute is never a guess: it is the set of states still possible. State number
`i` of an attribute is bit `1 << i`, so intersection, union and inclusion are `&`, `|` and `a & ~b
== 0`.

A *box* is one mask per attribute, in the order of the vocabulary: every piece whose state lies in
the mask of each attribute. Several boxes together can say what one box cannot ("something was
done to the haft, but not said what").
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from enum import Enum
from functools import reduce
from math import prod
from operator import or_

Box = tuple[int, ...]


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
    masks = list(box)
    for index, mask in limits.items():
        masks[index] &= mask
        if not masks[index]:
            return None
    return tuple(masks)


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

    Grouping by all masks but one finds the partners without comparing every pair.

    Args:
        boxes: boxes that share no combination, or are equal.
        over: the attributes in which boxes may differ; all of them if not given.
    """
    current = list(dict.fromkeys(boxes))
    indices = tuple(over) if over is not None else tuple(range(len(current[0]) if current else 0))
    changed = len(current) > 1
    while changed:
        changed = False
        for index in indices:
            groups: dict[Box, int] = {}
            for box in current:
                rest = (*box[:index], 0, *box[index + 1 :])
                groups[rest] = groups.get(rest, 0) | box[index]
            if len(groups) < len(current):
                changed = True
                current = [
                    (*rest[:index], mask, *rest[index + 1 :]) for rest, mask in groups.items()
                ]
    return tuple(current)


def spread(boxes: Iterable[Box]) -> Box:
    """Return, attribute by attribute, all states that some box still allows."""
    return tuple(reduce(or_, set(column)) for column in zip(*boxes, strict=True))
