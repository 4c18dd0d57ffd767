"""Pictures of leads, for the page and for the terminal, and rows of outlines."""

from __future__ import annotations

from xml.etree import ElementTree

import pytest

from keygen.core.model import Rules
from keygen.pictures import terminal
from keygen.pictures.blocks import blocks, side_by_side
from keygen.pictures.keyregion import region_book
from keygen.pictures.leads import lead_drawing, lead_pictures, why_not
from keygen.pictures.outline import drawing
from keygen.pictures.scale import row
from keygen.pictures.svg import body


def test_every_couplet_has_pictures_or_a_reason(rules: Rules) -> None:
    """Each couplet has a picture for both leads, or the reason why it has none."""
    made = lead_pictures(rules)
    assert set(made.without) == {"samples_wanted", "touched_already"}
    assert all(made.without.values())
    for couplet in rules.couplets.values():
        if couplet.id not in made.without:
            assert {(couplet.id, "a"), (couplet.id, "b")} <= set(made.leads)


def test_leads_look_different(rules: Rules) -> None:
    """The two leads of a couplet never have the same picture, in SVG or in the terminal."""
    for couplet in rules.couplets.values():
        if why_not(rules, couplet):
            continue
        first, second = (lead_drawing(rules, couplet, lead) for lead in couplet.leads)
        assert body(first) != body(second), couplet.id
        assert blocks(first, 16, 10) != blocks(second, 16, 10), couplet.id


def test_pairs_for_the_terminal(rules: Rules) -> None:
    """Both pictures stand side by side behind their letters, to one scale and on one line."""
    lines = terminal.pair(rules, rules.couplets["stem_parallel"]).splitlines()
    assert len(lines) == terminal.ROWS
    assert max(map(len, lines)) <= terminal.WIDTH
    second = 5 + 3 + terminal.COLUMNS + 3
    assert (lines[0][5], lines[0][second]) == ("a", "b")
    assert all(line[:5].isspace() for line in lines)
    halves = [(line[8:second].strip(), line[second + 3 :].strip()) for line in lines]
    assert all(a and b for a, b in halves)
    assert terminal.pair(rules, rules.couplets["samples_wanted"]) == ""


def test_pairs_are_to_one_scale(rules: Rules) -> None:
    """In a terminal a small point is shown smaller than the one it is held against."""
    couplet = rules.couplets[rules.by_number[115].id]
    first, second = terminal.alike(*(lead_drawing(rules, couplet, x) for x in couplet.leads))
    wide, high = (first.box[2] - first.box[0], first.box[3] - first.box[1])
    assert (second.box[2] - second.box[0], second.box[3] - second.box[1]) == pytest.approx(
        (wide, high)
    )


@pytest.mark.parametrize("region", ["ozarks", "florida"])
def test_leads_of_a_regional_key_have_pictures(rules: Rules, region: str) -> None:
    """Every lead of a regional key is drawn like those of the main key, and no two alike."""
    for printed in region_book(rules, region).couplets:
        couplet = printed.couplet
        assert why_not(rules, couplet) == ""
        first, second = (lead_drawing(rules, couplet, lead) for lead in couplet.leads)
        assert body(first) != body(second), printed.number
        assert first.title.startswith(f"R{printed.number}a: ")


def test_a_regional_lead_is_shown_on_a_haft_that_arrives(rules: Rules) -> None:
    """Where only stemmed and notched points can arrive, a base is not shown on a lanceolate one."""
    printed = next(
        c
        for c in region_book(rules, "ozarks").couplets
        if c.hafts
        and not c.hafts[rules.index["haft_style"]] & rules.mask("haft_style", "lanceolate")
        if rules.attributes[c.attribute].id == "base_shape"
    )
    drawn = lead_drawing(rules, printed.couplet, printed.couplet.leads[0])
    parts = {s.part for stroke in drawn.strokes for path in stroke.paths for s in path}
    assert {"shoulder", "base"} <= parts


def test_lead_pictures_are_small(rules: Rules) -> None:
    """Pictures of leads are well-formed, titled with number and lead, and under 2 kB each."""
    for (name, letter), svg in lead_pictures(rules, "48px").leads.items():
        root = ElementTree.fromstring(svg)
        assert (root[0].text or "").startswith(f"{rules.couplets[name].number}{letter}: ")
        assert 'height="48px"' in svg
        assert len(svg) < 2000, name


def test_what_a_lead_is_about_is_heavy(rules: Rules) -> None:
    """At the couplet on barbs the shoulders are heavy and the rest is thin."""
    couplet = rules.couplets["barbed"]
    made = lead_drawing(rules, couplet, couplet.leads[0])
    parts = {
        stroke.style: {segment.part for path in stroke.paths for segment in path}
        for stroke in made.strokes
    }
    assert parts["heavy"] == {"shoulder"}
    assert {"blade", "haft", "base"} <= parts["thin"]


@pytest.mark.parametrize(("columns", "rows"), [(12, 8), (16, 10), (3, 2)])
def test_blocks_fill_their_room(rules: Rules, columns: int, rows: int) -> None:
    """A picture for the terminal has the size asked for and touches its upper or side edges."""
    made = blocks(drawing(rules, rules.types["levanna"], bar=False), columns, rows)
    assert [len(text) for text in made] == [columns] * rows
    assert all(0x2800 <= ord(c) <= 0x28FF for text in made for c in text)
    inked = [[c != "\u2800" for c in text] for text in made]
    whole_height = any(inked[0]) and any(inked[-1])
    whole_width = any(r[0] for r in inked) and any(r[-1] for r in inked)
    assert whole_height or whole_width


def test_side_by_side() -> None:
    """Two pictures of unequal height stand side by side, the shorter one filled up."""
    assert side_by_side(("ab", "cd"), ("x",), 1) == ("ab x", "cd")


def test_row_has_one_scale(rules: Rules) -> None:
    """In a row all outlines have one weight of line, one bar, and stand on one line."""
    names = ["clovis", "madison", "hardaway_dalton"]
    items = [drawing(rules, rules.types[name], bar=False) for name in names]
    svg = row(items)
    root = ElementTree.fromstring(svg)
    assert svg.count(" cm</text>") == 1
    assert "Hardaway-Dalton (size assumed)</text>" in svg
    box = [float(value) for value in root.attrib["viewBox"].split()]
    assert box[3] > max(item.box[3] - item.box[1] for item in items)
    assert box[2] > sum(item.box[2] - item.box[0] for item in items)


def test_empty_row_is_refused() -> None:
    """A row of nothing is refused."""
    with pytest.raises(ValueError, match="no drawings"):
        row([])
