"""Facts about dates: four scales, no year zero, calibration, ranges in cal BP, named periods."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from keygen.core.chronology import (
    CalBP,
    Calibrated,
    Curve,
    cal_bp,
    cal_bp_of_year,
    calibrate,
    curve_of,
    rcybp_of_year,
    read_curve,
    year_of_cal_bp,
)
from keygen.core.model import CurveTable, Dates, Rules
from keygen.core.periods import misses, named_periods, span
from keygen.errors import KeygenError
from keygen.rulebase.load import shipped

ROWS = "# made up\ncal_bp,rcybp,sigma\n0,0,20\n10000,9000,20\n"


def table(text: str) -> CurveTable:
    """Return a curve table of our own."""
    return CurveTable("made up", "curve/made_up.csv", text, ())


@pytest.fixture(scope="module")
def curve() -> Curve:
    """Return the shipped curve."""
    return curve_of(shipped())


@pytest.mark.parametrize(
    ("cal", "year"),
    [
        (0, 1950),
        (1, 1949),
        (1949, 1),
        (1950, -1),
        (1951, -2),
        (3188, -1239),
        (12808, -10859),
        (-50, 2000),
        (1996, -47),
    ],
)
def test_calendar(cal: int, year: int) -> None:
    """Cal BP counts back from AD 1950, and 1 BC is followed by AD 1."""
    assert year_of_cal_bp(cal) == year
    assert cal_bp_of_year(year) == cal


@given(st.integers(-100, 60_000))
def test_calendar_round_trip(cal: int) -> None:
    """Every cal BP figure comes back from its calendar year, which is never 0."""
    year = year_of_cal_bp(cal)
    assert year != 0
    assert cal_bp_of_year(year) == cal
    assert year_of_cal_bp(cal + 1) < year


def test_no_year_zero() -> None:
    """The year 0 is refused by name."""
    with pytest.raises(ValueError, match="no year 0"):
        cal_bp_of_year(0)
    with pytest.raises(ValueError, match="no year 0"):
        rcybp_of_year(0)


def test_radiocarbon_year() -> None:
    """An uncalibrated bc figure is a radiocarbon age less 1950: 6000 bc is 7950 rcybp."""
    assert rcybp_of_year(-6000) == 7950
    assert rcybp_of_year(500) == 1450


def test_straight_lines_between_rows() -> None:
    """Single years between two rows lie on the line through them."""
    curve = read_curve(table(ROWS))
    assert len(curve.ages) == 10_001
    assert curve.ages[5000] == pytest.approx(4500)
    assert calibrate(4500, 50, curve).median == 5000


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (ROWS + "9000,8000,20\n", r"rules/curve/made_up.csv:5: K211: years have to rise"),
        (ROWS + "12000;11000;20\n", "not three numbers: '12000;11000;20'"),
        (ROWS.replace("0,0,20\n", "0,0,0\n", 1), "errors to be above 0"),
        ("calBP,age,error\n0,0,20\n", "the header is 'calBP,age,error'"),
        ("cal_bp,rcybp,sigma\n5,0,20\n10,5,20\n", "the first at cal BP 0"),
        ("", "two rows or more"),
    ],
)
def test_broken_curve(text: str, told: str) -> None:
    """A curve table that cannot be read is refused with its line."""
    with pytest.raises(KeygenError, match=told):
        read_curve(table(text))


@given(st.integers(100, 12_300), st.integers(15, 150))
def test_probability_is_whole(age: int, error: int) -> None:
    """Probabilities sum to one, and a wider share holds a narrower one and about the median."""
    found = calibrate(age, error, curve_of(shipped()))
    assert sum(found.shares) == pytest.approx(1)
    one, two = found.densest(0.683), found.densest(0.954)
    assert sum(r[2] for r in one) >= 0.683 - 1e-9
    assert sum(r[2] for r in two) >= 0.954 - 1e-9
    assert all(any(w[0] >= n[0] >= n[1] >= w[1] for w in two) for n in one)
    assert two[0][0] >= found.median >= two[-1][1]
    assert all(older[1] > younger[0] for older, younger in pairwise(two))


def test_rules_without_a_curve(rules: Rules) -> None:
    """Rules without a curve say so instead of guessing a date."""
    with pytest.raises(KeygenError, match="no calibration curve"):
        curve_of(replace(rules, curve=None))


@pytest.mark.parametrize("age", [13_500, -400])
def test_beyond_the_curve(age: int, curve: Curve) -> None:
    """An age that the curve does not reach is refused, not cut off."""
    with pytest.raises(ValueError, match="beyond the curve"):
        calibrate(age, 50, curve)


def test_error_above_nothing(curve: Curve) -> None:
    """An age without an error cannot be calibrated."""
    with pytest.raises(ValueError, match="above 0"):
        calibrate(3000, 0, curve)


def test_each_scale_in_cal_bp(curve: Curve) -> None:
    """Each scale has its own way to cal BP, and the way is told."""
    assert cal_bp(Dates(13_050, 12_750, "cal BP"), curve) == CalBP(13_050, 12_750, "printed")
    assert cal_bp(Dates(-1000, 500, "BC/AD"), curve) == CalBP(2950, 1450, "calendar")
    assert cal_bp(Dates(-1239, 1838, "BC/AD"), curve) == CalBP(3188, 112, "calendar")
    assert cal_bp(Dates(10_000, 8000, "rcybp"), curve) == CalBP(11_500, 8850, "calibrated")
    assert cal_bp(Dates(-8050, -6050, "bc/ad"), curve) == CalBP(11_500, 8850, "calibrated")


def test_scale_not_certain(curve: Curve) -> None:
    """Where the scale is not certain the range takes in both readings and says so."""
    one = cal_bp(Dates(-6000, -5000, "BC/AD"), curve)
    other = cal_bp(Dates(-6000, -5000, "bc/ad"), curve)
    both = cal_bp(Dates(-6000, -5000, "BC/AD", sure=False), curve)
    assert both == CalBP(max(one.start, other.start), min(one.end, other.end), "either")
    assert both == cal_bp(Dates(-6000, -5000, "bc/ad", sure=False), curve)
    assert both.start - both.end > one.start - one.end


@given(st.integers(50, 11_800), st.integers(0, 700))
def test_ends_stay_in_order(age: int, length: int) -> None:
    """The older end of a radiocarbon range never turns out the younger one, nor moves backward."""
    curve = curve_of(shipped())
    found = cal_bp(Dates(age + length, age, "rcybp"), curve)
    assert found.start >= found.end
    longer = cal_bp(Dates(age + length + 100, age, "rcybp"), curve)
    assert longer.start >= found.start
    assert longer.end == found.end
    assert found.start % 50 == found.end % 50 == 0


def test_shared_years() -> None:
    """Ranges that only touch share no year; a gap counts below nothing."""
    assert CalBP(5000, 3000, "printed").overlap(CalBP(4000, 2000, "printed")) == 1000
    assert CalBP(5000, 3000, "printed").overlap(CalBP(3000, 2000, "printed")) == 0
    assert CalBP(5000, 3000, "printed").overlap(CalBP(2800, 2000, "printed")) == -200
    assert CalBP(5000, 3000, "printed").middle == 4000


@pytest.mark.parametrize(
    ("text", "names"),
    [
        ("Late Archaic", ["Late Archaic"]),
        ("Middle to Late Archaic", ["Middle Archaic", "Late Archaic"]),
        ("late Middle Archaic", ["Middle Archaic"]),
        ("Terminal Late Archaic to Early Woodland", ["Late Archaic", "Early Woodland"]),
        ("Terminal (Wade) Archaic", ["Terminal Archaic"]),
        ("end of the Early Archaic (a remark; Woodland)", ["Early Archaic"]),
        ("Early Archaic, perhaps into the Middle Archaic", ["Early Archaic", "Middle Archaic"]),
        ("Late Woodland to Mississippian", ["Late Woodland", "Mississippian"]),
        ("Late Mississippian to Contact", ["Late Mississippian", "Contact"]),
        ("Gulf Formational", []),
    ],
)
def test_names_in_a_text(rules: Rules, text: str, names: list[str]) -> None:
    """The periods that a text names are found in its order, remarks in brackets left out."""
    found = named_periods(rules, "tennessee_valley", text)
    assert [named.name for named in found] == names
    assert all(named.periods for named in found)


def test_name_without_division(rules: Rules) -> None:
    """Woodland alone means its divisions; a name that the region does not list means nothing."""
    (woodland,) = named_periods(rules, "tennessee_valley", "Woodland")
    assert [p.name for p in woodland.periods] == [
        "Early Woodland",
        "Middle Woodland",
        "Late Woodland",
    ]
    (village,) = named_periods(rules, "tennessee_valley", "Plains Village")
    assert village.periods == ()
    assert misses(rules, "tennessee_valley", "Plains Village", Dates(9000, 8000, "rcybp")) == ()


def test_date_outside_its_period(rules: Rules) -> None:
    """The same figures fall into a period on one scale and outside it on another."""
    miss = misses(rules, "tennessee_valley", "Early Archaic", Dates(-6500, -5900, "BC/AD"))
    assert [named.name for named in miss] == ["Early Archaic"]
    assert not misses(rules, "tennessee_valley", "Early Archaic", Dates(-6500, -5900, "bc/ad"))


def test_limit_between_two_periods(rules: Rules) -> None:
    """What begins on the limit of two periods may be named after both, not after the older only."""
    dates = Dates(3200, 2500, "cal BP")
    region = "tennessee_valley"
    assert misses(rules, region, "Late Archaic", dates)
    assert not misses(rules, region, "Late Archaic to Early Woodland", dates)
    assert misses(rules, region, "Late Archaic to Early Woodland", Dates(3000, 2500, "cal BP"))


def test_densest_years_first() -> None:
    """The ranges that hold a share are made of the likeliest years, and given oldest first."""
    found = Calibrated(100, (0.1, 0.4, 0.05, 0.3, 0.15))
    assert found.densest(0.4) == ((101, 101, 0.4),)
    assert found.densest(0.683) == ((103, 103, 0.3), (101, 101, 0.4))
    several = found.densest(0.8)
    assert [r[:2] for r in several] == [(104, 103), (101, 101)]
    assert [r[2] for r in several] == pytest.approx([0.45, 0.4])
    assert [r[:2] for r in found.densest(0.99)] == [(104, 100)]
    assert found.median == 101


def test_a_small_error_is_an_error(small_rules: Rules) -> None:
    """An error below one year is above nothing, and the last year of all can be reached."""
    curve = read_curve(table("cal_bp,rcybp,sigma\n0,0,0.5\n4,8,0.5\n\n# end\n6,9,0.5\n"))
    assert list(curve.ages) == [0, 2, 4, 6, 8, 8.5, 9]
    assert list(curve.errors) == [0.5] * 7
    assert curve.widest == 0.5
    far = read_curve(table("cal_bp,rcybp,sigma\n0,0,1\n2,-100000,1\n3,100000,1\n"))
    assert (far.rising[-2:], far.falling[:3]) == ((0, 100000), (-100000, -100000, -100000))


def test_a_fault_of_a_curve_says_what_a_row_is() -> None:
    """The fault names file, line and what is expected; a figure beyond all curves is one."""
    with pytest.raises(KeygenError) as caught:
        read_curve(table(ROWS + "12000,100001,20\n"))
    (problem,) = caught.value.problems
    assert (problem.file, problem.line, problem.code) == ("rules/curve/made_up.csv", 5, "K211")
    assert problem.what == "a figure is beyond 100,000, where no curve goes"
    assert problem.remedy == "A row is 'cal_bp,rcybp,sigma', a header of these words above."


def test_reach_of_a_calibration() -> None:
    """Away from its ends a steady curve gives the same shares to either side of the median."""
    curve = read_curve(table("cal_bp,rcybp,sigma\n0,0,3\n400,400,3\n"))
    found = calibrate(200, 4, curve)
    # six joined errors, of 4 and 3, are 42 years as taken; all shares lie within
    assert (found.first, len(found.shares), found.median) == (158, 85, 200)
    assert found.shares == pytest.approx(found.shares[::-1])
    # one standard error is 5 years: exp(-0.5) of the density at the middle
    assert found.shares[42 + 5] / found.shares[42] == pytest.approx(0.60653066)
    assert found.densest(0.683)[0][:2] == (205, 195)
    for inside, outside in ((12, 11.9), (388, 388.1)):
        assert calibrate(inside if inside > 100 else -inside, 4, curve)
        with pytest.raises(ValueError, match="lies beyond the curve"):
            calibrate(outside if outside > 100 else -outside - 0.2, 4, curve)


def test_spans_of_named_periods(small_rules: Rules) -> None:
    """A span is calibrated if all of its periods are, and else of either reading."""
    curve = curve_of(small_rules)
    middle, late, _ = small_rules.periods["hills"]
    printed, calendar = small_rules.periods["coast"]
    assert span((late,), curve) == CalBP(5550, 3350, "calibrated")
    assert span((middle, late), curve) == CalBP(8900, 3350, "calibrated")
    assert span((printed,), curve) == CalBP(5000, 3000, "printed")
    assert span((printed, calendar), curve) == CalBP(5000, 2250, "either")


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("Middle or Late Archaic", [("Middle Archaic", 1), ("Late Archaic", 1)]),
        ("Early Archaic", [("Early Archaic", 0)]),
        ("Archaic", [("Archaic", 2)]),
        ("Paleoindian; Archaic", [("Paleoindian", 1), ("Archaic", 2)]),
        ("Late Paleoindian", [("Late Paleoindian", 1)]),
        ("and Late Archaic", [("Late Archaic", 1)]),
        ("to Archaic", [("Archaic", 2)]),
        ("Late, Archaic", [("Archaic", 2)]),
        ("Early Woodland", [("Early Woodland", 0)]),
    ],
)
def test_what_a_name_means(small_rules: Rules, text: str, told: list[tuple[str, int]]) -> None:
    """A division that is not listed means nothing, unless the era stands there undivided."""
    found = named_periods(small_rules, "hills", text)
    assert [(named.name, len(named.periods)) for named in found] == told


def test_years_shared_with_a_period(small_rules: Rules) -> None:
    """One named period has to share a year; of several, each may lie up to a century away."""

    def missed(text: str, start: int, end: int) -> list[str]:
        dates = Dates(start, end, "cal BP")
        return [named.name for named in misses(small_rules, "coast", text, dates)]

    assert missed("Late Archaic", 3001, 2500) == []
    assert missed("Late Archaic", 3000, 2500) == ["Late Archaic"]
    both = "Late Archaic to Early Woodland"
    assert missed(both, 2900, 2500) == []
    assert missed(both, 2899, 2500) == ["Late Archaic"]
    assert missed(both, 4000, 3051) == ["Early Woodland"]
