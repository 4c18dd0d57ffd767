"""Which attributes do not apply to every piece: the sides of a stem, the length of a flute."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from keygen.core.model import Rules
from keygen.core.states import Box


def conditional(rules: Rules) -> Mapping[int, int]:
    """Return the attributes that do not apply to every piece, with the mask of their `none`.

    Theirs is a `none` that says no more than an earlier attribute does: a piece has no stem just if
    its haft is of certain styles, and no length of flute just if it is unfluted.
    """
    return {
        i: none
        for i, attribute in enumerate(rules.attributes)
        if (none := attribute.bits.get("none", 0)) and _follows(rules.universe, i, none)
    }


def _follows(universe: Sequence[Box], i: int, none: int) -> bool:
    """Tell whether an earlier attribute has other states with `none` than without."""
    without, others = [0] * i, [0] * i
    for box in universe:
        for j in range(i):
            without[j] |= box[j] if box[i] & none else 0
            others[j] |= box[j] if box[i] & ~none else 0
    return any(
        one and other and not one & other for one, other in zip(without, others, strict=True)
    )
