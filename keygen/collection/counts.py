"""How many specimens were called what: by type, and by the period in which the type is placed.

A specimen with several candidates is counted for none of them. It is counted apart, and beside
each of its candidates as one that it could be besides.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from keygen.core.call import Call
from keygen.core.chronology import cal_bp, curve_of
from keygen.core.model import Dates, Record, Rules
from keygen.core.periods import named_periods
from keygen.prose.ages import before_1950
from keygen.prose.grammar import capital, plain


@dataclass(frozen=True)
class Count:
    """How many specimens are of one type or period.

    `assigned` and `cf` have it as their one candidate. `either` have it among several: for a type
    they may turn out to be another; for a period all their candidates are of it.
    """

    name: str
    assigned: int = 0
    cf: int = 0
    either: int = 0


@dataclass(frozen=True)
class Tally:
    """The counts of a collection; every specimen is in just one of these sums.

    By type: `assigned` and `cf` of all types, `several`, `none_fits`, `haft_unknown`, `uncalled`.
    By period: the same, less those of `several` whose candidates are all of one period; the others
    are `several_periods`. Types stand from the most frequent down, periods from the oldest on.
    """

    total: int
    types: tuple[Count, ...]
    periods: tuple[Count, ...]
    several: int = 0
    several_periods: int = 0
    none_fits: int = 0
    haft_unknown: int = 0
    uncalled: int = 0


def tally(rules: Rules, calls: Iterable[Call | None]) -> Tally:
    """Count calls; None stands for a specimen that was not called at all."""
    types: dict[str, Count] = {}
    periods: dict[str, Count] = {}
    ages: dict[str, list[float]] = {}
    sums = dict.fromkeys(
        ("total", "several", "several_periods", "none_fits", "haft_unknown", "uncalled"), 0
    )
    for call in calls:
        sums["total"] += 1
        if call is None:
            sums["uncalled"] += 1
            continue
        if call.status == "untyped":
            sums[call.reason or "none_fits"] += 1
            continue
        found = {name: rules.types[name].record(call.region) for name in call.types}
        for name in call.types:
            _add(types, name, rules.types[name].name, call)
        named = {period(rules, r) for r in found.values() if r is not None}
        if len(named) == 1:
            (name,) = named
            _add(periods, name, name, call)
            ages.setdefault(name, []).extend(_middle(rules, r.dates) for r in found.values() if r)
        if call.status == "either":
            sums["several"] += 1
            sums["several_periods"] += len(named) != 1
    by_count = sorted(types.values(), key=lambda c: (-c.assigned - c.cf, -c.either, c.name))
    by_age = sorted(periods.values(), key=lambda c: (-_mean(ages[c.name]), c.name))
    return Tally(types=tuple(by_count), periods=tuple(by_age), **sums)


def _add(counts: dict[str, Count], key: str, name: str, call: Call) -> None:
    count = counts.setdefault(key, Count(name))
    field = "cf" if call.status == "cf." else call.status
    counts[key] = replace(count, **{field: getattr(count, field) + 1})


def _mean(figures: list[float]) -> float:
    return sum(figures) / len(figures)


def period(rules: Rules, record: Record) -> str:
    """Return the period of a type as it is counted.

    A part of one period counts as that period: `late Middle Archaic` as `Middle Archaic`. What
    spans several periods stands as it is, without remarks in brackets.
    """
    text = plain(record.period)
    named = named_periods(rules, record.region, text)
    if len(named) == 1 and text.casefold().endswith(named[0].name.casefold()):
        return named[0].name
    return capital(text)


def _middle(rules: Rules, dates: Dates) -> float:
    """Return the middle of a range in years before 1950, calibrated where the rules have a curve.

    It only puts periods into an order.
    """
    if rules.curve is None:
        return sum(before_1950(dates)) / 2
    range_ = cal_bp(dates, curve_of(rules))
    return (range_.start + range_.end) / 2
