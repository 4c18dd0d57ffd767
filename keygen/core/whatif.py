"""What if: how a call would change with one observation, with fewer of them, or in another region.

An *observation* here is an attribute that somebody judged by eye or that was measured; what only
follows from others is not one. Each is held as a fact, the mask of states that it leaves, so that
it can be replaced or left out while everything that follows is worked out anew.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from keygen.core.call import Call, Reason, Status, call
from keygen.core.examine import Examination, Settled, settle
from keygen.core.infer import Contradiction, close
from keygen.core.inverted import inverted
from keygen.core.measure import Reading
from keygen.core.model import Rules
from keygen.core.rework import set_aside
from keygen.core.smallest import Least, least, minimal
from keygen.core.states import Box

OBSERVED = ("seen", "unsure", "measured")


@dataclass(frozen=True)
class Outcome:
    """A call without its reasons. Two are equal if status, reason and types are.

    `types` are best first, as in `Call`; that order is not compared.
    """

    status: Status
    reason: Reason
    types: tuple[str, ...] = field(compare=False)
    among: frozenset[str]


@dataclass(frozen=True)
class SingleChange:
    """States of one attribute (a mask), any of which would give another outcome."""

    attribute: int
    states: int
    outcome: Outcome


@dataclass(frozen=True)
class Changes:
    """All single changes of one observation that would change the call.

    `tried` counts the other states of all observations, `impossible` those that no piece can have
    beside the other observations.
    """

    found: tuple[SingleChange, ...]
    tried: int
    impossible: int


@dataclass(frozen=True)
class Dropped:
    """An observation without which the call would be another."""

    attribute: int
    outcome: Outcome


@dataclass(frozen=True)
class Smallest:
    """The smallest sets of observations (by attribute) that alone do what all of them do.

    `call` gives the same call, `types` the same types though something may stay open; None for a
    piece whose haft is not known, which rests on nothing.
    """

    call: Least | None
    types: Least | None


@dataclass(frozen=True)
class WhatIf:
    """Every answer for one examination. Without a region only `regions` says anything."""

    call: Outcome | None
    changes: Changes
    dropped: tuple[Dropped, ...]
    idle: tuple[int, ...]
    smallest: Smallest
    regions: Mapping[str, Outcome]
    haft_only: Outcome | None


@dataclass(frozen=True)
class _Facts:
    """What was observed: masks by attribute, by eye and by measurement, less those left full."""

    by_eye: Mapping[int, int]
    measured: Mapping[int, int]

    @property
    def all(self) -> dict[int, int]:
        return {**self.by_eye, **self.measured}


class _Caller:
    """Calls under one set of rules in one region, each remembered by what it rests on."""

    def __init__(self, rules: Rules, region: str, readings: Mapping[str, Reading]) -> None:
        self._rules, self._region, self._readings = rules, region, readings
        self._told: dict[tuple[Box, frozenset[int]], Outcome] = {}

    def __call__(self, known: Box, measured: frozenset[int]) -> Outcome:
        key = (known, measured)
        if key not in self._told:
            called = call(self._rules, self._region, known, self._readings, measured)
            self._told[key] = outcome(called)
        return self._told[key]

    def of(self, facts: Mapping[int, int], measured: frozenset[int]) -> Outcome:
        """Return the call on some facts alone."""
        known = close(self._rules, _spread_out(self._rules, facts))
        return self(known, measured.intersection(facts))


def outcome(called: Call) -> Outcome:
    """Return a call without its reasons."""
    return Outcome(called.status, called.reason, called.types, frozenset(called.types))


def what_if(rules: Rules, examination: Examination) -> WhatIf:
    """Work out how the call would change: with one observation, fewer of them, another region."""
    readings, known = examination.piece.readings, examination.known
    measured = frozenset(examination.derived)
    regions = {
        region: outcome(call(rules, region, known, readings, measured)) for region in rules.regions
    }
    if examination.call is None:
        return WhatIf(None, Changes((), 0, 0), (), (), Smallest(None, None), regions, None)
    dropped = rests_on(rules, examination)
    bearing = {d.attribute for d in dropped}
    return WhatIf(
        call=outcome(examination.call),
        changes=changes(rules, examination),
        dropped=dropped,
        idle=tuple(i for i in sorted(_facts(rules, examination).all) if i not in bearing),
        smallest=smallest(rules, examination),
        regions=regions,
        haft_only=haft_only(rules, examination),
    )


def changes(rules: Rules, examination: Examination) -> Changes:
    """Replace each observation by each other single state, and say which change the call.

    What follows from the others follows anew, measured states too; a state put in place of a
    measured one counts as measured. States of one attribute with one outcome stand together.
    """
    if examination.call is None:
        return Changes((), 0, 0)
    piece, now = examination.piece, outcome(examination.call)
    caller = _Caller(rules, examination.region, piece.readings)
    by_eye = {i: observation.mask for i, observation in piece.observations.items()}
    found: dict[tuple[int, Outcome], int] = {}
    tried = impossible = 0
    for i, observation in enumerate(examination.observations):
        if observation.how not in OBSERVED:
            continue
        for bit in rules.attributes[i].bits.values():
            if bit == observation.mask:
                continue
            tried += 1
            try:
                settled = _settled(rules, {**by_eye, i: bit}, piece.readings)
            except Contradiction:
                impossible += 1
                continue
            measured = {*settled.derived, i} if i in examination.derived else settled.derived
            then = caller(settled.known, frozenset(measured))
            if then != now:
                found[i, then] = found.get((i, then), 0) | bit
    listed = tuple(SingleChange(i, states, then) for (i, then), states in found.items())
    return Changes(listed, tried, impossible)


def rests_on(rules: Rules, examination: Examination) -> tuple[Dropped, ...]:
    """Return the observations that cannot be left out, one at a time, without another call.

    What is left out is left out altogether: a measurement does not stand in for the eye.
    """
    if examination.call is None:
        return ()
    now, facts = outcome(examination.call), _facts(rules, examination)
    caller = _Caller(rules, examination.region, examination.piece.readings)
    measured, every = frozenset(facts.measured), facts.all
    found = []
    for left_out in sorted(every):
        rest = {i: mask for i, mask in every.items() if i != left_out}
        then = caller.of(rest, measured)
        if then != now:
            found.append(Dropped(left_out, then))
    return tuple(found)


def smallest(rules: Rules, examination: Examination) -> Smallest:
    """Return the smallest sets of observations that alone give the call, and the types.

    The search is exact (see `keygen.core.smallest`) unless the blade was made over: then what is
    weighed depends on what was observed, fewer observations may leave fewer types, and a set is
    made by leaving out one observation after another, those of the haft last.
    """
    if examination.call is None or examination.call.reason == "haft_unknown":
        return Smallest(None, None)
    now, facts = outcome(examination.call), _facts(rules, examination)
    measured, every = frozenset(facts.measured), facts.all
    caller = _Caller(rules, examination.region, examination.piece.readings)
    first = sorted(every, key=lambda i: (rules.attributes[i].stability != "haft", i))
    ordered = {i: every[i] for i in first}

    def same_call(some: Mapping[int, int]) -> bool:
        return caller.of(some, measured) == now

    def same_types(some: Mapping[int, int]) -> bool:
        then = caller.of(some, measured)
        return (then.among, then.reason) == (now.among, now.reason)

    if set_aside(rules, examination.known, frozenset()):
        return Smallest(minimal(ordered, same_call), minimal(ordered, same_types))
    types = least(rules, examination.call, ordered, False, same_types)
    whole = examination.call.status == "assigned"
    return Smallest(
        least(rules, examination.call, ordered, True, same_call) if whole else types, types
    )


def haft_only(rules: Rules, examination: Examination) -> Outcome | None:
    """Return the call on the haft alone: blade, finish and size left out of piece and types."""
    if examination.call is None:
        return None
    haft = {i for i, a in enumerate(rules.attributes) if a.stability == "haft"}
    facts = _facts(rules, examination)
    kinds = {
        kind.id: replace(
            kind, defined_by=tuple(c for c in kind.defined_by if c.attribute in haft), usual=()
        )
        for kind in rules.in_region(examination.region)
    }
    some = {i: mask for i, mask in facts.all.items() if i in haft}
    caller = _Caller(replace(rules, types=kinds), examination.region, {})
    return caller.of(some, frozenset(facts.measured))


def _facts(rules: Rules, examination: Examination) -> _Facts:
    """Return what was observed, each as it stood before anything followed from it."""
    by_eye = {
        i: observation.mask
        for i, observation in examination.piece.observations.items()
        if observation.mask != rules.full[i]
    }
    derived = _settled(rules, by_eye, examination.piece.readings).derived
    return _Facts(by_eye, {i: mask for i, (mask, _) in derived.items()})


def _settled(rules: Rules, facts: Mapping[int, int], readings: Mapping[str, Reading]) -> Settled:
    return settle(rules, inverted(rules).word(_spread_out(rules, facts)), readings)


def _spread_out(rules: Rules, facts: Mapping[int, int]) -> Box:
    return tuple(facts.get(i, full) for i, full in enumerate(rules.full))
