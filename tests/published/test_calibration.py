"""Calibration held against published figures and against reference answers worked out elsewhere.

Sources: IntCal20, Reimer et al. 2020, Radiocarbon 62(4):725-757; ranges that another program
prints for 3000 +/- 30 and 4990 +/- 30 (Student-t likelihood, 100 degrees of freedom, "BC" there
meaning 1950 less cal BP); six ages worked out with independent code; Archaic limits in both scales
from Anderson 2014, Paleoindian and Archaic Periods in North America.
"""

from __future__ import annotations

import csv
from collections.abc import Iterable
from pathlib import Path

import pytest

from keygen.core.chronology import Curve, calibrate, curve_of, read_curve
from keygen.core.model import CurveTable, Rules

SHARED = Path(__file__).parents[3] / "shared" / "reference" / "calibration_reference"
needs_shared = pytest.mark.skipif(
    not SHARED.is_dir(), reason="the shared calibration reference is not beside us"
)
Ranges = list[tuple[int, int]]


@pytest.fixture(scope="module")
def curve(rules: Rules) -> Curve:
    """Return the shipped curve."""
    return curve_of(rules)


def years(ranges: Iterable[tuple[int, int]]) -> set[int]:
    """Return the years (cal BP) of ranges given as (older, younger)."""
    return {year for older, younger in ranges for year in range(younger, older + 1)}


def assert_near(found: Iterable[tuple[int, int, float]], expected: Ranges) -> None:
    """Assert that no year of either set of ranges lies more than 3 years from the other set."""
    ours, theirs = years((older, younger) for older, younger, _ in found), years(expected)
    for one, other in ((ours, theirs), (theirs, ours)):
        far = sorted(year for year in one if other.isdisjoint(range(year - 3, year + 4)))
        assert not far, (far, expected)


# Another program's printed ranges, years turned into cal BP by adding 1950.
PRINTED = [
    (3000, 30, 0.683, [(1364, 1360), (1282, 1197), (1169, 1163), (1140, 1131)]),
    (3000, 30, 0.954, [(1379, 1344), (1304, 1124)]),
    (4990, 30, 0.683, [(3794, 3707), (3666, 3662)]),
    (4990, 30, 0.954, [(3936, 3874), (3804, 3697), (3684, 3654)]),
]


@pytest.mark.parametrize(("age", "error", "share", "printed"), PRINTED)
def test_ranges_of_another_program(
    age: int, error: int, share: float, printed: Ranges, curve: Curve
) -> None:
    """Ranges that another program prints come back within 3 years."""
    expected = [(a + 1950, b + 1950) for a, b in printed]
    assert_near(calibrate(age, error, curve).densest(share), expected)


# Age, error, median, 68.3 % and 95.4 % ranges, all cal BP: independent code, single years.
WORKED: list[tuple[int, int, int, Ranges, Ranges]] = [
    (
        5000,
        40,
        5726,
        [(5856, 5827), (5751, 5657), (5617, 5611)],
        [(5894, 5806), (5793, 5785), (5767, 5645), (5638, 5603)],
    ),
    (10900, 50, 12808, [(12836, 12756)], [(12907, 12741)]),
    (
        3000,
        30,
        3188,
        [(3314, 3312), (3233, 3147), (3119, 3113), (3090, 3081)],
        [(3329, 3294), (3253, 3102), (3100, 3074)],
    ),
    (
        2000,
        30,
        1935,
        [(1989, 1960), (1949, 1920), (1910, 1890)],
        [(1998, 1867), (1853, 1837)],
    ),
    (
        10000,
        50,
        11482,
        [(11680, 11680), (11612, 11525), (11506, 11418), (11413, 11389), (11379, 11326)],
        [(11726, 11719), (11711, 11663), (11652, 11269)],
    ),
    (
        8000,
        50,
        8861,
        [(8995, 8966), (8964, 8928), (8923, 8856), (8835, 8776)],
        [(9008, 8696), (8673, 8649)],
    ),
]


@pytest.mark.parametrize(("age", "error", "median", "one", "two"), WORKED)
def test_worked_ages(
    age: int, error: int, median: int, one: Ranges, two: Ranges, curve: Curve
) -> None:
    """Six ages worked out independently come back: medians within 5 years, ends within 3."""
    found = calibrate(age, error, curve)
    assert abs(found.median - median) <= 5
    assert_near(found.densest(0.683), one)
    assert_near(found.densest(0.954), two)


@pytest.mark.parametrize(
    ("cal", "age", "error"),
    [(0, 199, 11), (1000, 1126, 13), (3000, 2889, 16), (5000, 4439, 15), (10000, 8872, 21)],
)
def test_spot_values(cal: int, age: int, error: int, curve: Curve) -> None:
    """The shipped curve has the published figures within the half year that thinning allows."""
    assert curve.ages[cal] == pytest.approx(age, abs=0.5)
    assert curve.errors[cal] == pytest.approx(error, abs=0.5)


@pytest.mark.parametrize(
    ("age", "error", "printed"),
    [(11_200, 60, 13_200), (10_000, 50, 11_450), (3000, 50, 3200)],
)
def test_limits_of_the_archaic(age: int, error: int, printed: int, curve: Curve) -> None:
    """The printed pairs of radiocarbon and calendar limits agree with ours within 80 years."""
    assert abs(calibrate(age, error, curve).median - printed) <= 80


def reference_ranges(text: str) -> Ranges:
    """Read `542-509; 494-480`, leaving out ranges of one year.

    There is one such range (12,980 cal BP for 10,965 +/- 30); the second program whose answers
    stand in the reference does not give it either.
    """
    pairs = [(int(a), int(b)) for a, b in (part.split("-") for part in text.split(";"))]
    return [(older, younger) for older, younger in pairs if older > younger]


@needs_shared
def test_reference_answers(curve: Curve) -> None:
    """Twelve reference ages come back: medians within 5 years, ends of ranges within 3."""
    with (SHARED / "data.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert len(rows) == 12
    for row in rows:
        found = calibrate(float(row["age_bp"]), float(row["error"]), curve)
        assert abs(found.median - int(row["median_cal_bp"])) <= 5
        assert_near(found.densest(0.682), reference_ranges(row["hpd68_cal_bp"]))
        assert_near(found.densest(0.954), reference_ranges(row["hpd95_cal_bp"]))


@needs_shared
def test_thinned_curve(curve: Curve) -> None:
    """Medians of the thinned curve stay within 5 years of those of the full published table."""
    text = (SHARED / "intcal20_0_20000.csv").read_text(encoding="utf-8")
    whole = text.replace("calBP,age,error", "cal_bp,rcybp,sigma")
    full = read_curve(CurveTable("full", "curve/full.csv", whole, ()))
    for age in range(100, 12_500, 50):
        for error in (20, 50, 100):
            ours, theirs = calibrate(age, error, curve), calibrate(age, error, full)
            assert abs(ours.median - theirs.median) <= 5, (age, error)
