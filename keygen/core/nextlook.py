"""The next look: which one further observation would cut the candidates most.

An observation is one attribute found to show one state. What it leaves is what the call would then
list, with all that follows from it over the universe. The weights are even ones, and no more than
a way to order looks: each candidate is taken as equally likely, and each state that it can still
show as equally likely. So a state counts, for each candidate that it leaves, one part in the number
of states that leave it.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import reduce
from operator import and_, or_
from typing import NamedTuple

from keygen.core.inverted import inverted, members
from keygen.core.memo import Memo
from keygen.core.model import Rules
from keygen.core.prospect import Prospect
from keygen.core.sorting import Sorted

MOST = 1 << 14  # answers kept of how candidates share the states of an attribute


class NextLook(NamedTuple):
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
    found: Sorted | None = None,
) -> tuple[NextLook, ...]:
    """Return every further observation that would cut the candidates on average, best first.

    Fewest left on average go first, then fewest at worst, then the order of the vocabulary. What
    only records the state of the piece (its portion, its damage) is no look.

    Args:
        region: the region whose types are weighed.
        known: the states still possible, closed over the key.
        hidden: attributes that this piece cannot show.
        measured: attributes whose states were measured rather than judged by eye.
        found: how all types stand to the piece, if that is known already.
    """
    after = Prospect.of(rules, region, known, measured, found)
    count = after.now.bit_count()
    if count < 2:
        return ()
    index, weighed = inverted(rules), rules.once(_weighed)
    owners, offsets = index.owners, index.offsets
    parted = list[tuple[float, int, int, float]]()
    kept, brought = after.outlook()
    parting = index.flagged(after.states & ~reduce(and_, kept))
    for flag in members(parting & rules.once(_looked_at)):
        i = owners[flag]
        at, mask = offsets[i], known[i]
        keeping = [states >> at & mask for states in kept]
        if brought:
            rounded, worst, leaves = _weigh(keeping, [states >> at & mask for states in brought])
        else:
            keeping.sort()
            rounded, worst, leaves = weighed[tuple(keeping)]
        if leaves < count - 1e-9:
            parted.append((rounded, worst, i, leaves))
    parted.sort()
    return tuple([NextLook(i, leaves, worst, i not in hidden) for _, worst, i, leaves in parted])


def _looked_at(rules: Rules) -> int:
    """Return the flags of the attributes that tell more than the state of the piece."""
    told = [i for i, attribute in enumerate(rules.attributes) if attribute.stability != "record"]
    return inverted(rules).flags_of(told)


class Weighed(NamedTuple):
    """How many candidates a look at one attribute leaves.

    `leaves` is the average; `rounded` is the same without the last digits, in which averages can
    differ that are equal.
    """

    rounded: float
    at_worst: int
    leaves: float


def _weighed(_rules: Rules) -> Memo[tuple[int, ...], Weighed]:
    """Return looks weighed by what they keep, in order: few of them are unlike all before them."""
    return Memo(_weigh, MOST)


def _weigh(kept: Sequence[int], brought: Sequence[int] = ()) -> Weighed:
    """Weigh a look at one attribute.

    Args:
        kept: for each candidate the states after which it stays.
        brought: for each other type the states that bring it in.
    """
    alike: dict[int, int] = {}  # how many candidates, by what they keep
    for mask in kept:
        alike[mask] = alike.get(mask, 0) + 1
    gone = alike.pop(0, 0)
    bearing = sorted([(mask.bit_count(), mask, count) for mask, count in alike.items()])
    states, shares, worst = reduce(or_, alike, 0), 0.0, 0
    while states:
        state = states & -states
        states ^= state
        left = 0
        counts: dict[int, int] = {}  # those of the candidates left that so many states leave
        for n, mask, count in bearing:
            if mask & state:
                left += count
                counts[n] = counts.get(n, 0) + count
        for mask in brought:
            if mask & state:
                left += 1
        if left > worst:
            worst = left
        for n, count in counts.items():
            shares += left * count / n
    leaves = shares / max(len(kept) - gone, 1)
    return Weighed(round(leaves, 9), worst, leaves)


def next_look(found: Sequence[NextLook]) -> NextLook | None:
    """Return the best look that this piece can still show, if any."""
    for look in found:
        if look.visible:
            return look
    return None


def lost_look(found: Sequence[NextLook]) -> NextLook | None:
    """Return the best look of all if this piece cannot show it any more."""
    return found[0] if found and not found[0].visible else None
