"""Site numbers, colours and dates held against examples that others published.

Sources: the encyclopedia article on the Smithsonian trinomial (scheme, exceptions, examples); site
numbers of published data sets (41CV0235 Fort Hood, 24BH3078, 22OK746, 42UT135, 26WP63, 15Ba4,
48TE1573); a wetland-techniques reference page for `10YR 4/2.2` and `4/2+`; the Illustrated Guide to
Soil Taxonomy for writing a notation; ISO 8601. That `N 2.5/` is a neutral colour is from memory.
"""

from __future__ import annotations

import pytest

from keygen.specimens.provenience import STATES, check_date, colour_remark, site_remark, trinomial


@pytest.mark.parametrize(
    ("number", "state"),
    [
        ("41CV0235", "Texas"),
        ("24BH3078", "Montana"),
        ("22OK746", "Mississippi"),
        ("42UT135", "Utah"),
        ("26WP63", "Nevada"),
        ("15Ba4", "Kentucky"),
        ("48TE1573", "Wyoming"),
        ("8Lv42", "Florida"),
        ("1Ma2", "Alabama"),
        ("41-CV-235", "Texas"),
        ("41 CV 235", "Texas"),
        ("49-XBM-012", "Alaska"),
        ("CA-SBA-1951", "California"),
    ],
)
def test_published_site_numbers(number: str, state: str) -> None:
    """A published site number is read, however it is spaced, and names its state."""
    found = trinomial(number)
    assert found is not None
    assert found.state == state
    assert found.number.isdigit()
    assert site_remark(number) == ""


@pytest.mark.parametrize(
    ("number", "told"),
    [
        ("51AB1", "no state has the number 51"),
        ("0AB1", "no state has the number 0"),
        ("41CV", "is not a site number"),
    ],
)
def test_no_site_numbers(number: str, told: str) -> None:
    """No such state, or no number: remarked on and kept, never refused."""
    assert trinomial(number) is None
    assert told in site_remark(number)
    assert "kept as written" in site_remark(number)


def test_states_are_numbered_in_alphabetical_order() -> None:
    """The 48 states in alphabetical order, then Alaska 49 and Hawaii 50."""
    assert list(STATES[:48]) == sorted(STATES[:48])
    assert len(set(STATES)) == 50
    assert STATES[48:] == ("Alaska", "Hawaii")
    assert (STATES[2], STATES[40]) == ("Arkansas", "Texas")


@pytest.mark.parametrize(
    ("number", "state", "county"),
    [
        ("7K-C-13", "Delaware", "K-C"),
        ("50-10-12-1234", "Hawaii", "10-12"),
        ("RI-1234", "Rhode Island", ""),
        ("CT-12", "Connecticut", ""),
        ("VT-AD-123", "Vermont", "AD"),
        ("AZ U:9:1", "Arizona", "U"),
    ],
)
def test_forms_of_single_states(number: str, state: str, county: str) -> None:
    """States with forms of their own are read: letters for the state, map parts, no county."""
    found = trinomial(number)
    assert found is not None
    assert (found.state, found.county) == (state, county)


@pytest.mark.parametrize("name", ["IF", "isolated find", "Old Mill Field", "Site 12", ""])
def test_names_are_no_broken_numbers(name: str) -> None:
    """An isolated find or the name of a field is no site number, and nothing is said of it."""
    assert site_remark(name) == ""


@pytest.mark.parametrize(
    "colour", ["10YR 5/3", "2.5Y7/2", "7.5YR 4/6", "N 2.5/", "5gy 6/1", "10YR 5/3 (moist)", "grey"]
)
def test_colours_in_use(colour: str) -> None:
    """A notation is accepted with or without its space, a neutral one without chroma."""
    assert colour_remark(colour) == ""


@pytest.mark.parametrize(
    ("colour", "told"),
    [
        ("10YR 4/2.2", "between two chips"),
        ("10YR 4/2+", "between two chips"),
        ("10YR 5", "not a Munsell notation"),
        ("3YR 5/3", "step by 2.5"),
        ("10YR 12/3", "from 0 to 10"),
        ("10YR 5/", "hue, value and chroma"),
        ("10R 4/10", "end at a chroma of 8"),
        ("5/3", "not a Munsell notation"),
    ],
)
def test_colours_remarked_on(colour: str, told: str) -> None:
    """What the charts do not have is remarked on, and still a colour that somebody read."""
    assert told in colour_remark(colour)


@pytest.mark.parametrize("date", ["2026-05-02", "2026-05", "2026", "2024-02-29"])
def test_dates(date: str) -> None:
    """A date is written year, month, day; the day or the month may be left out."""
    assert check_date(date) == date


@pytest.mark.parametrize("date", ["02.05.2026", "2026-13", "2025-02-29", "5/2/2026", "2026-5-2"])
def test_no_dates(date: str) -> None:
    """What is no day of the calendar, or is written otherwise, is no date."""
    with pytest.raises(ValueError, match=r"is not a d"):
        check_date(date)
