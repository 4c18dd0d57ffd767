"""Dates in the scale of their source, and short references."""

from __future__ import annotations

import pytest

from keygen.core.model import Dates, Record, Source
from keygen.prose import ages
from keygen.prose.grammar import fragment
from keygen.prose.render import render
from tests.prose.pieces import rules


@pytest.mark.parametrize(
    ("dates", "text"),
    [
        (Dates(-5500, -5000, "bc/ad"), "5500-5000 BC (uncalibrated)"),
        (Dates(-5500, -5000, "BC/AD"), "5500-5000 BC"),
        (Dates(-1000, 500, "BC/AD"), "1000 BC-AD 500"),
        (Dates(100, 500, "BC/AD"), "AD 100-500"),
        (Dates(100, 500, "bc/ad", sure=False), "AD 100-500 (scale of the source not certain)"),
        (Dates(13050, 12750, "cal BP"), "13,050-12,750 cal BP"),
        (Dates(9500, 8800, "rcybp"), "9500-8800 radiocarbon years BP"),
        (Dates(1500, 1500, "BC/AD"), "AD 1500"),
    ],
)
def test_dated(dates: Dates, text: str) -> None:
    """A date range is written in the scale of its source."""
    assert ages.dated(dates) == text


@pytest.mark.parametrize(
    ("key", "cite", "year", "text"),
    [
        ("coe1964", "Coe, Joffre L. 1964. The Formative Cultures.", 1964, "Coe 1964"),
        (
            "cambron_hulse1975",
            "Cambron, James W., and David C. Hulse. 1975. Handbook.",
            1975,
            "Cambron and Hulse 1975",
        ),
        (
            "dejarnette_etal1962",
            "DeJarnette, David L., Edward B. Kurjack, and James W. Cambron. 1962. Bluff Shelter.",
            1962,
            "DeJarnette et al. 1962",
        ),
        ("daniel1998", "Daniel, I. Randolph, Jr. 1998. Revisited.", 1998, "Daniel 1998"),
        (
            "crook_harris1952",
            "Crook, W. W., Jr., and R. K. Harris. 1952. Trinity Aspect.",
            1952,
            "Crook and Harris 1952",
        ),
        (
            "suhm_jelks1962",
            "Suhm, Dee Ann, and Edward B. Jelks, eds. 1962. Handbook.",
            1962,
            "Suhm and Jelks 1962",
        ),
        (
            "frison_stanford1982",
            "Frison, G. C., and D. J. Stanford (editors). 1982. Agate Basin.",
            1982,
            "Frison and Stanford 1982",
        ),
        (
            "lepper_etal2014",
            "Lepper, B. T., K. L. Leone, and others. 2014. Dates.",
            2014,
            "Lepper et al. 2014",
        ),
        ("chapman1975b", "Chapman, Jefferson. 1975. Rose Island.", 1975, "Chapman 1975b"),
        (
            "smp2016",
            "State Museum of Pennsylvania, Section of Archaeology. 2016. July.",
            2016,
            "State Museum of Pennsylvania 2016",
        ),
        (
            "unc_rla2010",
            "Research Laboratories of Archaeology. 2010. Archaeology.",
            2010,
            "Research Laboratories of Archaeology 2010",
        ),
    ],
)
def test_short_citation(key: str, cite: str, year: int, text: str) -> None:
    """A short reference has the surnames and the year of the cited work."""
    assert ages.short_citation(Source(key, cite, year)) == text


def test_citations_beyond_the_most() -> None:
    """Sources past the limit are counted."""
    keys = ("able1964", "baker_cole1975", "dunn_etal2009")
    assert ages.citations(rules(), keys, 2) == "Able 1964, Baker and Cole 1975 and one more"


