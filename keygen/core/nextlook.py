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

from keygen.core.call import fits, outgrown, rework_signs, set_aside, weighed_limits
from keygen.core.model import Rules, Type
from keygen.core.states import Box, is_single, narrow, spread


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
    for i, attribute in enumerate(rules.attributes):
        if is_single(known[i]) or attribute.stability == "record":
            continue
        left = {bit: after.left(i, bit) for bit in attribute.bits.values() if known[i] & bit}
        look = _weighed(i, left, after.now, i not in hidden)
        if look.leaves < after.count - 1e-9:
            found.append(look)
    found.sort(key=lambda look: (round(look.leaves, 9), look.at_worst, look.attribute))
    return tuple(found)


def _weighed(attribute: int, left: Mapping[int, int], now: int, visible: bool) -> NextLook:
    """Weigh the states of one attribute by the candidates that can show them."""
    bearing = [kind for kind in _members(now) if any(mask >> kind & 1 for mask in left.values())]
    weights = dict.fromkeys(left, 0.0)
    for kind in bearing:
        showing = [bit for bit, mask in left.items() if mask >> kind & 1]
        for bit in showing:
            weights[bit] += 1 / (len(showing) * len(bearing))
    leaves = sum(weight * left[bit].bit_count() for bit, weight in weights.items())
    worst = max((left[bit].bit_count() for bit, weight in weights.items() if weight), default=0)
    return NextLook(attribute, leaves, worst, visible)


def _members(mask: int) -> tuple[int, ...]:
    return tuple(i for i in range(mask.bit_length()) if mask >> i & 1)


def next_look(found: Sequence[NextLook]) -> NextLook | None:
    """Return the best look that this piece can still show, if any."""
    return next((look for look in found if look.visible), None)


def lost_look(found: Sequence[NextLook]) -> NextLook | None:
    """Return the best look of all if this piece cannot show it any more."""
    return found[0] if found and not found[0].visible else None


@dataclass(frozen=True)
class Prospect:
    """What the call lists now and would list after a further observation, as sets of types.

    Type number `i` of `kinds` is bit `1 << i`. `boxes` are the pieces that are still possible;
    `ways` those of them that meet each type listed now.
    """

    rules: Rules
    kinds: tuple[Type, ...]
    known: Box
    measured: frozenset[int]
    aside: frozenset[int]
    boxes: tuple[Box, ...]
    now: int
    ways: Mapping[int, tuple[Box, ...]]
    reach: Mapping[int, Box]

    @staticmethod
    def of(
        rules: Rules, region: str, known: Sequence[int], measured: frozenset[int] = frozenset()
    ) -> Prospect:
        """Return the prospect of a piece in a region; `known` has to be closed over the key."""
        kinds = rules.in_region(region)
        aside = set_aside(rules, known, measured)
        limits = weighed_limits(rules, known, aside)
        ways = {}
        for k, kind in enumerate(kinds):
            if fits(rules, kind, known, aside):
                ways[k] = tuple(b for p in rules.pieces[kind.id] if (b := narrow(p, limits)))
        every = weighed_limits(rules, known, frozenset())
        boxes = tuple(b for whole in rules.universe if (b := narrow(whole, every)))
        return Prospect(
            rules=rules,
            kinds=kinds,
            known=tuple(known),
            measured=measured,
            aside=aside,
            boxes=boxes,
            now=sum(1 << k for k in ways),
            ways=ways,
            reach={k: spread(parts) for k, parts in ways.items()},
        )

    @property
    def count(self) -> int:
        """Return how many types the call lists now."""
        return len(self.ways)

    def left(self, attribute: int, bit: int) -> int:
        """Return the types listed once an attribute is known to show a state."""
        if not self.aside and not self.would_be_aside(({attribute: bit},)):
            return sum(1 << k for k, reach in self.reach.items() if reach[attribute] & bit)
        return self._listed(({attribute: bit},))

    def left_by(self, alternatives: Sequence[Mapping[int, int]]) -> int:
        """Return the types listed once one of some alternatives is known to hold."""
        if self.aside or self.would_be_aside(alternatives):
            return self._listed(alternatives)
        return sum(
            1 << k
            for k, parts in self.ways.items()
            if any(
                all(b[i] & m for i, m in limits.items()) for b in parts for limits in alternatives
            )
        )

    def would_be_aside(self, alternatives: Sequence[Mapping[int, int]]) -> bool:
        """Tell whether a blade that is weighed now would be set aside."""
        return not self.aside and any(
            not any(
                box[i] & spared & limits.get(i, spared)
                for box in self.boxes
                for limits in alternatives
                if all(box[j] & mask for j, mask in limits.items())
            )
            for i, spared in rework_signs(self.rules)
        )

    def _listed(self, alternatives: Sequence[Mapping[int, int]]) -> int:
        """List the types anew: what is set aside depends on all that follows.

        A blade that is set aside stays so, and then no type can come back.
        """
        known = spread(
            b for box in self.boxes for limits in alternatives if (b := narrow(box, limits))
        )
        if not known:
            return 0
        if self.aside:
            closer = {
                i: mask
                for i, mask in enumerate(known)
                if mask != self.known[i] and i not in self.aside
            }
            return sum(
                1 << k
                for k, parts in self.ways.items()
                if any(all(box[i] & m for i, m in closer.items()) for box in parts)
                and not any(
                    c.attribute in self.aside and outgrown(self.rules, c, known)
                    for c in self.kinds[k].defined_by
                )
            )
        aside = set_aside(self.rules, known, self.measured)
        return sum(
            1 << k for k, kind in enumerate(self.kinds) if fits(self.rules, kind, known, aside)
        )
