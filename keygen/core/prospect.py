"""What the call lists of a piece, and what it would list after a further observation.

A *prospect* is asked by state: which of the types listed now would stay if one state were seen, and
which others it would bring in. It is also asked by what a lead of a couplet says.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from functools import reduce
from operator import and_
from typing import NamedTuple

from keygen.core.inverted import Inverted, inverted, known_in, members
from keygen.core.memo import Memo
from keygen.core.model import Rules
from keygen.core.rework import rework_signs, set_aside
from keygen.core.sorting import Sorted
from keygen.core.states import Box


class Outlook(NamedTuple):
    """What single states would do to the types that the call lists, as sets of states.

    Attributes:
        kept: for each type listed now, the states after which it stays.
        brought: for each other type that some states would bring in, those states.
    """

    kept: Sequence[int]
    brought: Collection[int]


class Prospect(NamedTuple):
    """What the call lists now and would list after a further observation, as sets of types.

    Type number `t` of the rules is bit `1 << t`.

    Attributes:
        here: the types of the region.
        known: the states still possible, one mask an attribute.
        states: the same, packed.
        measured: the attributes whose states were measured rather than judged by eye.
        aside: those that are not weighed.
        boxes: the boxes of the universe that are still possible.
        found: how all types stand to what is weighed of the piece.
        now: the types that the call lists now.
        ways: for each of them, by its number, the boxes with a piece that meets it.
    """

    rules: Rules
    here: int
    known: Box
    states: int
    measured: frozenset[int]
    aside: frozenset[int]
    boxes: int
    found: Sorted
    now: int
    ways: Mapping[int, int]

    @staticmethod
    def of(
        rules: Rules,
        region: str,
        known: Sequence[int],
        measured: frozenset[int] = frozenset(),
        found: Sorted | None = None,
    ) -> Prospect:
        """Return the prospect of a piece in a region; `known` has to be closed over the key."""
        known, index, here = tuple(known), inverted(rules), known_in(rules, region)
        aside = set_aside(rules, known, measured)
        found = found or index.sort(known, aside)
        states = index.pack(known) if aside else found.states
        boxes, now = found.boxes, found.fitting & here
        for i in aside:
            boxes &= index.having[i][known[i]]
        ways = _ways(index, found, now)
        return Prospect(rules, here, known, states, measured, aside, boxes, found, now, ways)

    def outlook(self) -> Outlook:
        """Return what each single state would do to the types listed, if it were seen.

        As a rule a type stays if a piece that meets it can show the state; of what is set aside it
        can show all. The exceptions have to do with a blade that is or would be set aside.
        """
        index, ways = inverted(self.rules), self.ways
        union, allowed = index.union, index.allowed
        free = self.states & ~self.found.weighed
        kept = [union[boxes] & allowed[t] | free for t, boxes in ways.items()]
        brought = dict[int, int]()
        for state, listed in self._anew():
            bit = 1 << state
            for n, t in enumerate(ways):
                kept[n] = kept[n] & ~bit | (listed >> t & 1) << state
            for t in members(listed & ~self.now):
                brought[t] = brought.get(t, 0) | bit
        return Outlook(kept, brought.values())

    def _anew(self) -> Iterable[tuple[int, int]]:
        """Return the states after which types are not listed as a rule, each with those listed."""
        if self.aside:
            return self._still_aside()
        return self._then_aside() if self.states & self.rules.once(_reworked) else ()

    def _then_aside(self) -> Iterator[tuple[int, int]]:
        """Return the states that would set the blade aside, each with the types then listed.

        Those are the signs of rework themselves, and what no piece without such a sign shows.
        """
        index, certain = inverted(self.rules), 0
        for i, spared in rework_signs(self.rules):
            if sign := self.known[i] & ~spared:
                without = self.boxes & index.having[i][self.known[i] & spared]
                certain |= sign << index.offsets[i] | self.states & ~index.union[without]
        for state in members(certain):
            i = index.owners[state]
            yield state, self._listed(({i: 1 << state - index.offsets[i]},))

    def _still_aside(self) -> Iterator[tuple[int, int]]:
        """Return the states of which more follows than type by type, each with the types then left.

        From a state that is not weighed others can follow that are, and a piece can prove to be too
        large. What follows from a state that is weighed is in the ways already, but for what
        follows from it only together with what is set aside.
        """
        index = inverted(self.rules)
        having, union = index.having, index.union
        free = self.states & ~self.found.weighed
        large = free & self.rules.once(_lessening)
        limiting = self.states & ~self.rules.once(_shared)[self.boxes]
        if not limiting & large:
            limiting &= free | union[self.found.boxes & ~self.boxes]
        for state in members(limiting | large):
            i = index.owners[state]
            at = index.offsets[i]
            bit = 1 << state - at
            if self.known[i] == bit:
                continue
            then = self.states & union[self.boxes & having[i][bit]]
            by_type = union[self.found.boxes & having[i][bit]] | large
            if i in self.aside or by_type & self.states & ~then:
                yield state, self._left(then & ~((index.full[i] & ~bit) << at))

    def _left(self, then: int) -> int:
        """Return the types still listed once a blade is aside and only some states are left."""
        index, listed, limits = inverted(self.rules), self.now, dict[int, int]()
        for flag in members(index.flagged(self.states & ~then)):
            i = index.owners[flag]
            mask = index.mask(then, i)
            if i in self.aside:
                listed &= ~index.outgrown(i, mask)
            else:
                limits[i] = mask
        if limits:
            for t in members(listed):
                if not self._meeting(t, self.ways[t], limits):
                    listed ^= 1 << t
        return listed

    def left_by(self, alternatives: Sequence[Mapping[int, int]]) -> int:
        """Return the types listed once one of some alternatives is known to hold."""
        if self.aside or self.would_be_aside(alternatives):
            return self._listed(alternatives)
        return sum(
            1 << t
            for t, boxes in self.ways.items()
            if any(self._meeting(t, boxes, limits) for limits in alternatives)
        )

    def would_be_aside(self, alternatives: Sequence[Mapping[int, int]]) -> bool:
        """Tell whether the blade, which is weighed now, would be set aside."""
        left = [(limits, self._narrowed(limits)) for limits in alternatives]
        having = inverted(self.rules).having
        return any(
            not any(
                boxes & having[i][self.known[i] & spared & limits.get(i, spared)]
                for limits, boxes in left
            )
            for i, spared in rework_signs(self.rules)
        )

    def _narrowed(self, limits: Mapping[int, int]) -> int:
        """Return the boxes that are possible and have a piece within some limits."""
        having, boxes = inverted(self.rules).having, self.boxes
        for i, mask in limits.items():
            boxes &= having[i][mask & self.known[i]]
        return boxes

    def _meeting(self, number: int, boxes: int, limits: Mapping[int, int]) -> int:
        """Return those boxes in which a piece meets a type, what is known, and some limits."""
        index = inverted(self.rules)
        definition = index.definitions[number]
        for i, mask in limits.items():
            boxes &= index.having[i][mask & self.known[i] & definition.get(i, mask)]
        return boxes

    def _listed(self, alternatives: Sequence[Mapping[int, int]]) -> int:
        """List the types anew: what is set aside depends on all that follows, and stays so."""
        index, states = inverted(self.rules), 0
        for limits in alternatives:
            if boxes := self._narrowed(limits):
                left = self.states & index.union[boxes]
                for i, mask in limits.items():
                    left &= ~((index.full[i] & ~mask) << index.offsets[i])
                states |= left
        if not states:
            return 0
        then = index.unpack(states)
        aside = self.aside or set_aside(self.rules, then, self.measured)
        return index.sort(then, aside).fitting & self.here


def _shared(rules: Rules) -> Memo[int, int]:
    """Return the states that all of some boxes show, packed, by those boxes."""
    index = inverted(rules)
    packed = tuple(index.pack(box) for box in rules.universe)
    return Memo(lambda boxes: reduce(and_, [packed[b] for b in members(boxes)], index.every_state))


def _reworked(rules: Rules) -> int:
    """Return the states that make rework certain, packed."""
    index = inverted(rules)
    return index.outside(dict(rework_signs(rules)))


def _lessening(rules: Rules) -> int:
    """Return the states of what only moves toward its first state by rework, packed."""
    return inverted(rules).pack([a.full if a.lessens else 0 for a in rules.attributes])


def _ways(index: Inverted, found: Sorted, types: int) -> Mapping[int, int]:
    """Return, for each of some types that fit, the boxes with a piece that meets it."""
    boxes, pieces = found.boxes, index.pieces
    ways = {t: boxes & pieces[t] for t in members(types)}
    for t in members(types & found.loose):
        ways[t] = index.ways(t, found.states, boxes)
    return ways
