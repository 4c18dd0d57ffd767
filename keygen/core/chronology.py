"""Dates on one scale: cal BP.

Four scales occur in the sources. `cal BP` counts calendar years back from AD 1950; `BC/AD` are
calendar years; `rcybp` are radiocarbon years before 1950, which are no calendar years; `bc/ad` are
radiocarbon years minus 1950, as older handbooks print them. There is no year zero in BC/AD or
bc/ad: years BC are negative here, and -1 is followed by 1. Radiocarbon years become calendar years
through a calibration curve only.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property, lru_cache
from itertools import accumulate, pairwise
from math import exp, sqrt
from typing import Literal

from keygen.core.model import CurveTable, Dates, Rules, Scale
from keygen.errors import KeygenError, Problem

How = Literal["printed", "calendar", "calibrated", "either"]

# The ends of published ranges are round figures that stand for many dates. They are calibrated as
# if each were one date with this error (radiocarbon years), a common one in the older literature.
NOMINAL_ERROR = 50
# What a calibrated end can bear. With the nominal error the 68 % set of an end is some 160 years
# wide between its outer ends (the median over 1000 to 12,500 rcybp; 35 at best, 660 at worst), so
# single years or tens would promise what the date cannot keep.
CALIBRATED_GRAIN = 50
# A BC figure printed in tens (500 BC) is exactly one year off in cal BP (2449); nobody means that.
CALENDAR_GRAIN = 10

LAST_YEAR = 100_000  # cal BP; radiocarbon reaches back about 55,000 years
_NO_ZERO = "there is no year 0: 1 BC is followed by AD 1"
_REACH = 6.0  # beyond so many standard errors the probability is nil
_OTHER: dict[Scale, Scale] = {
    "cal BP": "rcybp",
    "rcybp": "cal BP",
    "BC/AD": "bc/ad",
    "bc/ad": "BC/AD",
}


@dataclass(frozen=True, eq=False)
class Curve:
    """A calibration curve in single years: age and error (rcybp) at each cal BP from 0.

    `rising` is the highest age up to each year and `falling` the lowest age from it on: both rise
    without a wiggle, so they bound by bisection where an age can lie.
    """

    ages: tuple[float, ...]
    errors: tuple[float, ...]
    rising: tuple[float, ...]
    falling: tuple[float, ...]

    @cached_property
    def widest(self) -> float:
        """Return the largest error of the curve (rcybp)."""
        return max(self.errors)


@dataclass(frozen=True)
class CalBP:
    """A date range in cal BP, `start` being the older end, and how it came about.

    `printed`: the source gives cal BP. `calendar`: BC/AD, counted back from 1950. `calibrated`:
    the medians of both ends, each taken as one date with `NOMINAL_ERROR`. `either`: the scale of
    the source is not certain, and the range takes in both readings.
    """

    start: int
    end: int
    how: How

    def overlap(self, other: CalBP) -> int:
        """Return the years that two ranges share; 0 or less where they only touch or miss."""
        return min(self.start, other.start) - max(self.end, other.end)

    @property
    def middle(self) -> float:
        """Return the mid-point in cal BP."""
        return (self.start + self.end) / 2


@dataclass(frozen=True)
class Calibrated:
    """One radiocarbon age on the calendar: the probability of each cal BP year from `first` on."""

    first: int
    shares: tuple[float, ...]

    @property
    def median(self) -> int:
        """Return the year (cal BP) with half of the probability on either side."""
        return self.first + bisect_left(tuple(accumulate(self.shares)), 0.5)

    def densest(self, share: float) -> tuple[tuple[int, int, float], ...]:
        """Return the highest-density ranges that hold a share of the probability.

        Args:
            share: 0.683 for one, 0.954 for two standard errors.

        Returns:
            Ranges as (older end, younger end, share of the range), in cal BP, the oldest first.
        """
        by_density = sorted(range(len(self.shares)), key=lambda i: -self.shares[i])
        sums = accumulate(self.shares[i] for i in by_density)
        taken = sorted(by_density[: 1 + sum(1 for total in sums if total < share)], reverse=True)
        breaks = [i for i, (one, two) in enumerate(pairwise(taken), 1) if one - two > 1]
        return tuple(
            (
                self.first + taken[low],
                self.first + taken[high - 1],
                sum(self.shares[i] for i in taken[low:high]),
            )
            for low, high in pairwise([0, *breaks, len(taken)])
        )


def cal_bp_of_year(year: int) -> int:
    """Return cal BP for a calendar year: AD 1 is 1949, 1 BC (written -1) is 1950.

    Raises:
        ValueError: year 0, which does not exist.
    """
    if year == 0:
        raise ValueError(_NO_ZERO)
    return 1950 - year if year > 0 else 1949 - year


def year_of_cal_bp(cal: int) -> int:
    """Return the calendar year of a cal BP figure, years BC as negative numbers."""
    return 1950 - cal if cal < 1950 else 1949 - cal


def rcybp_of_year(year: int) -> int:
    """Return the radiocarbon age behind an uncalibrated bc/ad figure: 1950 minus the year.

    Those who subtracted 1950 did not skip a year zero, so nor is it skipped on the way back.

    Raises:
        ValueError: year 0, which nobody can have meant.
    """
    if year == 0:
        raise ValueError(_NO_ZERO)
    return 1950 - year


@lru_cache(maxsize=4)
def read_curve(table: CurveTable) -> Curve:
    """Read a curve table and fill in single years by straight lines.

    The table has comment lines (#), the header `cal_bp,rcybp,sigma`, and rows from cal BP 0 on in
    rising order.

    Raises:
        KeygenError: a row that cannot be read, with its line.
    """
    rows = list(_rows(table))
    if len(rows) < 2 or rows[0][0] != 0:
        raise _fault(table, 0, "the curve needs two rows or more, the first at cal BP 0")
    ages, errors = [rows[0][1]], [rows[0][2]]
    for (year, age, error), (next_year, next_age, next_error) in pairwise(rows):
        span = next_year - year
        for step in range(1, span + 1):
            ages.append(age + (next_age - age) * step / span)
            errors.append(error + (next_error - error) * step / span)
    falling = tuple(accumulate(reversed(ages), min))[::-1]
    return Curve(tuple(ages), tuple(errors), tuple(accumulate(ages, max)), falling)


def curve_of(rules: Rules) -> Curve:
    """Return the calibration curve of these rules; it is read at the first call only.

    Raises:
        KeygenError: the rules have no curve, or one that cannot be read.
    """
    if rules.curve is None:
        raise KeygenError("these rules have no calibration curve")
    return read_curve(rules.curve)


def _rows(table: CurveTable) -> Iterator[tuple[int, float, float]]:
    last, header = -1, False
    for number, line in enumerate(table.text.splitlines(), 1):
        if not line.strip() or line.startswith("#"):
            continue
        if not header:
            if line.strip() != "cal_bp,rcybp,sigma":
                raise _fault(table, number, f"the header is {line.strip()!r}")
            header = True
            continue
        try:
            year, age, error = line.split(",")
            row = int(year), float(age), float(error)
        except ValueError:
            raise _fault(table, number, f"not three numbers: {line.strip()!r}") from None
        if row[0] <= last or row[2] <= 0:
            raise _fault(table, number, "years have to rise and errors to be above 0")
        if not all(abs(figure) <= LAST_YEAR for figure in row):
            raise _fault(table, number, f"a figure is beyond {LAST_YEAR:,}, where no curve goes")
        last = row[0]
        yield row


def _fault(table: CurveTable, line: int, what: str) -> KeygenError:
    expected = "A row is 'cal_bp,rcybp,sigma', a header of these words above."
    return KeygenError([Problem(f"rules/{table.file}", line, 0, "K211", what, expected)])


def calibrate(age: float, error: float, curve: Curve) -> Calibrated:
    """Calibrate one radiocarbon age (rcybp) with its standard error.

    The probability of each year is the normal density of the age around the curve, with the errors
    of both joined (Bronk Ramsey 2008, Archaeometry 50:249-275).

    Raises:
        ValueError: the age cannot be placed inside the curve, or the error is not above 0.
    """
    if error <= 0:
        raise ValueError(f"the error of a radiocarbon age is above 0, not {error:g}")
    if not curve.falling[0] - 3 * error <= age <= curve.rising[-1] - 3 * error:
        raise ValueError(f"{age:g} radiocarbon years BP lies beyond the curve")
    reach = _REACH * (error + curve.widest)
    first = bisect_left(curve.rising, age - reach)
    end = bisect_right(curve.falling, age + reach)
    weights = []
    for at in range(first, end):
        spread = error * error + curve.errors[at] ** 2
        weights.append(exp(-((age - curve.ages[at]) ** 2) / (2 * spread)) / sqrt(spread))
    total = sum(weights)
    return Calibrated(first, tuple(weight / total for weight in weights))


def cal_bp(dates: Dates, curve: Curve) -> CalBP:
    """Return a date range of any scale in cal BP, rounded to what it can bear.

    For comparison and plots; the source's own figures are shown first.

    Raises:
        ValueError: an end lies beyond the curve, or in a year 0.
    """
    plain = _reading(dates.start, dates.end, dates.scale, curve)
    if dates.sure:
        return plain
    other = _reading(dates.start, dates.end, _OTHER[dates.scale], curve)
    return CalBP(max(plain.start, other.start), min(plain.end, other.end), "either")


def _reading(start: int, end: int, scale: Scale, curve: Curve) -> CalBP:
    if scale == "cal BP":
        return CalBP(start, end, "printed")
    if scale == "BC/AD":
        return CalBP(_calendar(start), _calendar(end), "calendar")
    if scale == "bc/ad":
        start, end = rcybp_of_year(start), rcybp_of_year(end)
    ends = _calibrated(start, curve), _calibrated(end, curve)
    return CalBP(max(ends), min(ends), "calibrated")  # the curve wiggles in the last centuries


def _calendar(year: int) -> int:
    exact = cal_bp_of_year(year)
    return exact if year % CALENDAR_GRAIN else _rounded(exact, CALENDAR_GRAIN)


@lru_cache(maxsize=4096)
def _calibrated(age: int, curve: Curve) -> int:
    return _rounded(calibrate(age, NOMINAL_ERROR, curve).median, CALIBRATED_GRAIN)


def _rounded(years: int, grain: int) -> int:
    return (years + grain // 2) // grain * grain
