"""From observed sets of states to types: the call in one region, and elsewhere."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from operator import itemgetter
from typing import Literal, NamedTuple

from keygen.core.inverted import Inverted, inverted, known_in, numbers
from keygen.core.judging import Held, Judgement, Standing, held, judge, ranked
from keygen.core.later import Later
from keygen.core.measure import Reading
from keygen.core.memo import Memo
from keygen.core.model import Rules
from keygen.core.rework import set_aside

__all__ = [
    "Call",
    "Elsewhere",
    "Judgement",
    "Reason",
    "Standing",
    "Status",
    "by_region",
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
    """A type that the same piece would be consistent with in other regions, given by their ids."""

    judgement: Judgement
    regions: tuple[str, ...]


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
    return call_of(rules, region, held(rules, known, readings, set_aside(rules, known, measured)))


def call_of(rules: Rules, region: str, piece: Held) -> Call:
    """Return what the key says of a piece that is held against the types; see `call`."""
    index, here, found = inverted(rules), known_in(rules, region), piece.found
    fitting = found.fitting & here
    candidates = ranked(rules, fitting, piece)
    consistent = fitting and candidates[0].standing is Standing.CONSISTENT
    status, reason = status_of(index, fitting, bool(consistent), found.weighed)
    types = () if reason else tuple([judgement.type for judgement in candidates])
    near = partial(_near_misses, rules, here & ~fitting, piece)
    return Call(region, status, types, candidates, Later(near), reason)


def _near_misses(rules: Rules, types: int, piece: Held) -> tuple[Judgement, ...]:
    """Return the judgements, out of excluded types, that have exactly one criterion against them.

    Types against which several speak each by itself are left out before they are judged.
    """
    near = types & ~inverted(rules).excluded_twice(piece.known, piece.aside)
    return tuple([found for found in ranked(rules, near, piece) if len(found.against) == 1])


def status_of(
    index: Inverted, fitting: int, consistent: bool, weighed: int
) -> tuple[Status, Reason]:
    """Return the status of a call, and why, if it is untyped.

    Args:
        index: the index of the rules to call by.
        fitting: the types of the region that nothing speaks against, as a set of types.
        consistent: everything is met of one of them.
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
    """Return the types that the same piece would be consistent with in other regions, best first.

    Types are listed only if they rest on something seen of the haft.
    """
    piece = held(rules, known, readings, set_aside(rules, known, measured))
    return elsewhere_of(rules, region, piece)


def elsewhere_of(rules: Rules, region: str, piece: Held) -> tuple[Elsewhere, ...]:
    """Return the types of other regions for a piece held against the types; see `elsewhere`."""
    index, (known, regions) = inverted(rules), rules.once(_beside)[region]
    away = piece.found.fitting & index.hafted & known
    consistent = index.consistent(away, piece.found.weighed)
    return tuple([Elsewhere(j, regions[j.type]) for j in ranked(rules, consistent, piece)])


def by_region(found: Sequence[Elsewhere]) -> list[tuple[str, Judgement]]:
    """Return types elsewhere under each of their regions: regions in order, best types first."""
    placed = [(region, judgement) for judgement, regions in found for region in regions]
    placed.sort(key=itemgetter(0))
    return placed


def _beside(rules: Rules) -> Memo[str, tuple[int, Mapping[str, tuple[str, ...]]]]:
    """Return the types known in any region but one, and the regions of each, by that one."""

    def beside(home: str) -> tuple[int, Mapping[str, tuple[str, ...]]]:
        regions: dict[str, tuple[str, ...]] = {}
        for region in sorted(rules.regions.keys() - {home}):
            for kind in rules.in_region(region):
                regions[kind.id] = (*regions.get(kind.id, ()), region)
        return sum(1 << numbers(rules)[name] for name in regions), regions

    return Memo(beside)
