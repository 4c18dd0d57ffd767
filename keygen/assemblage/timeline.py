"""The date ranges behind the calls of an assemblage on one cal BP axis.

A range is that of the type in its region, not of the piece. Nothing is added up into a curve:
ranges of types are wide, and specimens of one type share one.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from keygen.core.basis import Basis
from keygen.core.call import Call, Status
from keygen.core.chronology import How, cal_bp, curve_of
from keygen.core.model import Record, Rules


@dataclass(frozen=True)
class Span:
    """A type in one region, with its range and how many specimens are called it.

    Attributes:
        start, end: cal BP, the older end first.
        how: how the source's figures came to be in cal BP; `either` is a scale nobody can tell.
        assigned: specimens whose call is this type alone.
        possible: specimens for which it is one candidate of several, or left open.
    """

    type: str
    region: str
    start: int
    end: int
    how: How
    basis: Basis
    period_range: bool
    assigned: int = 0
    possible: int = 0


def timeline(rules: Rules, calls: Iterable[Call], only: Status | None = None) -> tuple[Span, ...]:
    """Return the spans of all types that calls name, the oldest first.

    Args:
        rules: the rules that the calls were made with.
        calls: calls, in any order.
        only: leave out calls of any other status.
    """
    assigned: dict[tuple[str, str], int] = {}
    possible: dict[tuple[str, str], int] = {}
    for call in calls:
        if only is None or call.status == only:
            counted = assigned if call.status == "assigned" else possible
            for name in call.types:
                counted[name, call.region] = counted.get((name, call.region), 0) + 1
    spans = []
    for name, region in assigned.keys() | possible.keys():
        record = rules.types[name].record(region)
        if record is not None:
            numbers = (assigned.get((name, region), 0), possible.get((name, region), 0))
            spans.append(_span(rules, name, record, *numbers))
    return tuple(sorted(spans, key=lambda s: (-s.start, -s.end, s.type, s.region)))


def _span(rules: Rules, name: str, record: Record, assigned: int, possible: int) -> Span:
    found = cal_bp(record.dates, curve_of(rules))
    return Span(
        type=name,
        region=record.region,
        start=found.start,
        end=found.end,
        how=found.how,
        basis=record.basis,
        period_range=record.period_range,
        assigned=assigned,
        possible=possible,
    )


def reach(spans: Iterable[Span]) -> tuple[int, int] | None:
    """Return the oldest and the youngest cal BP year of some spans; None of none."""
    found = list(spans)
    return (max(s.start for s in found), min(s.end for s in found)) if found else None
