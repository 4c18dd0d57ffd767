"""rules/types, regions, sources, periods and cautions into the model."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Any, get_args

from keygen.core.basis import Basis
from keygen.core.model import (
    Caution,
    Criterion,
    CurveTable,
    Dates,
    LookAlike,
    MeasureRange,
    Period,
    Record,
    Region,
    Scale,
    Source,
    Type,
)
from keygen.errors import Problem, nearest
from keygen.rulebase.fields import Fields
from keygen.rulebase.vocabulary import Vocabulary, read_limits
from keygen.rulebase.yamlio import Document

BASES = get_args(Basis)
CAUTION_WHEN = (
    "any",
    "typed",
    "untyped",
    "dated",
    "elsewhere",
    "reworked",
    "sampling",
    "compromised",
    "context",
)


def read_regions(document: Document, problems: list[Problem]) -> dict[str, Region]:
    """Read the research regions."""
    regions: dict[str, Region] = {}
    top = Fields(document, problems)
    ids = top.child("regions").values
    for name, entry in top.children("regions"):
        regions[name] = Region(
            name,
            entry.text("label"),
            entry.text("place"),
            entry.texts("states", required=True),
            entry.known("neighbours", ids, "the region"),
        )
        entry.text("note", "")
        entry.done()
    top.done()
    return regions


def read_sources(document: Document, problems: list[Problem]) -> dict[str, Source]:
    """Read the cited works."""
    sources: dict[str, Source] = {}
    top = Fields(document, problems)
    for key, entry in top.children("sources"):
        sources[key] = Source(key, entry.text("cite"), entry.integer("year"))
        entry.done()
    top.done()
    return sources


def read_periods(
    document: Document,
    regions: Collection[str],
    sources: Collection[str],
    tables: Mapping[str, str],
    problems: list[Problem],
) -> tuple[CurveTable, dict[str, tuple[Period, ...]]]:
    """Read the named periods of each region, and which calibration curve dates them.

    Args:
        tables: the text of each curve table by its file stem.
    """
    top = Fields(document, problems)
    entry = top.child("curve")
    name = entry.text("table")
    if name and name not in tables:
        entry.fault("K005", f"the curve {name!r} is not known", "table", nearest(name, tables))
    keys = entry.known("sources", sources, "the source", required=True)
    curve = CurveTable(entry.text("label"), f"curve/{name}.csv", tables.get(name, ""), keys)
    entry.done()
    group = top.child("periods")
    periods: dict[str, tuple[Period, ...]] = {}
    for region in map(str, group.values):
        if region not in regions:
            remedy = nearest(region, regions)
            group.fault("K005", f"the region {region!r} is not known", region, remedy)
        listed = [_period(region, item, sources) for item in group.items(region)]
        periods[region] = tuple(period for period in listed if period.name)
    top.done()
    return curve, periods


def _period(region: str, entry: Fields, sources: Collection[str]) -> Period:
    period = Period(
        region=region,
        name=entry.text("name"),
        dates=_dates(entry.child("dates")),
        sources=entry.known("sources", sources, "the source"),
        basis=_basis(entry),
        seen=entry.text("seen", ""),
        note=entry.text("note", ""),
    )
    if period.basis != "common" and not period.sources:
        entry.fault("K203", f"basis is {period.basis!r} but no source is given", "basis")
    if period.basis == "read" and not period.seen:
        entry.fault("K203", "basis is 'read' but 'seen' does not say where", "basis")
    entry.done()
    return period


def read_type(
    name: str,
    document: Document,
    vocabulary: Vocabulary,
    regions: Collection[str],
    sources: Collection[str],
    measurements: Collection[str],
    problems: list[Problem],
) -> Type:
    """Read one type; its id is the file's stem."""
    top = Fields(document, problems)
    kind = Type(
        id=name,
        name=top.text("name"),
        aliases=top.texts("aliases"),
        also=top.texts("also"),
        cluster=top.text("cluster", ""),
        defined_by=_criteria(top.child("defined_by"), vocabulary),
        usual=_criteria(top.child("usual"), vocabulary),
        measures=tuple(
            _measure(measurement, entry, measurements, sources)
            for measurement, entry in top.children("measures")
        ),
        sources=top.known("sources", sources, "the source", required=True),
        basis=_basis(top),
        records=tuple(_record(entry, regions, sources) for entry in top.items("records")),
        look_alikes=tuple(_look_alike(entry) for entry in top.items("look_alikes")),
        note=top.text("note", ""),
    )
    if not kind.defined_by:
        top.fault("K003", "nothing defines this type", (), "Give 'defined_by'.")
    if not kind.records:
        top.fault("K003", "the type has no record", (), "Give at least one region under 'records'.")
    top.done()
    return kind


def _basis(entry: Fields) -> Basis:
    word: Any = entry.choice("basis", BASES)
    return word  # type: ignore[no-any-return]


def _criteria(entry: Fields, vocabulary: Vocabulary) -> tuple[Criterion, ...]:
    return tuple(Criterion(i, mask) for i, mask in read_limits(entry, vocabulary).items())


def _measure(
    measurement: str, entry: Fields, measurements: Collection[str], sources: Collection[str]
) -> MeasureRange:
    low, high = entry.number("from"), entry.number("to")
    if measurement not in measurements:
        entry.fault("K005", f"the measurement {measurement!r} is not known")
    if low > high:
        entry.fault("K202", f"{measurement} runs from {low:g} down to {high:g}", "from")
    found = MeasureRange(
        measurement,
        low,
        high,
        _basis(entry),
        entry.known("sources", sources, "the source"),
    )
    entry.done()
    return found


def _record(entry: Fields, regions: Collection[str], sources: Collection[str]) -> Record:
    region = entry.text("region")
    if region and region not in regions:
        entry.fault(
            "K005", f"the region {region!r} is not known", "region", nearest(region, regions)
        )
    record = Record(
        region=region,
        period=entry.text("period"),
        dates=_dates(entry.child("dates")),
        sources=entry.known("sources", sources, "the source", required=True),
        basis=_basis(entry),
        seen=entry.text("seen", ""),
        note=entry.text("note", ""),
        local_name=entry.text("local_name", ""),
        local_type=entry.text("local_type", ""),
        period_range=entry.flag("period_range", False),
        period_note=entry.text("period_note", ""),
    )
    if record.basis == "read" and not record.seen:
        entry.fault("K203", "basis is 'read' but 'seen' does not say where", "basis")
    entry.done()
    return record


def _dates(entry: Fields) -> Dates:
    start, end = entry.integer("from"), entry.integer("to")
    scale: Any = entry.choice("scale", get_args(Scale))
    counts_back = scale in ("cal BP", "rcybp")
    if (counts_back and start < end) or (not counts_back and start > end):
        entry.fault("K202", f"the older date has to come first: {start} to {end} {scale}", "from")
    dates = Dates(start, end, scale, entry.flag("sure", True))
    entry.done()
    return dates


def _look_alike(entry: Fields) -> LookAlike:
    found = LookAlike(entry.text("type"), entry.text("tell"))
    entry.done()
    return found


def read_cautions(document: Document, problems: list[Problem]) -> Mapping[str, Caution]:
    """Read the cautions."""
    cautions: dict[str, Caution] = {}
    top = Fields(document, problems)
    for name, entry in top.children("cautions"):
        cautions[name] = Caution(
            name,
            entry.choice("when", CAUTION_WHEN),
            entry.text("text"),
            _basis(entry),
            entry.texts("sources"),
        )
        entry.done()
    top.done()
    return cautions
