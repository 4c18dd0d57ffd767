"""The page of one type, and of two side by side."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import pairwise

from keygen.core.model import Rules
from keygen.pictures.atlas import end_of_axis
from keygen.pictures.atlasentry import bar_of
from keygen.pictures.typehtml import pair_html, pair_svg, type_html, type_svg
from keygen.rulebase.load import shipped
from tests.pictures.atlases import bar, body, ends, of_class, rows, text

RULES = shipped()
EVIL = "<script>alert('x')</script>\"&amp;"


def test_every_region_has_its_range_oldest_first() -> None:
    """The page has a row for each region, with the bar where the record's dates are."""
    kind = RULES.types["gary"]
    oldest = end_of_axis(bar_of(RULES, record) for record in kind.records)
    shown = rows(body(type_html(RULES, kind)))
    drawn = [bar(row, oldest)[:2] for row in shown]
    assert len(drawn) == len(kind.records)
    assert all(one[0] >= other[0] for one, other in pairwise(drawn))
    found = sorted((round(start, -1), round(end, -1)) for start, end in drawn)
    wanted = (ends(RULES, record) for record in kind.records)
    assert found == sorted((round(start, -1), round(end, -1)) for start, end in wanted)


def test_one_region_alone() -> None:
    """With a region only its range and grounds are shown."""
    page = body(type_html(RULES, RULES.types["gary"], "ozarks"))
    assert [text(of_class(row, "span", "name")[0]) for row in rows(page)] == [
        RULES.regions["ozarks"].label
    ]
    assert len(list(of_class(page, "ul", "grounds")[0])) == 1


def test_the_page_holds_definition_look_alikes_and_outline() -> None:
    """Outline, definition, measurements, look-alikes with tells, and the caution are there."""
    kind = RULES.types["gary"]
    page = type_html(RULES, kind)
    words = text(body(page))
    for other in kind.look_alikes:
        assert f"{RULES.types[other.type].name} {other.tell}"[:60] in words
    assert "The stem is contracting." in words
    assert "Length 28-100 mm, width 15-45 mm" in words
    assert "A type is an analyst's construct" in words
    assert page.count('role="img"') == 1
    assert not re.search(r"https?:(?!//www.w3.org/2000/svg)|<script", page)


def test_two_types_stand_side_by_side_at_one_scale() -> None:
    """The picture holds both outlines and one bar; the text says what parts them."""
    one, other = RULES.types["gary"], RULES.types["langtry"]
    page = pair_html(RULES, one, other)
    assert pair_svg(RULES, one, other) in page
    assert pair_svg(RULES, one, other).count("<title>") == 3
    assert "No observation parts them on every piece" in text(body(page))


def test_names_are_escaped(small_rules: Rules) -> None:
    """What looks like markup in names and notes is shown as text on both pages."""
    kinds = {
        name: replace(kind, name=f"{kind.name}{EVIL}", note=EVIL, also=(EVIL,))
        for name, kind in small_rules.types.items()
    }
    evil = replace(small_rules, types=kinds)
    one, other = kinds["alder"], kinds["birch"]
    for page in (type_html(evil, one), pair_html(evil, one, other)):
        assert "<script" not in page
        assert EVIL in text(body(page))


def test_an_outline_alone_says_what_it_is() -> None:
    """The SVG bears its caption, and true size in millimetres."""
    found = type_svg(RULES, RULES.types["gary"])
    assert found.startswith("<svg ")
    assert "schematic from coded attributes" in found
    assert re.search(r'width="[\d.]+mm"', found)
