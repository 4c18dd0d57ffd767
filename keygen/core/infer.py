"""What follows from states that are known, whatever the order in which they became known."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from keygen.core.model import Lead, Rules
from keygen.core.states import Box, Fit, compare, narrow, spread


class Contradiction(ValueError):
    """An answer that leaves nothing possible. The walk before it still stands."""


def gone_parts(rules: Rules, known: Sequence[int]) -> frozenset[str]:
    """Return the parts of the piece that are certainly gone, from portion and damage."""
    gone: set[str] = set()
    for loss in rules.losses:
        met = all(compare(known[i], mask) is Fit.MET for i, mask in loss.when.items())
        spared = not loss.unless or any(
            compare(known[i], mask) is Fit.AGAINST for i, mask in loss.unless.items()
        )
        if met and spared:
            gone.update(loss.parts)
    return frozenset(gone)


def close(rules: Rules, known: Sequence[int]) -> Box:
    """Return what follows, attribute by attribute, from sets of states known in any order.

    This is the key run to its end with every other couplet left open, read off the compiled
    `Rules.universe` of pieces that the key can describe.

    Raises:
        Contradiction: no piece that the key can describe has these states together.
    """
    limits = {i: m for i, m in enumerate(known) if m != rules.full[i]}
    boxes = [box for whole in rules.universe if (box := narrow(whole, limits)) is not None]
    if not boxes:
        raise Contradiction("no piece can have these states together")
    return spread(boxes)


def conflict(rules: Rules, known: Sequence[int]) -> tuple[int, ...]:
    """Return the attributes (by index) of a smallest-by-removal set that cannot stand together.

    Empty if what is known does not contradict itself.
    """
    limits = {i: m for i, m in enumerate(known) if m != rules.full[i]}

    def possible(some: Mapping[int, int]) -> bool:
        return any(narrow(box, some) is not None for box in rules.universe)

    if possible(limits):
        return ()
    for index in list(limits):
        without = {i: m for i, m in limits.items() if i != index}
        if not possible(without):
            limits = without
    return tuple(limits)


def is_open(lead: Lead, known: Sequence[int]) -> bool:
    """Tell whether what is known, attribute by attribute, leaves a lead possible."""
    return any(all(known[i] & mask for i, mask in limits.items()) for limits in lead.leaves)