def test_age_with_its_remarks() -> None:
    """An age names scale, kind, sources and basis; what is said elsewhere is left out."""
    record = Record(
        "east", "Woodland", Dates(100, 500, "bc/ad"), ("able1964",), "memory", period_range=True
    )
    assert ages.age(rules(), record) == (
        "AD 100-500 (uncalibrated; the range of the period, not a direct date; Able 1964, from "
        "memory, to be verified)"
    )
    unsaid = ["uncalibrated", "from memory, to be verified"]
    assert ages.age(rules(), record, unsaid=unsaid) == (
        "AD 100-500 (the range of the period, not a direct date; Able 1964)"
    )


def test_full_citation() -> None:
    """A full reference has the letter that short citations tell works of one year by."""
    works = (Source(f"chapman1975{x}", "Chapman, C. 1975. Book of 1975.", 1975) for x in ("", "b"))
    assert [ages.full_citation(work) for work in works] == [
        "Chapman, C. 1975. Book of 1975.",
        "Chapman, C. 1975b. Book of 1975.",
    ]


MEMORY = "from memory, to be verified"


@pytest.mark.parametrize(
    ("shared", "text"),
    [
        (["uncalibrated"], "Both ages are uncalibrated"),
        ([ages.UNCERTAIN], "Both ages are on a scale that the sources leave uncertain"),
        ([ages.PERIOD], "Both ages are ranges of the period rather than direct dates"),
        ([MEMORY], "Both ages are cited from memory and still to be verified"),
        (["common practice"], "Both ages are common practice in the trade"),
        (
            ["uncalibrated", ages.PERIOD],
            "Both ages are uncalibrated ranges of the period rather than direct dates",
        ),
        (
            ["uncalibrated", MEMORY],
            "Both ages are uncalibrated; they are cited from memory and still to be verified",
        ),
        (
            [ages.UNCERTAIN, MEMORY],
            (
                "Both ages are on a scale that the sources leave uncertain; they are cited from "
                "memory and still to be verified"
            ),
        ),
        (
            [ages.UNCERTAIN, ages.PERIOD, MEMORY],
            (
                "Both ages are ranges of the period rather than direct dates, on a scale that the "
                "sources leave uncertain; they are cited from memory and still to be verified"
            ),
        ),
        (
            [ages.PERIOD, "common practice"],
            (
                "Both ages are ranges of the period rather than direct dates; they are common "
                "practice in the trade"
            ),
        ),
    ],
)
def test_what_is_said_of_all_ages(shared: list[str], text: str) -> None:
    """Whatever holds of several ages is one sentence."""
    group = {"names": ["A"], "period": "P", "when": "in P", "age": "1 BC", "brief": "1 BC"}
    values = {
        "single": False,
        "groups": [group, {**group, "names": ["B"]}],
        "shared": ages.said_of_all(shared),
    }
    assert fragment(render("report/age.j2", values)).endswith(f"1 BC. {text}")
    note = fragment(render("note/age.j2", values))
    assert note.startswith("A: P, 1 BC; B: P, 1 BC. Both ")
    assert note.count(",") == 1 + len(shared) + (MEMORY in shared)


def test_nothing_said_of_all_ages() -> None:
    """Without a remark in common nothing is said of the ages together."""
    assert ages.said_of_all([]) == {}


def test_in_period() -> None:
    """A period is placed with its article, and named a period where its name is not a noun."""
    assert ages.in_period("Late Archaic") == "in the Late Archaic"
    assert ages.in_period("end of the Early Archaic") == "at the end of the Early Archaic"
    assert ages.in_period("Early Paleoindian") == "in the Early Paleoindian period"
    assert ages.in_period("Troyville-Coles Creek") == "in the Troyville-Coles Creek period"
    assert ages.in_period("Contact (missions)") == "in the Contact period (missions)"


def test_unbracketed() -> None:
    """A bracket at the end of a text becomes a comma."""
    assert ages.unbracketed("Middle (fluted) Paleoindian") == "Middle (fluted) Paleoindian"
    assert ages.unbracketed("Woodland (late part)") == "Woodland, late part"
