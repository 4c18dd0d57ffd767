"""A type to read."""

from __future__ import annotations

import pytest

from keygen.core.model import Rules
from keygen.prose.ages import figures
from keygen.prose.typepage import WIDTH, definition, in_cal_bp, page, row, short_cal_bp, usual


def test_a_definition_reads_as_prose(rules: Rules) -> None:
    """A definition is worded by the templates that describe a piece."""
    text = definition(rules, rules.types["morrow_mountain_ii"])
    assert text.startswith("A medium-sized to large stemmed point. ")
    assert "contracting stem" in text
    assert "narrower than the shoulders" in text


def test_what_defines_by_its_absence_is_said(rules: Rules) -> None:
    """A definition says that there is no flute, which goes without saying of a piece."""
    assert "no " in definition(rules, rules.types["yadkin_large_triangular"])
    assert "fluting" in definition(rules, rules.types["yadkin_large_triangular"])


def test_every_criterion_is_told(rules: Rules) -> None:
    """No sentence of a definition is empty, and none names a specimen or leaves a template open."""
    for kind in rules.types.values():
        for text in (definition(rules, kind), usual(rules, kind)):
            assert "specimen" not in text, kind.id
            assert "  " not in text, kind.id
            assert not text or text.endswith("."), kind.id
        assert definition(rules, kind), kind.id


def test_what_is_usual_does_not_repeat_the_definition(rules: Rules) -> None:
    """Usual traits leave out what the definition says already."""
    kind = rules.types["clovis"]
    told = usual(rules, kind)
    assert "ground on the lateral margins" in told
    assert "lanceolate" not in told


def test_a_page_has_every_part(rules: Rules) -> None:
    """A page names ages on all scales, look-alikes, sources with their basis, and a caution."""
    kind = rules.types["morrow_mountain_ii"]
    text = page(rules, kind)
    for record in kind.records:
        assert f"\n{record.region} " in text
        assert figures(record.dates).split()[0] in text
    for alike in kind.look_alikes:
        assert f"({alike.type}):" in text
    for title in ("Definition", "Usually", "Measurements", "Regions", "Look-alikes", "Caution"):
        assert f"\n{title}\n" in text
    for part in (
        "older id morrow_mountain",
        "from memory, to be verified",
        "Called Gary (gary) there",
        "the range of the period, not a direct date",
        "A type is an analyst's construct",
    ):
        assert part in " ".join(text.split())


def test_a_page_fits_the_screen(rules: Rules) -> None:
    """No line of any page is wider than the page."""
    for kind in rules.types.values():
        for line in page(rules, kind).splitlines()[1:]:
            assert len(line) <= WIDTH, (kind.id, line)


def test_a_region_shows_its_own_record_only(rules: Rules) -> None:
    """With a region only the record of that region is on the page."""
    text = page(rules, rules.types["clovis"], "great_lakes")
    assert "great_lakes" in text
    assert "tennessee_valley" not in text


@pytest.mark.parametrize(
    ("kind", "region", "shown"),
    [
        ("cedar", "hills", "~"),  # radiocarbon years
        ("birch", "hills", "4000-3000"),  # printed so
        ("dogwood", "coast", "2950-2250"),  # calendar years, no year zero
        ("alder", "hills", "?"),  # nobody can tell
    ],
)
def test_cal_bp_shows_how_it_came_about(
    small_rules: Rules, kind: str, region: str, shown: str
) -> None:
    """A calibrated range is marked, one of two readings too; what was printed is as it was."""
    record = small_rules.types[kind].record(region)
    assert record is not None
    assert short_cal_bp(in_cal_bp(small_rules, record.dates)).startswith(shown)


def test_cells_are_broken_at_their_widths() -> None:
    """A cell too long for its column runs on in the next line of the row."""
    assert row(("one", "two and three"), (4, 7)) == "one   two and\n      three"
