"""Dates as tables write them, to the one form that records keep: 2026-05-02, 2026-05 or 2026."""

from __future__ import annotations

import re

from keygen.specimens.provenience import check_date

_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_YEAR_FIRST = re.compile(r"(\d{4})[-/.](\d{1,2})(?:[-/.](\d{1,2}))?(?:[T ]00:00(?::00)?)?")
_FIGURES = re.compile(r"(\d{1,2})[-/.](\d{1,2})[-/.](\d{4})")
_DAY_NAMED = re.compile(r"(?:(\d{1,2})(?:st|nd|rd|th)?[\s-]+)?([A-Za-z]{3,9})\.?,?[\s-]+(\d{4})")
_NAMED_DAY = re.compile(r"([A-Za-z]{3,9})\.?\s+(\d{1,2})(?:st|nd|rd|th)?,?\s+(\d{4})")


def iso_date(text: str, order: str = "") -> str:
    """Return a date as records keep it.

    Args:
        text: `2026-05-02`, `2026/5/2`, `2 May 2026`, `May 2, 2026`, `May 2026`, `13.5.2026`.
        order: what comes first in `5/2/2026`: `day` or `month`; refused if it is not said and
            either could.

    Raises:
        ValueError: it is no date, or could be two.
    """
    if match := _YEAR_FIRST.fullmatch(text):
        return _checked(match[1], match[2], match[3])
    if match := _FIGURES.fullmatch(text):
        first, second, year = match.groups()
        if not order and int(first) <= 12 and int(second) <= 12 and first != second:
            raise ValueError(f"{text!r} can be two dates")
        day_first = order == "day" or (order != "month" and int(first) > 12)
        day, month = (first, second) if day_first else (second, first)
        return _checked(year, month, day)
    if match := _DAY_NAMED.fullmatch(text):
        return _checked(match[3], _month(match[2], text), match[1])
    if match := _NAMED_DAY.fullmatch(text):
        return _checked(match[3], _month(match[1], text), match[2])
    return check_date(text)


def _month(name: str, text: str) -> str:
    """Return the number of a month by its name or the beginning of it."""
    if name[:3].lower() not in _MONTHS:
        raise ValueError(f"{text!r} is not a date; write it as in 2026-05-02")
    return str(_MONTHS.index(name[:3].lower()) + 1)


def _checked(year: str, month: str, day: str | None) -> str:
    parts = [year, month.zfill(2), *([day.zfill(2)] if day else [])]
    return check_date("-".join(parts))
