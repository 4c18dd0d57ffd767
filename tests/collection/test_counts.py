"""Counts by type and period: everything once, and the doubtful apart."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

import pytest
from hypothesis import given
from hypothesis import strategies as st

from keygen.collection.counts import Count, Tally, period, tally
from keygen.core.call import Call
from keygen.core.model import Record, Rules
from tests.collection.reported import NOTCHED, TAPERED, TRIANGLE
from tests.prose import pieces

CALLS: Sequence[Call | None] = [
    pieces.examined(region, **states).call
    for region in ("", "east", "west")
    for states in (TAPERED, NOTCHED, TRIANGLE, {"haft_style": "stemmed"}, {"tip": "acute"})
]


@given(st.lists(st.sampled_from(CALLS), max_size=30))
def test_every_specimen_is_counted_once(calls: list[Call | None]) -> None:
    """By type and by period the columns and what stands apart add up to all specimens."""
    found = tally(pieces.rules(), calls)
    apart = found.none_fits + found.haft_unknown + found.uncalled
    by_type = sum(c.assigned + c.cf for c in found.types)
    by_period = sum(c.assigned + c.cf + c.either for c in found.periods)
    assert by_type + found.several + apart == found.total == len(calls)
    assert by_period + found.several_periods + apart == len(calls)


@given(st.lists(st.sampled_from(CALLS), max_size=30))
def test_types_by_a_plain_count(calls: list[Call | None]) -> None:
    """Each type's figures are those of a plain count of calls by status."""
    rules = pieces.rules()
    plain = Counter((name, c.status) for c in calls if c for name in c.types)
    for count in tally(rules, calls).types:
        (kind,) = (t.id for t in rules.types.values() if t.name == count.name)
        found = (plain.pop((kind, s), 0) for s in ("assigned", "cf.", "either"))
        assert (count.assigned, count.cf, count.either) == tuple(found)
    assert not plain


def test_several_types_of_one_period() -> None:
    """A piece of several types counts for their period if all are of it, and else for none."""
    same = pieces.examined("east", **TRIANGLE).call
    apart = pieces.examined("east", **NOTCHED).call
    found = tally(pieces.rules(), [same, apart])
    assert found.periods == (Count("Late Woodland", either=1),)
    assert (found.several, found.several_periods) == (2, 1)
    assert {c.name: c.either for c in found.types} == {
        "Cedar Notched": 1,
        "Dogwood Notched": 1,
        "Fir Triangle 1": 1,
        "Fir Triangle 2": 1,
    }


def test_orders() -> None:
    """Types stand from the most frequent down, periods from the oldest on."""
    one = pieces.examined("east", **TAPERED).call
    other = pieces.examined("west", **TAPERED).call
    found = tally(pieces.rules(), [other, one, one])
    assert [c.name for c in found.types] == ["Alder Stemmed", "Birch Stemmed"]
    assert [c.name for c in found.periods] == ["Middle Archaic", "Woodland"]


def test_calibrated_where_there_is_a_curve(rules: Rules) -> None:
    """With the shipped rules a Palmer (cal BP) counts as older than a St. Albans (radiocarbon)."""
    region = "carolina_piedmont"
    kinds = ("st_albans", "palmer_corner_notched", "yadkin_large_triangular")
    calls = [Call(region, "assigned", (kind,), (), ()) for kind in kinds]
    assert [c.name for c in tally(rules, calls).periods] == [
        "Early Archaic",
        "Early to Middle Woodland",
    ]


@pytest.mark.parametrize(
    ("text", "counted"),
    [
        ("Early Archaic", "Early Archaic"),
        ("late Middle Archaic", "Middle Archaic"),
        ("end of the Early Archaic (Calf Creek horizon)", "Early Archaic"),
        ("Mississippian (Pisgah) to Cherokee (Qualla)", "Mississippian to Cherokee"),
        ("Late Archaic to Woodland (eastern part)", "Late Archaic to Woodland"),
        ("early ceramic", "Early ceramic"),
    ],
)
def test_period_as_counted(rules: Rules, text: str, counted: str) -> None:
    """A part of one period counts as the period; a span of several stands as its record has it."""
    (record, *_) = rules.types["palmer_corner_notched"].records
    changed = Record("carolina_piedmont", text, record.dates, (), "common")
    assert period(rules, changed) == counted


def test_nothing_to_count() -> None:
    """Without specimens every sum is nothing."""
    assert tally(pieces.rules(), []) == Tally(0, (), ())
