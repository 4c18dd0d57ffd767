"""Each region's periods, and the records in them, against spans that states publish.

Source: Digital Index of North American Archaeology, period definitions of ten states in the
PeriodO gazetteer (first data load, 2014-2015, public domain). Whether the years are calendar or
radiocarbon years less 1950 is not said, so each span is read both ways and the nearer one counts.
Iowa's labels are cultures rather than periods and are left out.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import pytest

from keygen.core.chronology import CalBP, Curve, cal_bp, curve_of
from keygen.core.model import Dates, Record, Rules
from keygen.core.periods import BETWEEN, named_periods

SHARED = Path(__file__).parents[3] / "shared" / "reference" / "us_state_periods" / "data.csv"
needs_shared = pytest.mark.skipif(
    not SHARED.is_file(), reason="the shared table of state periods is not beside us"
)
STATES = {
    "Alabama": "AL",
    "Florida": "FL",
    "Georgia": "GA",
    "Illinois": "IL",
    "Indiana": "IN",
    "Kentucky": "KY",
    "Missouri": "MO",
    "South Carolina": "SC",
    "Virginia": "VA",
}
LABEL = re.compile(
    r"(?:(Early|Middle|Late) (Paleoindian|Archaic|Woodland)|(Mississippian))"
    r"(?:, indet\.?)?(?: \(.*\))?"
)


class Published(NamedTuple):
    """One span as a state gives it; years BC are negative."""

    state: str
    period: str
    start: int
    end: int


# Rows typed in, so that something always runs.
TYPED = [
    Published("AL", "Early Archaic", -9550, -6950),
    Published("AL", "Late Archaic", -3950, -1250),
    Published("AL", "Late Woodland", 350, 950),
    Published("FL", "Early Archaic", -7500, -5000),
    Published("FL", "Middle Archaic", -5000, -3000),
    Published("GA", "Middle Archaic", -6050, -3050),
    Published("IL", "Early Archaic", -8000, -6000),
    Published("IL", "Middle Woodland", -200, 300),
    Published("IL", "Mississippian", 900, 1500),
    Published("IN", "Late Archaic", -4000, -1500),
    Published("KY", "Late Woodland", 500, 1000),
    Published("MO", "Middle Archaic", -5000, -3000),
    Published("SC", "Middle Woodland", -500, 500),
    Published("SC", "Mississippian", 900, 1540),
    Published("VA", "Middle Archaic", -6500, -3001),
]

# Spans of ours that share less than half of the shorter of the two with the published one.
PERIODS_THAT_DIFFER = {
    ("GA", "Early Woodland", "florida"): "our span is that of peninsular Florida, where pottery of "
    "the Archaic lasts to 500 BC; Georgia begins the Woodland there at 1050 BC",
    ("IN", "Early Paleoindian", "great_lakes"): "Indiana's years are radiocarbon years less 1950 "
    "of the whole fluted-point era; our Great Lakes sequence divides it in three",
    ("MO", "Early Woodland", "lower_mississippi"): "Missouri ends it at 500 BC, when Tchula and "
    "Tchefuncte have just begun downstream",
    ("MO", "Early Woodland", "ozarks"): "our span begins at 600 BC, when Woodland pottery is first "
    "dated; Missouri takes a round 1000 BC",
    ("VA", "Late Woodland", "appalachian_summit"): "in the mountains what follows AD 1000 is named "
    "Mississippian (Pisgah); Virginia keeps Late Woodland to the end",
}
# Records that share no year with the named period in any state of their region that has one.
RECORDS_THAT_DIFFER = {
    ("dalton", "lower_mississippi", "Early Archaic"): "Missouri sets a Dalton period before its "
    "Early Archaic, which begins at 7000 BC",
    ("dalton", "ozarks", "Early Archaic"): "the same",
    ("san_patrice_st_johns", "ozarks", "Early Archaic"): "the same; San Patrice goes with Dalton",
    ("gainey", "great_lakes", "Early Paleoindian"): "Indiana alone, in radiocarbon years: as above",
    (
        "halifax_side_notched",
        "carolina_piedmont",
        "Late Archaic",
    ): "one date at one standard error, said in the record's period_note",
    ("yadkin_eared", "atlantic_coastal_plain", "Early Woodland"): "South Carolina and Georgia end "
    "it at 500 BC, North Carolina, where Yadkin is named, at 300 BC",
    ("yadkin_large_triangular", "atlantic_coastal_plain", "Early Woodland"): "the same",
}


def shared_rows() -> list[Published]:
    """Return the divisions of eras that states publish, without suspect rows and doubles."""
    found = set()
    with SHARED.open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            label = re.sub(r"Paleo-?\s?[Ii]ndian", "Paleoindian", row["label"])
            match = LABEL.fullmatch(label)
            if match and row["state"] in STATES and row["suspect"] == "False":
                name = " ".join(word for word in match.groups() if word)
                years = int(row["start_year"]), int(row["stop_year"])
                found.add(Published(STATES[row["state"]], name, *years))
    return sorted(found)


def readings(row: Published, curve: Curve) -> Iterator[CalBP]:
    """Yield a published span read as calendar years and as radiocarbon years less 1950."""
    yield cal_bp(Dates(row.start, row.end, "BC/AD"), curve)
    if row.start > -10_800:  # before that radiocarbon years would be older than any point
        yield cal_bp(Dates(row.start, row.end, "bc/ad"), curve)


def shared_part(ours: CalBP, theirs: CalBP) -> float:
    """Return the shared years as a part of the shorter span."""
    return ours.overlap(theirs) / min(ours.start - ours.end, theirs.start - theirs.end)


def differing(rules: Rules, rows: list[Published]) -> tuple[int, set[tuple[str, str, str]]]:
    """Return how many pairs of spans were compared, and those that share less than half."""
    curve = curve_of(rules)
    compared, found = 0, set()
    for row in rows:
        for region in rules.regions.values():
            for period in rules.periods[region.id]:
                if row.state in region.states and period.name == row.period:
                    compared += 1
                    own = cal_bp(period.dates, curve)
                    if max(shared_part(own, r) for r in readings(row, curve)) < 0.5:
                        found.add((row.state, row.period, region.id))
    return compared, found


def test_typed_rows(rules: Rules) -> None:
    """Fifteen published spans typed in share at least half with the period of every region."""
    compared, found = differing(rules, TYPED)
    assert compared >= 30
    assert found == set()


@needs_shared
def test_shared_rows(rules: Rules) -> None:
    """Of over 140 pairs of spans all share at least half, but for the five told above."""
    compared, found = differing(rules, shared_rows())
    assert compared > 140
    assert found == set(PERIODS_THAT_DIFFER)


def outside(rules: Rules, record: Record, rows: list[Published]) -> Iterator[tuple[str, bool]]:
    """Yield each period of a record that a state of its region gives, and whether it misses it."""
    curve = curve_of(rules)
    own = cal_bp(record.dates, curve)
    names = named_periods(rules, record.region, record.period)
    least = 1 if len(names) == 1 else -BETWEEN
    for named in names:
        spans = [
            reading
            for row in rows
            if row.period == named.name and row.state in rules.regions[record.region].states
            for reading in readings(row, curve)
        ]
        if spans:
            yield named.name, all(own.overlap(span) < least for span in spans)


@needs_shared
def test_records_in_their_states(rules: Rules) -> None:
    """A type placed in a period falls into that period of a state of its region."""
    rows = shared_rows()
    compared, found = 0, set()
    for kind in rules.types.values():
        for record in kind.records:
            for period, misses in outside(rules, record, rows):
                compared += 1
                if misses:
                    found.add((kind.id, record.region, period))
    assert compared > 500
    assert found == set(RECORDS_THAT_DIFFER)
