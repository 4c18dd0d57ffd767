"""Plots measured back from the drawing, and timelines."""

from __future__ import annotations

import xml.etree.ElementTree as ET

import pytest
from hypothesis import given
from hypothesis import strategies as st

from keygen.assemblage.ordered import spans_text
from keygen.assemblage.plots import centred_bars, timeline
from keygen.assemblage.tabulated import drawn
from keygen.assemblage.tally import Item, tally
from keygen.assemblage.timeline import Span, reach
from keygen.assemblage.timeline import timeline as spans_of
from keygen.core.call import Call
from keygen.core.chronology import cal_bp, curve_of
from keygen.core.model import Rules

SVG = "{http://www.w3.org/2000/svg}"
COUNTS = st.lists(st.lists(st.integers(0, 40), min_size=3, max_size=3), min_size=1, max_size=5)


def bars(drawing: str) -> list[tuple[float, float, float, str]]:
    """Return the left end, the width, the top and the fill of every bar."""
    return [
        (*(float(bar.get(name, "")) for name in ("x", "width", "y")), bar.get("fill", ""))  # type: ignore[misc]
        for bar in ET.fromstring(drawing).iter(f"{SVG}rect")
    ]


@given(COUNTS)
def test_bars_are_as_wide_as_shares(counts: list[list[int]]) -> None:
    """Each bar's width is the share that it stands for, centred on its column's line."""
    items = [
        Item(f"level {g}", ("abc"[c],))
        for g, row in enumerate(counts)
        for c, n in enumerate(row)
        for _ in range(n)
    ]
    table = tally(items, categories="abc")
    shares = [
        (100 * share, c, total < 10)
        for g, total in enumerate(table.totals)
        for c in range(len(table.categories))
        if (share := table.share(g, c))
    ]
    found = bars(centred_bars(table, "t", column=100))
    assert [width for _, width, _, _ in found] == pytest.approx([s for s, _, _ in shares], abs=0.11)
    assert [fill == "#fff" for *_, fill in found] == [few for _, _, few in shares]
    middles: dict[int, list[float]] = {}
    for (x, width, _, _), (_, c, _) in zip(found, shares, strict=True):
        middles.setdefault(c, []).append(x + width / 2)
    assert all(max(m) - min(m) < 0.2 for m in middles.values())


def test_names_are_escaped() -> None:
    """A name with signs of markup stays text."""
    drawing = centred_bars(tally([Item("<b>&", ("<script>",))]), "a & b")
    texts = [t.text for t in ET.fromstring(drawing).iter(f"{SVG}text")]
    assert {"<b>&", "<script>"} <= set(texts)


def test_rare_categories_are_drawn_together() -> None:
    """Beyond a dozen, the rarest share a column, and no specimen is lost."""
    items = [Item("1", (f"type {i:02}",)) for i in range(20) for _ in range(i + 1)]
    table = drawn(tally(items))
    assert len(table.categories) == 12
    assert table.categories[-1] == "the 9 others"
    assert sum(table.totals) == 210
    assert table.counts[0][-1] == sum(range(1, 10))


def called(rules: Rules, region: str, status: str, *names: str) -> Call:
    """Return a call of some types."""
    assert set(names) <= rules.types.keys()
    return Call(region, status, names, (), ())  # type: ignore[arg-type]


def test_spans_are_the_records_in_cal_bp(rules: Rules) -> None:
    """Each type called has one span, from its record; only certain calls on demand."""
    region = "carolina_piedmont"
    calls = [
        called(rules, region, "assigned", "morrow_mountain_ii"),
        called(rules, region, "assigned", "morrow_mountain_ii"),
        called(rules, region, "either", "morrow_mountain_ii", "guilford"),
        called(rules, region, "untyped"),
    ]
    found = {s.type: s for s in spans_of(rules, calls)}
    assert found.keys() == {"morrow_mountain_ii", "guilford"}
    morrow = found["morrow_mountain_ii"]
    assert (morrow.assigned, morrow.possible) == (2, 1)
    record = rules.types["morrow_mountain_ii"].record(region)
    assert record is not None
    wanted = cal_bp(record.dates, curve_of(rules))
    assert (morrow.start, morrow.end, morrow.basis) == (wanted.start, wanted.end, record.basis)
    sure = spans_of(rules, calls, "assigned")
    assert [(s.type, s.assigned, s.possible) for s in sure] == [("morrow_mountain_ii", 2, 0)]
    told = spans_text(rules, spans_of(rules, calls), sure)
    assert "Without the other calls these fall out: Guilford Lanceolate." in told
    assert "dates no piece" in told


def test_timeline_is_to_scale() -> None:
    """Bars stand where their years are, the older to the left, filled by basis."""
    one = Span("a", "r", 9000, 8000, "printed", "read", False, 1, 0)
    other = Span("b", "r", 5000, 3000, "calibrated", "memory", False, 0, 2)
    assert reach([one, other]) == (9000, 3000)
    found = bars(timeline([one, other], ["A", "B"], "t", span=600))
    assert [fill for *_, fill in found if fill != "none"] == ["#555", "url(#memory)"]
    (x1, w1, _, _), (x2, w2, _, _) = found
    assert w2 / w1 == pytest.approx(2, abs=0.01)
    assert (x2 - x1) / w1 == pytest.approx(4, abs=0.01)
    assert timeline([], [], "t").startswith("<svg")
