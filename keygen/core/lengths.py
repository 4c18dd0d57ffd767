"""How long a regional key is: what its types need on the way to a group, and what they find there.

Each type counts alike, and so does each state that a type can still show where it is asked.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from keygen.core.model import Rules
from keygen.core.regional import RegionalKey, RegionalLead
from keygen.core.states import Box, narrow, spread


class Lengths(NamedTuple):
    """How long a key is.

    Attributes:
        mean: couplets answered on the way to a group.
        longest: the most couplets that any piece of the region's types needs.
        left: types that stand in the group arrived at.
    """

    mean: float
    longest: int
    left: float


def lengths(rules: Rules, key: RegionalKey) -> Lengths:
    """Return how long a key is, over all types that it names."""
    found = [_walked(key, key.start, rules.pieces[kind.id]) for kind in rules.in_region(key.region)]
    if not found:
        return Lengths(0.0, 0, 0.0)
    return Lengths(
        sum(one.mean for one in found) / len(found),
        max(one.longest for one in found),
        sum(one.left for one in found) / len(found),
    )


def _walked(key: RegionalKey, here: RegionalLead, boxes: Sequence[Box]) -> Lengths:
    """Return how long the key is for some pieces, from a place in it."""
    if not here.couplet:
        return Lengths(0.0, 0, float(len(key.groups[here.group - 1].types)))
    couplet = key.couplets[here.couplet - 1]
    shown = spread(boxes)[couplet.attribute]
    mean, longest, left = 1.0, 0, 0.0
    for lead in couplet.leads:
        limits = {couplet.attribute: lead.states}
        onward = [box for whole in boxes if (box := narrow(whole, limits)) is not None]
        if onward:
            found = _walked(key, lead, onward)
            share = (shown & lead.states).bit_count() / shown.bit_count()
            mean += share * found.mean
            longest = max(longest, 1 + found.longest)
            left += share * found.left
    return Lengths(mean, longest, left)
