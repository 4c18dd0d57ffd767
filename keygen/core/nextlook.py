"""The next look: which one further observation would cut the candidates most.

An observation is one attribute found to show one state. What it leaves is what the call would then
list, with all that follows from it over the universe. The weights are even ones, and no more than
a way to order looks: each candidate is taken as equally likely, and each state that it can still
show as equally likely. So a state counts, for each candidate that it leaves, one part in the number
of states that leave it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property, reduce
from operator import and_, or_

from keygen.core.inverted import Inverted, Sorted, inverted, known_in, members
from keygen.core.model import Rules, Type
from keygen.core.rework import rework_signs, set_aside
from keygen.core.states import Box, is_single


@dataclass(frozen=True)
class NextLook:
    """One more observation: how many candidates it would leave, on average and at worst.

    `visible` is false if it cannot be made on this piece any more.
    """

    attribute: int
    leaves: float
    at_worst: int
    visible: bool = True


def looks(
    rules: Rules,
    region: str,
    known: Sequence[int],
    hidden: frozenset[int] = frozenset(),
    measured: frozenset[int] = frozenset(),
) -> tuple[NextLook, ...]:
    """Return every further observation that would cut the candidates on average, best first.

    Fewest left on average go first, then fewest at worst, then the order of the vocabulary. What
    only records the state of the piece (its portion, its damage) is no look.

    Args:
        region: the region whose types are weighed.
        known: the states still possible, closed over the key.
        hidden: attributes that this piece cannot show.
        measured: attributes whose states were measured rather than judged by eye.
    """
    after = Prospect.of(rules, region, known, measured)
    if after.count < 2:
        return ()
    found = []
    for i in sorted(after.telling):
        attribute = rules.attributes[i]
        if is_single(known[i]) or attribute.stability == "record":
            continue
        left = [after.left(i, bit) for bit in attribute.bits.values() if known[i] & bit]
        if any(mask != after.now for mask in left):
            look = _weighed(i, left, after.now, i not in hidden)
            if look.leaves < after.count - 1e-9:
                found.append(look)
    found.sort(key=lambda look: (round(look.leaves, 9), look.at_worst, look.attribute))
    return tuple(found)


def _weighed(attribute: int, left: Sequence[int], now: int, visible: bool) -> NextLook:
    """Weigh the states of one attribute, given what each leaves, by the candidates that bear it.

    `bearing[n]` are the candidates that `n` of the states leave; most are left by all of them.
    """
    common, some = reduce(and_, left, now), reduce(or_, left) & now
    bearing = {len(left): common}
    for t in members(some & ~common):
        n = sum([mask >> t & 1 for mask in left])
        bearing[n] = bearing.get(n, 0) | 1 << t
    by_count, shares = sorted(bearing.items()), 0.0
    for mask in left:
        for n, kinds in by_count:
            shares += mask.bit_count() * (mask & kinds).bit_count() / n
    leaves = shares / max(some.bit_count(), 1)
    worst = max([mask.bit_count() for mask in left if mask & now], default=0)
    return NextLook(attribute, leaves, worst, visible)


def next_look(found: Sequence[NextLook]) -> NextLook | None:
    """Return the best look that this piece can still show, if any."""
    return next((look for look in found if look.visible), None)


def lost_look(found: Sequence[NextLook]) -> NextLook | None:
    """Return the best look of all if this piece cannot show it any more."""
    return found[0] if found and not found[0].visible else None


@dataclass(frozen=True)
class Prospect:
    """What the call lists now and would list after a further observation, as sets of types.

    Type number `t` of the rules is bit `1 << t`. `boxes` are those of the universe that are still
    possible, `found` how all types stand to what is weighed of the piece.
    """

    rules: Rules
    index: Inverted
    here: int
    known: Box
    measured: frozenset[int]
    aside: frozenset[int]
    boxes: int
    found: Sorted

    @staticmethod
    def of(
        rules: Rules, region: str, known: Sequence[int], measured: frozenset[int] = frozenset()
    ) -> Prospect:
        """Return the prospect of a piece in a region; `known` has to be closed over the key."""
        known, index = tuple(known), inverted(rules)
        aside = set_aside(rules, known, measured)
        found = index.sort(known, aside)
        boxes = index.boxes(index.word(known)) if aside else found.boxes
        return Prospect(rules, index, known_in(rules, region), known, measured, aside, boxes, found)

    @cached_property
    def kinds(self) -> tuple[Type, ...]:
        """Return all types, by their numbers."""
        return tuple(self.rules.types.values())

    @cached_property
    def now(self) -> int:
        """Return the types that the call lists now."""
        return self.found.fitting & self.here

    @property
    def count(self) -> int:
        """Return how many types the call lists now."""
        return self.now.bit_count()

    @cached_property
    def ways(self) -> Mapping[int, int]:
        """Return, for each type listed now, the boxes with a piece that meets it."""
        found, ways = self.found, self.index.ways
        return {t: ways(t, found.states, found.boxes) for t in members(self.now)}

    @cached_property
    def telling(self) -> frozenset[int]:
        """Return the attributes of which a single state may leave other types than now."""
        if self.aside or not self._spared:
            return frozenset(range(len(self.known)))
        owners = self.index.owners
        return frozenset(owners[state] for state in self._lacking).union(self._signs)

    @cached_property
    def _lacking(self) -> Mapping[int, int]:
        """Return the types that cannot show a state that is weighed and possible, by that state."""
        index, lacking = self.index, dict[int, int]()
        weighed = self.found.weighed
        for t, boxes in self.ways.items():
            if weighed & ~index.allowed[t]:  # else all is met, and it can show all that is possible
                for state in members(weighed & ~(index.union[boxes] & index.allowed[t])):
                    lacking[state] = lacking.get(state, 0) | 1 << t
        return lacking

    @cached_property
    def _signs(self) -> Mapping[int, int]:
        return dict(rework_signs(self.rules))

    @cached_property
    def _spared(self) -> bool:
        """Tell whether no piece that is possible is certain to be made over for its form alone."""
        having = self.index.having
        return all(
            not self.boxes & ~having[i][self.known[i] & spared] for i, spared in self._signs.items()
        )

    def left(self, attribute: int, bit: int) -> int:
        """Return the types listed once an attribute is known to show a state."""
        index = self.index
        if not self.known[attribute] & bit:
            return 0
        if self.aside:
            return self._left_aside(attribute, bit)
        if attribute in self._signs or not self._spared:
            limits = ({attribute: bit},)
            if self.would_be_aside(limits):
                return self._listed(limits)
        return self.now & ~self._lacking.get(index.offsets[attribute] + bit.bit_length() - 1, 0)

    def _left_aside(self, attribute: int, bit: int) -> int:
        """Return the types listed once a piece whose blade is set aside is known to show a state.

        Of what is set aside nothing is weighed, but other things can follow from it.
        """
        index, full, packed = self.index, self.rules.full, self._packed
        then = index.union[self.boxes & index.having[attribute][bit]]
        lost = packed & ~(then & ~((full[attribute] & ~bit) << index.offsets[attribute]))
        boxes, listed, less = self.found.boxes, self.now, list[tuple[int, int]]()
        for flag in members(index.flagged(lost)):
            i = index.owners[flag]
            mask = (packed & ~lost) >> index.offsets[i] & full[i]
            if i in self.aside:
                listed &= ~index.outgrown(i, mask)
            else:
                boxes &= index.having[i][mask]
                less.append((i, mask))
        for t, those in self.ways.items():
            ways, definition = those & boxes, index.definitions[t]
            for i, mask in less:
                if i in definition:
                    ways &= index.having[i][mask & definition[i]]
            if not ways:
                listed &= ~(1 << t)
        return listed

    @cached_property
    def _packed(self) -> int:
        return self.index.pack(self.known)

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
        having = self.index.having
        return any(
            not any(
                boxes & having[i][self.known[i] & spared & limits.get(i, spared)]
                for limits, boxes in left
            )
            for i, spared in rework_signs(self.rules)
        )

    def _narrowed(self, limits: Mapping[int, int]) -> int:
        """Return the boxes that are possible and have a piece within some limits."""
        having, boxes = self.index.having, self.boxes
        for i, mask in limits.items():
            boxes &= having[i][mask & self.known[i]]
        return boxes

    def _meeting(self, number: int, boxes: int, limits: Mapping[int, int]) -> int:
        """Return those boxes in which a piece meets a type, what is known, and some limits."""
        index = self.index
        definition = index.definitions[number]
        for i, mask in limits.items():
            boxes &= index.having[i][mask & self.known[i] & definition.get(i, mask)]
        return boxes

    def _listed(self, alternatives: Sequence[Mapping[int, int]]) -> int:
        """List the types anew: what is set aside depends on all that follows, and stays so."""
        index, states = self.index, 0
        for limits in alternatives:
            if boxes := self._narrowed(limits):
                left = self._packed & index.union[boxes]
                for i, mask in limits.items():
                    left &= ~((index.full[i] & ~mask) << index.offsets[i])
                states |= left
        if not states:
            return 0
        then = index.unpack(states)
        aside = self.aside or set_aside(self.rules, then, self.measured)
        return index.sort(then, aside).fitting & self.here
