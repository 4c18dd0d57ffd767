"""Facts about exact places, and about how remarks reach whoever reads or writes a record."""

from __future__ import annotations

from pathlib import Path

import pytest

from keygen.core.model import Rules
from keygen.core.walk import start
from keygen.prose.account import account
from keygen.prose.describe import describe
from keygen.specimens import record
from keygen.specimens.details import Where, accept, specimen
from keygen.specimens.provenience import is_exact, remarks, same_site, set_apart
from keygen.specimens.terms import Lexicon

TEXT = """\
keygen_record: 1
specimen: T-9
region: hills
observed: {haft_style: stemmed, stem_shape: contracting}
colour: "10YR 5"
context: {site: 51AB1, provenience: "UTM 15S 532110E 4234567N", unit: "N102 E98"}
"""


@pytest.mark.parametrize(
    "text",
    [
        "34.56789, -92.12345",
        "34\u00b0 15' 20\" N",
        "UTM 15S 532110E 4234567N",
        "E 532110",
        "T5N R3W, section 12",
    ],
)
def test_exact_places(text: str) -> None:
    """Coordinates on any grid and legal descriptions are exact places."""
    assert is_exact(text)


@pytest.mark.parametrize("text", ["N102 E98", "Trench 3, level 2", "surface, 20 m west", "3.45 cm"])
def test_no_exact_places(text: str) -> None:
    """A square of the excavation's own grid, a level or a distance gives no place away."""
    assert not is_exact(text)


def test_exact_places_are_set_apart() -> None:
    """What gives the place away joins the location; the other fields stay."""
    details = {"site": "41CV235", "unit": "T5N R3W", "level": "2"}
    assert set_apart(details, "farm gate") == (
        {"site": "41CV235", "level": "2"},
        "farm gate; T5N R3W",
    )
    assert set_apart({"unit": "3"}) == ({"unit": "3"}, "")


def test_remarks_name_their_field() -> None:
    """Each doubt is told of the field that it is about, in the order of a record."""
    told = remarks({"site": "0AB1", "colour": "3YR 5/3", "date": "May", "notes": "at T5N R3W"})
    assert [remark.field for remark in told] == ["site", "colour", "date", "notes"]


def test_record_is_read_with_remarks(small_rules: Rules) -> None:
    """A record is read whatever its site number is; the doubts come with it."""
    found = record.read_text(Lexicon(small_rules), TEXT, "T-9.yaml")
    told = " | ".join(found.remarks)
    assert "site: '51AB1': no state has the number 51" in told
    assert "colour: '10YR 5' is not a Munsell notation" in told
    assert "provenience: holds an exact place" in told
    assert found.piece.details["site"] == "51AB1"


def test_exact_place_is_never_printed(small_rules: Rules, tmp_path: Path) -> None:
    """Coordinates written into the wrong field stay in the file and out of every text."""
    found = record.read_text(Lexicon(small_rules), TEXT, "T-9.yaml")
    assert found.location == "UTM 15S 532110E 4234567N"
    made = record.examined(small_rules, found.piece, found.region)
    texts = [describe(small_rules, made, register) for register in ("note", "report", "catalogue")]
    assert not any("532110" in text for text in (*texts, account(small_rules, made)))
    written = tmp_path / "T-9.yaml"
    record.save(small_rules, found, written)
    again = record.load(Lexicon(small_rules), written)
    assert again.location == found.location
    assert not any("exact place" in remark for remark in again.remarks)


def test_walk_remarks_and_sets_apart(small_rules: Rules) -> None:
    """In a walk a doubtful answer is kept with a remark; an exact place becomes the location."""
    where = Where(small_rules, "hills", "T-9", start(small_rules), "2026-05-02")
    kept, told = accept(where, "site", "51AB1")
    assert kept == "51AB1"
    assert "no state has the number 51" in told
    assert accept(where, "site", "41CV235") == ("41CV235", "")
    assert accept(where, "date", "") == ("2026-05-02", "")
    made = specimen(where, {"site": "41CV235", "provenience": "T5N R3W"})
    assert (made.location, dict(made.piece.details)) == ("T5N R3W", {"site": "41CV235"})


def test_a_site_number_has_several_spellings() -> None:
    """Case of the county, hyphens and leading zeros do not make another site; a name is none."""
    spellings = ("40CK103", "40Ck103", "40-CK-103", "40 ck 0103")
    assert len({same_site(text) for text in spellings}) == 1
    assert same_site("40CK103") != same_site("40CK1030")
    assert same_site("40CK103") != same_site("41CK103")
    assert same_site("Old Mill") == ()
