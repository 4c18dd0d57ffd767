"""The smallest set of observations that alone gives a call.

Each type that the call leaves out, and each criterion that it needs met, turns into demands on the
set: "at least one of these observations". A piece of the universe that would be such a type has to
be ruled out by one of the observations that speak against it. A set meets all demands exactly if
it gives the call, so that the smallest set is a smallest hitting set, found by trying sizes upward.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

from keygen.core.call import Call
from keygen.core.model import Criterion, Rules

MOST_STEPS = 20_000  # of the search, far above what the rules ask for; then the set is only minimal


@dataclass(frozen=True)
class Least:
    """Some observations (by attribute), and whether no smaller set can do.

    If not `exact`, none of them can be spared, but another set may be smaller.
    """

    attributes: tuple[int, ...]
    exact: bool


def least(
    rules: Rules,
    called: Call,
    facts: Mapping[int, int],
    all_met: bool,
    does: Callable[[Mapping[int, int]], bool],
) -> Least:
    """Return a smallest set of facts that leaves the types of a call, and no other.

    Holds for a piece whose blade is weighed: there, what is added can only rule out more.

    Args:
        called: the call that all facts together give.
        facts: masks by attribute; of two smallest sets that with the earlier ones is taken.
        all_met: whether the definition of every candidate has to be met, too.
        does: whether some facts alone do it, as a call of its own says.
    """
    demands = [d for name in _rivals(rules, called) for d in _ruled_out(rules, name, facts)]
    if all_met:
        criteria = [c for j in called.candidates for c in rules.types[j.type].defined_by]
        demands += [d for c in criteria for d in _met(rules, c, facts)]
    found = _hitting(demands, tuple(facts))
    if found is not None and does({i: facts[i] for i in found}):
        return Least(tuple(sorted(found)), True)
    # What is left has to rest on the haft as well: on any one criterion that is met there.
    ways = {
        c: _hitting([*demands, *_met(rules, c, facts)], tuple(facts))
        for j in called.candidates
        for c in j.met
        if rules.attributes[c.attribute].stability == "haft"
    }
    sets = [found for found in ways.values() if found is not None]
    if not sets or len(sets) < len(ways):
        return minimal(facts, does)
    fewest = min(sets, key=len)
    return Least(tuple(sorted(fewest)), True)


def minimal(facts: Mapping[int, int], does: Callable[[Mapping[int, int]], bool]) -> Least:
    """Leave out one fact after another, the last first, until none can be spared."""
    left, count = dict(facts), len(facts) + 1
    while len(left) < count:
        count = len(left)
        for i in reversed(tuple(left)):
            rest = {j: mask for j, mask in left.items() if j != i}
            if does(rest):
                left = rest
    return Least(tuple(sorted(left)), False)


def _rivals(rules: Rules, called: Call) -> Iterable[str]:
    staying = {judgement.type for judgement in called.candidates}
    return (kind.id for kind in rules.in_region(called.region) if kind.id not in staying)


def _ruled_out(rules: Rules, name: str, facts: Mapping[int, int]) -> list[frozenset[int]]:
    """Return the demands by which a type is excluded: none of its pieces may be left."""
    return [
        frozenset(i for i, mask in facts.items() if not box[i] & mask) for box in rules.pieces[name]
    ]


def _met(rules: Rules, criterion: Criterion, facts: Mapping[int, int]) -> list[frozenset[int]]:
    """Return the demands by which a criterion is met: no piece outside it may be left."""
    i, demands = criterion.attribute, []
    for box in rules.universe:
        outside = box[i] & ~criterion.allowed
        if outside:
            limits = {j for j, mask in facts.items() if not box[j] & mask}
            if i in facts and not outside & facts[i]:
                limits.add(i)
            demands.append(frozenset(limits))
    return demands


def _hitting(demands: Iterable[frozenset[int]], order: Sequence[int]) -> tuple[int, ...] | None:
    """Return a smallest set that meets every demand; None if the search grows too long."""
    needed: list[frozenset[int]] = []
    for demand in sorted(set(demands), key=lambda d: (len(d), sorted(d))):
        if not any(other <= demand for other in needed):
            needed.append(demand)
    place = {i: n for n, i in enumerate(order)}
    steps = 0

    def within(size: int, taken: tuple[int, ...], barred: frozenset[int]) -> tuple[int, ...] | None:
        nonlocal steps
        steps += 1
        open_ = [d - barred for d in needed if d.isdisjoint(taken)]
        if not open_:
            return taken
        if size < _apart(open_) or steps > MOST_STEPS:
            return None
        tried = barred
        tightest = min(open_, key=len)
        for i in sorted(tightest, key=place.__getitem__):
            found = within(size - 1, (*taken, i), tried)
            if found is not None:
                return found
            tried |= {i}
        return None

    for size in range(len(order) + 1):
        found = within(size, (), frozenset())
        if found is not None or steps > MOST_STEPS:
            return found
    return None


def _apart(demands: Iterable[frozenset[int]]) -> int:
    """Return how many demands share nothing with one another: so many facts are needed at least."""
    count, used = 0, set[int]()
    for demand in sorted(demands, key=len):
        if used.isdisjoint(demand):
            count += 1
            used |= demand
    return count
