"""Facts about indices under the small rules, and properties of all that ship."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from math import inf

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from keygen.core.coding import Coded
from keygen.core.measure import Reading
from keygen.core.model import Rules
from keygen.core.result import Lack, Result
from keygen.core.scores import work_out
from keygen.core.span import Span, covers
from keygen.rulebase.load import shipped
from tests.published.indices import indices

HAFTS = (("stemmed",), ("notched",), ("stemmed", "notched"), ("lanceolate",))


def small(
    rules: Rules,
    states: Mapping[str, tuple[str, ...]] | None = None,
    scored: Mapping[str, str] | None = None,
    **entered: str,
) -> dict[str, Result]:
    """Return the indices of figures given as text."""
    return indices(rules, entered, states, scored)


def test_zones(small_rules: Rules) -> None:
    """A limit belongs to the zone that closes with it; the margin is to the nearest limit."""

    def told(width: str, neck: str) -> tuple[tuple[str, ...], str, float]:
        found = small(small_rules, width=width, neck_width=neck)["girth"]
        assert found.margin is not None
        return found.says, found.leads, found.margin.value

    assert told("10.000", "9.000") == (("little",), "little", -1.0)
    assert told("10.0000", "10.0000") == (("big", "little"), "little", 0.0)
    assert told("12.0", "10.0") == (("big", "little"), "", 2.0)
    assert told("15.00", "10.00") == (("big", "little"), "big", 0.0)
    assert told("15.00", "11.00") == (("big",), "big", 1.0)


def test_functions(small_rules: Rules) -> None:
    """Scores, the margin of shared terms, the undecided range, and closeness."""
    found = small(small_rules, length="40", width="20")["heft"]
    assert [(s.outcome, s.span.value) for s in found.scores] == [("big", 34.0), ("little", 25.0)]
    assert found.margin is not None
    assert found.margin.value == 9.0
    # the difference is 0.5 L + 2 L/W - 15; L is 39.5 to 40.5, L/W 39.5/20.5 to 40.5/19.5
    assert found.margin.low == pytest.approx(0.5 * 39.5 + 2 * 39.5 / 20.5 - 15)
    assert found.margin.high == pytest.approx(0.5 * 40.5 + 2 * 40.5 / 19.5 - 15)
    assert (found.says, found.undecided, found.close) == (("big",), False, False)
    doubted = small(small_rules, length="25.0", width="20.0")["heft"]
    assert (doubted.says, doubted.undecided, doubted.close) == (("big", "little"), True, True)


def test_why_not(small_rules: Rules) -> None:
    """What was not measured, what is gone and what an index is not for are told apart."""
    nothing = small(small_rules, length="30")
    assert nothing["girth"].lacks == (
        Lack("width", "not_measured"),
        Lack("neck_width", "not_measured"),
    )
    assert nothing["nick_index"].lacks == (Lack("nicks", "not_scored"),)
    gone = small(small_rules, {"portion": ("distal",)}, width="12")
    assert gone["girth"].lacks == (Lack("neck_width", "gone", ("haft",)),)
    other = small(small_rules, {"haft_style": ("lanceolate",)}, length="30", width="10")
    assert other["heft"].lacks == (Lack("haft_style", "other_form"),)
    assert other["slimness"].computed
    unread = small(small_rules, scored={"nicks": "1 2"})["nick_index"].lacks
    assert unread == (Lack("nicks", "unreadable", said="'2' is not one of 0, 1"),)
    assert small(small_rules, scored={"nicks": "- -"})["nick_index"].lacks == (
        Lack("nicks", "gone", ("blade",)),
    )


def test_marks_in_doubt(small_rules: Rules) -> None:
    """A place scored either way counts as half, and its interval reaches both."""
    found = small(small_rules, scored={"nicks": "1 0,1"})["nick_index"]
    assert (found.figure, found.counted) == (Span(0.75, 0.5, 1.0), 2)


def test_code(small_rules: Rules) -> None:
    """A code reads figures and states; a figure that straddles has both, one beyond has none."""
    stemmed = {"haft_style": ("stemmed",)}
    assert small(small_rules, stemmed, length="30.0", width="20.0")["code"].characters == (
        Coded((1,), False, 1),
        Coded((1,), False, 1),
    )
    straddling = small(small_rules, stemmed, length="39", width="20")["code"].characters[0]
    assert (straddling.digits, straddling.digit) == ((1, 2), 2)  # 1.95 is rounded up
    beyond = small(small_rules, stemmed, length="99.0", width="20.0")["code"].characters[0]
    assert beyond == Coded((), True, 0)
    open_end = small(small_rules, stemmed, length="50.0+", width="20.0")["code"].characters[0]
    assert (open_end.digits, open_end.beyond) == ((2,), True)
    unseen = small(small_rules, length="30.0", width="20.0")["code"]
    assert unseen.lacks == (Lack("haft_style", "not_seen"),)


def test_fragments_are_at_least(small_rules: Rules) -> None:
    """A figure of which a needed part is gone, or that damage shortens, loses its upper end."""
    found = small(small_rules, {"portion": ("proximal",)}, length="30", width="20")["slimness"]
    assert found.figure is not None
    assert found.figure.high == inf
    assert [(s.measurement, s.parts) for s in found.short] == [("length", ("tip",))]
    cut = small(small_rules, {"portion": ("distal",)}, length="30", width="20")["slimness"]
    assert cut.figure is not None
    assert (cut.figure.low, cut.figure.high) == (0.0, inf)
    because = {s.measurement: s.because for s in cut.short}
    assert because == {"length": "", "width": "the widest place may be lost"}
    perhaps = small(small_rules, {"portion": ("complete", "distal")}, length="30", width="20")
    assert not perhaps["slimness"].short


def test_cells_cover() -> None:
    """A gap between cells is found, and an interval without an end is covered by none that has."""
    assert covers([(0, 1), (1, 3)], 0.5, 2)
    assert not covers([(0, 1), (1.5, 3)], 0.5, 2)
    assert not covers([(0, 3)], 1, inf)
    assert not covers([], 1, 1)


Drawn = dict[str, tuple[int, int, int, int, bool]]


def figures() -> st.SearchStrategy[Drawn]:
    """Draw measurements: tenths, half of their interval in hundredths, what widens it, broken."""
    names = ["length", "width", "neck_width", "thickness", "base_width", "haft_length", "weight"]
    names += ["distal_shoulder_length", "axial_length", "min_blade_width", "outer_tang_angle"]
    hundredths = st.integers(0, 300)
    entry = st.tuples(
        st.integers(15, 900), st.integers(0, 40), hundredths, hundredths, st.booleans()
    )
    return st.dictionaries(st.sampled_from(names), entry, min_size=1)


def taken(drawn: Drawn) -> dict[str, Reading]:
    """Return the measurements that were drawn."""
    return {
        name: Reading("", v / 10, v / 10 - half / 100, inf if broken else v / 10 + half / 100)
        for name, (v, half, _, _, broken) in drawn.items()
    }


@given(figures())
@settings(deadline=None)
def test_widening_never_removes_an_answer(drawn: Drawn) -> None:
    """Wider measurements leave every answer and code that narrower ones leave, and may add some."""
    rules = shipped()
    known = list(rules.full)
    known[rules.index["fluting"]] = rules.mask("fluting", "none")
    narrow = taken(drawn)
    wide = {
        name: replace(
            narrow[name],
            low=max(narrow[name].low - less / 100, 0.01),
            high=narrow[name].high + more / 100 if more < 250 else inf,
        )
        for name, (_, _, less, more, _) in drawn.items()
    }
    before = work_out(rules, known, narrow, {})
    after = work_out(rules, known, wide, {})
    for one, two in zip(before, after, strict=True):
        assert one.computed == two.computed, one.index
        assert set(one.says) <= set(two.says), one.index
        assert not one.leads or one.leads in one.says, one.index
        for a, b in zip(one.characters, two.characters, strict=True):
            assert set(a.digits) <= set(b.digits), one.index
            assert b.beyond or not a.beyond, one.index
        for a_span, b_span in ((one.figure, two.figure), (one.margin, two.margin)):
            if a_span is not None and b_span is not None:
                assert b_span.low <= a_span.low + 1e-8, one.index
                assert a_span.high <= b_span.high + 1e-8, one.index
                assert a_span.low - 1e-8 <= a_span.value <= a_span.high + 1e-8, one.index


@given(
    st.dictionaries(
        st.sampled_from(["length", "width", "neck_width", "thickness"]),
        st.integers(20, 990),
        min_size=1,
    )
)
@settings(deadline=None)
def test_units_change_nothing(tenths: dict[str, int]) -> None:
    """The same figures entered in millimetres and in centimetres give the same indices."""
    rules = shipped()
    in_mm = indices(rules, {name: f"{t / 10:.1f} mm" for name, t in tenths.items()})
    in_cm = indices(rules, {name: f"{t / 100:.2f} cm" for name, t in tenths.items()})
    assert in_mm.keys() == in_cm.keys()
    for name, one in in_mm.items():
        two = in_cm[name]
        assert (one.says, one.leads, one.computed) == (two.says, two.leads, two.computed), name
        if one.figure is not None and two.figure is not None:
            ends = (two.figure.value, two.figure.low, two.figure.high)
            assert (one.figure.value, one.figure.low, one.figure.high) == pytest.approx(ends)


@given(st.sampled_from(HAFTS), figures())
@settings(deadline=None)
def test_a_part_is_not_more_than_the_whole(haft: tuple[str, ...], drawn: Drawn) -> None:
    """Ratios of a part to its whole end at 1, unless the figures themselves say more."""
    rules = shipped()
    known = list(rules.full)
    known[rules.index["haft_style"]] = rules.mask("haft_style", *haft)
    for result in work_out(rules, known, taken(drawn), {}):
        limit = rules.indices[result.index].at_most
        if result.figure is not None and result.figure.value <= limit < inf:
            assert result.figure.high <= limit, result.index
