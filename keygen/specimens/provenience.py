"""Where and when: the conventions of site numbers, colours, dates and exact places.

Every check here warns and none refuses: a site number that follows no convention is still the one
on the bag. Only a date has to be one. An exact place is told apart from the rest, so that it is
kept in the record and never printed.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterator, Mapping
from typing import NamedTuple

from keygen.specimens.places import holds_place

CONTEXT = ("site", "unit", "level", "feature", "provenience")

# The 48 states in the alphabetical order that numbered them, then the two that came later.
_STATES = (
    "Alabama, Arizona, Arkansas, California, Colorado, Connecticut, Delaware, Florida, Georgia, "
    "Idaho, Illinois, Indiana, Iowa, Kansas, Kentucky, Louisiana, Maine, Maryland, Massachusetts, "
    "Michigan, Minnesota, Mississippi, Missouri, Montana, Nebraska, Nevada, New Hampshire, "
    "New Jersey, New Mexico, New York, North Carolina, North Dakota, Ohio, Oklahoma, Oregon, "
    "Pennsylvania, Rhode Island, South Carolina, South Dakota, Tennessee, Texas, Utah, Vermont, "
    "Virginia, Washington, West Virginia, Wisconsin, Wyoming, Alaska, Hawaii"
)
STATES = tuple(_STATES.split(", "))
# States that write letters in place of their number, each with numbers of a form of its own.
LETTERED = {
    "AZ": "Arizona",
    "CA": "California",
    "CT": "Connecticut",
    "ME": "Maine",
    "RI": "Rhode Island",
    "VT": "Vermont",
}
_LETTERED = re.compile(rf"({'|'.join(LETTERED)})[- ]?(\D*?[- ]?)(\d.*)")
_NUMBERED = re.compile(r"(\d{1,2})[- ]?([A-Za-z]{1,3})[- ]?(\d+[A-Za-z]?)")
_DELAWARE = re.compile(r"(7)[- ]?([A-Za-z])[- ]?([A-Ka-k])[- ]?(\d+)")
_HAWAII = re.compile(r"(50)-(\w+)-(\w+)-(\d+)")
# Digits and then up to three letters that end a word or stand before a number: meant as one.
_MEANT = re.compile(r"(\d{1,3})[- ]?[A-Za-z]{1,3}(?![A-Za-z])")

_MUNSELL = re.compile(
    r"(?:(?P<step>\d{1,2}(?:\.\d+)?)\s?(?P<hue>R|YR|Y|GY|G|BG|B|PB|P|RP)|N)\s?"
    r"(?P<value>\d{1,2}(?:\.\d+)?)/(?P<chroma>\d{1,2}(?:\.\d+)?\+?)?(?:[ ,(].*)?",
    re.IGNORECASE,
)
_CHART_STEPS = (2.5, 5.0, 7.5, 10.0)
_USUAL_CHROMA = 8

_DATE = re.compile(r"\d{4}(-\d{2}(-\d{2})?)?")

_EXACT = re.compile(
    r"\d\s*°.*[NSEW]\b"  # degrees
    r"|-?\d{1,2}\.\d{3,}\s*[,;/ ]\s*-?\d{1,3}\.\d{3,}"  # decimal degrees
    r"|\bUTM\b|\b\d{6}\s*m?\s*E\b|\b\d{7}\s*m?\s*N\b|\b[EN]\s*\d{6,7}\b"  # a national grid
    r"|\bT\.?\s*\d{1,3}\s*[NS]\b.*\bR\.?\s*\d{1,3}\s*[EW]\b",  # township and range
    re.IGNORECASE,
)


class Trinomial(NamedTuple):
    """A site number in its parts; `county` is a map part in some states, and empty in others."""

    state: str
    county: str
    number: str


class Remark(NamedTuple):
    """What is to be said of one field of a record: kept as written, and doubted."""

    field: str
    text: str


def trinomial(text: str) -> Trinomial | None:
    """Read a site number; None if it is not one of the forms in use.

    State number (Alaska 49, Hawaii 50), county letters and number, written together or apart:
    `41CV0235`, `8Lv42`, `41-CV-235`, `49-XBM-012`; with letters for the state, `CA-SBA-1951`; and
    the forms of their own of Delaware and Hawaii. The scheme is the Smithsonian's, which no longer
    keeps it: states assign the numbers.
    """
    text = text.strip()
    if found := _LETTERED.fullmatch(text.upper()):
        return Trinomial(LETTERED[found[1]], found[2].strip("- :"), found[3])
    if found := _DELAWARE.fullmatch(text):
        return Trinomial("Delaware", f"{found[2]}-{found[3]}", found[4])
    if found := _HAWAII.fullmatch(text):
        return Trinomial("Hawaii", f"{found[2]}-{found[3]}", found[4])
    found = _NUMBERED.fullmatch(text)
    if not found or not 1 <= int(found[1]) <= len(STATES):
        return None
    return Trinomial(STATES[int(found[1]) - 1], found[2], found[3])


def same_site(text: str) -> tuple[str, ...]:
    """Return what all spellings of a site number have in common; nothing if it is none.

    `40CK103`, `40Ck103` and `40-CK-0103` are one site.
    """
    found = trinomial(text)
    return tuple(part.casefold().lstrip("0") for part in found) if found else ()


def site_remark(text: str) -> str:
    """Return what is doubtful about a site number, or nothing; a name of a site is none."""
    meant = _MEANT.match(text.strip())
    if not meant or trinomial(text):
        return ""
    if not 1 <= int(meant[1]) <= len(STATES):
        return f"{text!r}: no state has the number {meant[1]}; kept as written"
    return f"{text!r} is not a site number such as 41CV235; kept as written"


def colour_remark(text: str) -> str:
    """Return what is doubtful about a Munsell notation, or nothing; a plain word is none."""
    if not any(sign.isdigit() for sign in text):
        return ""
    found = _MUNSELL.fullmatch(text.strip())
    if not found:
        return f"{text!r} is not a Munsell notation such as 10YR 5/3; kept as written"
    value, chroma, step = found["value"], found["chroma"], found["step"]
    if (step is None) != (chroma is None):
        form = "N 2.5/" if step is None else "10YR 5/3"
        return f"{text!r}: hue, value and chroma are written as in {form}; kept as written"
    if float(value) > 10:
        return f"{text!r}: a Munsell value runs from 0 to 10; kept as written"
    if step is not None and float(step) not in _CHART_STEPS:
        return f"{text!r}: the hues of the charts step by 2.5; kept as written"
    if chroma and ("." in chroma or "+" in chroma):
        return f"{text!r} was read between two chips"
    if chroma and float(chroma) > _USUAL_CHROMA:
        return f"{text!r}: soil charts end at a chroma of {_USUAL_CHROMA}; kept as written"
    return ""


def check_date(text: str) -> str:
    """Return a date as `2026-05-02`, `2026-05` or `2026` (ISO 8601), if it is one.

    Raises:
        ValueError: it is not.
    """
    if not _DATE.fullmatch(text):
        raise ValueError(f"{text!r} is not a date; write it as in 2026-05-02")
    try:
        datetime.date.fromisoformat((text + "-01-01")[:10])
    except ValueError:
        raise ValueError(f"{text!r} is not a day of the calendar") from None
    return text


def is_exact(text: str) -> bool:
    """Tell whether a text holds coordinates or a legal description of a place.

    Grid squares of an excavation (N102 E98) are none.
    """
    return _EXACT.search(text) is not None or holds_place(text)


def set_apart(details: Mapping[str, str], location: str = "") -> tuple[dict[str, str], str]:
    """Return the details of a record without exact places, and the location with them.

    Site locations are confidential (ARPA, 16 U.S.C. 470hh; NHPA, 54 U.S.C. 307103): what stands in
    another field than `location` would be printed.
    """
    exact = [name for name in CONTEXT if is_exact(details.get(name, ""))]
    kept = {name: text for name, text in details.items() if name not in exact}
    return kept, "; ".join(text for text in (location, *(details[n] for n in exact)) if text)


def remarks(details: Mapping[str, str]) -> tuple[Remark, ...]:
    """Return what is doubtful about where a piece comes from, its colour and its date.

    Args:
        details: the fields of a record by name (`site`, `colour`, `date`, `notes` and the others).
    """
    return tuple(_remarks(details))


def _remarks(details: Mapping[str, str]) -> Iterator[Remark]:
    site = details.get("site", "")
    if not is_exact(site) and (told := site_remark(site)):
        yield Remark("site", told)
    if told := colour_remark(details.get("colour", "")):
        yield Remark("colour", told)
    if date := details.get("date", ""):
        try:
            check_date(date)
        except ValueError as error:
            yield Remark("date", str(error))
    for name in CONTEXT:
        if is_exact(details.get(name, "")):
            yield Remark(name, "holds an exact place: taken as the location, which is not printed")
    if is_exact(details.get("notes", "")):
        yield Remark("notes", "seem to hold an exact place: move it to the location")
