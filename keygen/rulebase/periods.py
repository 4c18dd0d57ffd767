"""Proofs about time: the curve can be read, and every record's date falls into its periods."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from keygen.core.chronology import Curve, cal_bp, read_curve
from keygen.core.model import Record, Rules
from keygen.core.periods import misses, named_periods, span
from keygen.errors import KeygenError, Problem
from keygen.rulebase.yamlio import Document, Path


def period_problems(rules: Rules, documents: Mapping[str, Document]) -> list[Problem]:
    """Check the curve, the periods of each region, and each record's date against its period."""
    if rules.curve is None or not rules.curve.text:
        return []  # that no table was found is a problem of form, told elsewhere
    try:
        curve = read_curve(rules.curve)
    except KeygenError as error:
        return list(error.problems)
    found = list(_table_problems(rules, documents["periods.yaml"], curve))
    if not found:
        for kind in rules.types.values():
            document = documents[f"types/{kind.id}.yaml"]
            for i, record in enumerate(kind.records):
                found += _record_problems(rules, record, curve, document, ("records", i))
    return found


def _table_problems(rules: Rules, table: Document, curve: Curve) -> Iterator[Problem]:
    for region, periods in rules.periods.items():
        names = [period.name for period in periods]
        for i, period in enumerate(periods):
            place: Path = ("periods", region, i)
            if period.name in names[:i]:
                what = f"a second {period.name} for {region}"
                yield table.problem(place, "K212", what, "Join the two.")
            try:
                cal_bp(period.dates, curve)
            except ValueError as error:
                yield table.problem((*place, "dates"), "K213", str(error), "Correct the range.")


def _record_problems(
    rules: Rules, record: Record, curve: Curve, document: Document, place: Path
) -> Iterator[Problem]:
    try:
        own = cal_bp(record.dates, curve)
    except ValueError as error:
        yield document.problem((*place, "dates"), "K213", str(error), "Correct the range.")
        return
    for named in named_periods(rules, record.region, record.period):
        if not named.periods:
            what = f"{named.name} is no period of {record.region}"
            remedy = "Name a period of the region, or list it in periods.yaml."
            yield document.problem((*place, "period"), "K210", what, remedy)
    missed = misses(rules, record.region, record.period, record.dates)
    if record.period_note:
        if not missed:
            what = "the date falls into its period, so 'period_note' says nothing"
            yield document.problem((*place, "period_note"), "K210", what, "Remove the note.")
        return
    for named in missed:
        whole = span(named.periods, curve)
        what = (
            f"{own.start}-{own.end} cal BP lies outside the {named.name} of {record.region} "
            f"({whole.start}-{whole.end} cal BP)"
        )
        remedy = "Correct date, scale or period, or say why in 'period_note'."
        yield document.problem((*place, "period"), "K210", what, remedy)
