"""What follows from states that are known, whatever the order in which they became known."""

from __future__ import annotations

from collections.abc import Sequence
from functools import reduce
from operator import and_

from keygen.core.inverted import inverted
from keygen.core.memo import Memo, taking
from keygen.core.model import Lead, Rules
from keygen.core.sorting import Closed
from keygen.core.states import Box, Fit, compare


class Contradiction(ValueError):
    """An answer that leaves nothing possible. The walk before it still stands."""


def gone_parts(rules: Rules, known: Sequence[int]) -> frozenset[str]:
    """Return the parts of the piece that are certainly gone, from portion and damage."""
    return rules.once(_Losses).gone(tuple(known))


def close(rules: Rules, known: Sequence[int]) -> Box:
    """Return what follows, attribute by attribute, from sets of states known in any order.

    This is the key run to its end with every other couplet left open, read off the compiled
    `Rules.universe` of pieces that the key can describe, through its inverted index.

    Raises:
        Contradiction: no piece that the key can describe has these states together.
    """
    index = inverted(rules)
    return index.unpack(closed(rules, index.word(known)).states)


def closed(rules: Rules, word: int) -> Closed:
    """Return what follows from what some states say, see `close`.

    Args:
        word: what they say, as a word of the inverted index.

    Raises:
        Contradiction: no piece that the key can describe has these states together.
    """
    index = inverted(rules)
    boxes = index.boxes(word)
    if not boxes:
        raise Contradiction("no piece can have these states together")
    return Closed(word, boxes, index.union[boxes] & ~word)


def conflict(rules: Rules, known: Sequence[int]) -> tuple[int, ...]:
    """Return the attributes (by index) of a smallest-by-removal set that cannot stand together.

    Empty if what is known does not contradict itself.
    """
    index = inverted(rules)
    leave = {i: index.having[i][m] for i, m in enumerate(known) if m != rules.full[i]}
    if reduce(and_, leave.values(), index.every_box):
        return ()
    for i in tuple(leave):
        without = {j: boxes for j, boxes in leave.items() if j != i}
        if not reduce(and_, without.values(), index.every_box):
            leave = without
    return tuple(leave)


def is_open(lead: Lead, known: Sequence[int]) -> bool:
    """Tell whether what is known, attribute by attribute, leaves a lead possible."""
    return any(all(known[i] & mask for i, mask in limits.items()) for limits in lead.leaves)


class _Losses:
    """What portion and damage leave of a piece, told once for pieces that are alike in them."""

    def __init__(self, rules: Rules) -> None:
        self._losses = rules.losses
        self._about = sorted({i for loss in rules.losses for i in (*loss.when, *loss.unless)})
        self._reads = taking(self._about)
        self._gone = Memo(self._parts_gone)

    def gone(self, known: Box) -> frozenset[str]:
        """Return the parts that are certainly gone."""
        return self._gone[self._reads(known)]

    def _parts_gone(self, states: tuple[int, ...]) -> frozenset[str]:
        known = dict(zip(self._about, states, strict=True))
        gone: set[str] = set()
        for loss in self._losses:
            met = all(compare(known[i], mask) is Fit.MET for i, mask in loss.when.items())
            spared = not loss.unless or any(
                compare(known[i], mask) is Fit.AGAINST for i, mask in loss.unless.items()
            )
            if met and spared:
                gone.update(loss.parts)
        return frozenset(gone)
