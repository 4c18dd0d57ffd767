"""From observed sets of states to types: the call in one region, and elsewhere."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import partial, reduce
from operator import or_
from typing import Literal, NamedTuple

from keygen.core.inverted import Inverted, inverted, known_in, members, numbers
from keygen.core.judging import Held, Judgement, Standing, held, judge, ranked
from keygen.core.later import Later
from keygen.core.measure import Reading
from keygen.core.memo import Memo
from keygen.core.model import Rules
from keygen.core.ready import ready_types
from keygen.core.rework import set_aside

__all__ = [
    "Call",
    "Elsewhere",
    "Judgement",
    "Reason",
    "Standing",
    "Status",
    "call",
    "elsewhere",
    "judge",
    "status_of",
]

Status = Literal["assigned", "cf.", "either", "untyped"]
Reason = Literal["", "none_fits", "haft_unknown"]


@dataclass(frozen=True)
class Call:
    """What the key says of a piece in one region.

    `candidates` are all consistent and possible types, best first; `near_misses` have exactly one
    criterion against them. `reason` is given for an untyped piece: `none_fits` or `haft_unknown`.
    """

    region: str
    status: Status
    types: tuple[str, ...]
    candidates: tuple[Judgement, ...]
    near_misses: Sequence[Judgement]
    reason: Reason = ""


class Elsewhere(NamedTuple):
    """A type that the same piece would be consistent with in another region."""

    region: str
    judgement: Judgement


def call(
    rules: Rules,
    region: str,
    known: Sequence[int],
    readings: Mapping[str, Reading] | None = None,
    measured: frozenset[int] = frozenset(),
) -> Call:
    """Return what the key says of a piece in one region.

    A single consistent type with no possible rival is `assigned`; a single candidate with something
    open is `cf.`; several are `either`; none is `untyped`. A piece of which nothing that defines a
    haft was seen stays untyped too, whatever is still possible: a call has to rest on something.
    """
    index, here = inverted(rules), known_in(rules, region)
    piece = held(rules, known, readings, set_aside(rules, known, measured))
    found = piece.found
    fitting = found.fitting & here
    consistent = index.consistent(fitting, found.weighed)
    status, reason = status_of(index, fitting, consistent, found.weighed)
    candidates = ranked(rules, fitting, piece)
    types = () if reason else tuple([judgement.type for judgement in candidates])
    near = partial(_near_misses, rules, here & ~fitting, piece)
    return Call(region, status, types, candidates, Later(near), reason)


def _near_misses(rules: Rules, types: int, piece: Held) -> tuple[Judgement, ...]:
    """Return the judgements, out of excluded types, that have exactly one criterion against them.

    What speaks against a type by itself is counted before it is judged.
    """
    index, ready = inverted(rules), ready_types(rules)
    near = 0
    for t in members(types):
        definition = ready[t].definition
        shown = index.flagged(piece.found.weighed & definition.within)
        against = definition.flags & piece.flags & ~shown
        if not against & against - 1:
            near |= 1 << t
    return tuple([found for found in ranked(rules, near, piece) if len(found.against) == 1])


def status_of(
    index: Inverted, fitting: int, consistent: int, weighed: int
) -> tuple[Status, Reason]:
    """Return the status of a call, and why, if it is untyped.

    Args:
        index: the index of the rules to call by.
        fitting: the types of the region that nothing speaks against, as a set of types.
        consistent: those of them of which everything is met.
        weighed: the states that are weighed, packed.
    """
    if not fitting:
        return "untyped", "none_fits"
    if not index.rests_on_haft(fitting, weighed):
        return "untyped", "haft_unknown"
    if fitting & (fitting - 1):
        return "either", ""
    return ("assigned" if consistent else "cf."), ""


def elsewhere(
    rules: Rules,
    region: str,
    known: Sequence[int],
    readings: Mapping[str, Reading] | None = None,
    measured: frozenset[int] = frozenset(),
) -> tuple[Elsewhere, ...]:
    """Return the types that the same piece would be consistent with in every other region.

    Sorted by region, best first. Types are listed only if they rest on something seen of the haft.
    """
    index = inverted(rules)
    piece = held(rules, known, readings, set_aside(rules, known, measured))
    others = rules.once(_beside)[region]
    away = piece.found.fitting & index.hafted & reduce(or_, others.values(), 0)
    consistent = index.consistent(away, piece.found.weighed)
    if not consistent:
        return ()
    known_as = numbers(rules)
    judged = [(1 << known_as[j.type], j) for j in ranked(rules, consistent, piece)]
    return tuple(
        [
            Elsewhere(other, judgement)
            for other, here in others.items()
            if consistent & here
            for bit, judgement in judged
            if bit & here
        ]
    )


def _beside(rules: Rules) -> Memo[str, dict[str, int]]:
    """Return the types known in each region but one, by that one."""
    regions = {region: known_in(rules, region) for region in sorted(rules.regions)}
    return Memo(lambda home: {name: kinds for name, kinds in regions.items() if name != home})
