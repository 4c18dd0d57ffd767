"""What a piece shows of the criteria of all types, in one number.

Each criterion of each type has bits of its own: for what defines the type one that is set if the
piece meets it, for another trait one for showing it and one for not showing it. The bits of a type
stand side by side, its *lane*. What some states of one attribute say of all criteria of all types
is one number too, its *share*; the shares of a piece are joined with `|`, and how it stands to any
of the types is read off its lane.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import partial
from typing import NamedTuple

from keygen.core.inverted import inverted
from keygen.core.memo import Memo
from keygen.core.model import Criterion, Rules
from keygen.core.ready import Ready, ready_types


class Lane(NamedTuple):
    """One type with its bits, of which the first is number `at`; the others are counted from there.

    Its id and flags stand here once more, so that what is judged often is found in one place.

    Attributes:
        ready: the type made ready.
        id: its id.
        flags: those of the attributes that define it.
        met: what it means that some criteria of its definition are met, by their bits: the flags of
            their attributes, and how much of all that could be they leave out, in bits.
        whole: all its bits.
        definition: those set if a criterion of the definition is met, in their order; they come
            first, then two for each other trait, in their order.
        shown: those set if a trait speaks for the type.
        lacking: those set if one speaks against it.
    """

    ready: Ready
    id: str
    flags: int
    met: Memo[int, tuple[int, float]]
    at: int
    whole: int
    definition: int
    shown: int
    lacking: int


class Bit(NamedTuple):
    """When a bit is set: if all states that are possible are `within` and one of them is `shown`.

    Where nothing has to be shown, it is set if no possible state is `within`.
    """

    number: int
    within: int
    shown: int

    def set_by(self, mask: int) -> bool:
        """Tell whether it is set where some states of its attribute are possible."""
        if not self.shown:
            return not mask & self.within
        return not mask & ~self.within and bool(mask & self.shown)


class Lanes:
    """The lanes of the types of some rules.

    Attributes:
        index: the index of the rules.
        types: a lane each, by the number of the type.
    """

    def __init__(self, rules: Rules) -> None:
        self.index, self._full = inverted(rules), rules.full
        self._bits: tuple[list[Bit], ...] = tuple([] for _ in rules.full)
        self.types = tuple(self._laid_out(ready_types(rules)))
        self._shares = tuple(Memo(partial(self._share, i)) for i in range(len(rules.full)))
        self._weighed = Memo(self._weigh)

    def of(self, known: Sequence[int], aside: frozenset[int]) -> int:
        """Return what a piece shows of the criteria of all types.

        Args:
            known: the states still possible, one mask an attribute.
            aside: attributes not weighed.
        """
        anyway, shares = self._weighed[aside]
        return self.index.joined(shares, known, anyway)

    def _laid_out(self, types: Sequence[Ready]) -> Iterator[Lane]:
        at = 0
        for ready in types:
            first = at
            for weight in ready.definition:
                self._add(weight.criterion, at, weight.criterion.allowed)
                at += 1
            definition, shown, lacking = (1 << at - first) - 1, 0, 0
            for trait in ready.traits:
                if trait.shown:
                    self._add(trait.criterion, at, trait.shown)
                self._add(trait.criterion, at + 1, 0)
                shown |= 1 << at - first
                lacking |= 2 << at - first
                at += 2
            whole, met = definition | shown | lacking, Memo(partial(_met, ready))
            yield Lane(
                ready, ready.kind.id, ready.flags, met, first, whole, definition, shown, lacking
            )

    def _add(self, criterion: Criterion, number: int, shown: int) -> None:
        self._bits[criterion.attribute].append(Bit(number, criterion.allowed, shown))

    def _share(self, i: int, mask: int) -> int:
        return sum(1 << bit.number for bit in self._bits[i] if bit.set_by(mask))

    def _weigh(self, aside: frozenset[int]) -> tuple[int, tuple[Memo[int, int], ...]]:
        """Return what every piece shows, and the shares by attribute; none of what is set aside."""
        nothing = Memo[int, int](lambda _: 0)
        shares = tuple(nothing if i in aside else share for i, share in enumerate(self._shares))
        anyway = (share[whole] for share, whole in zip(shares, self._full, strict=True))
        return sum(anyway), shares


def _met(ready: Ready, bits: int) -> tuple[int, float]:
    met = [weight for j, weight in enumerate(ready.definition) if bits >> j & 1]
    return sum(w.flag for w in met), sum([w.bits for w in met])


def lanes(rules: Rules) -> Lanes:
    """Return the lanes of the types of some rules, laid out when they are first asked for."""
    return rules.once(Lanes)
