"""Counts over groups."""

from __future__ import annotations

from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binomtest

from keygen.assemblage.tally import Item, natural, tally, wilson

ITEMS = st.lists(
    st.builds(
        Item,
        st.sampled_from(["1", "2", "10", "surface"]),
        st.sets(st.sampled_from(["Gary", "Kirk", "Wells"])).map(lambda s: tuple(sorted(s))),
    ),
    max_size=40,
)


@given(st.integers(1, 300), st.integers(0, 300))
def test_wilson_is_scipys(total: int, count: int) -> None:
    """The interval is that of scipy's exact bookkeeping of Wilson's method."""
    count = min(count, total)
    wanted = binomtest(count, total).proportion_ci(method="wilson")
    assert wilson(count, total) == pytest.approx((wanted.low, wanted.high), abs=1e-12)


def test_no_share_of_nothing() -> None:
    """An empty group has no shares and no interval."""
    with pytest.raises(ValueError, match="share of nothing"):
        wilson(0, 0)
    empty = tally([Item("1", ()), Item("2", ("a",))])
    assert [empty.share(i, 0) for i in (0, 1)] == [None, 1]


@given(ITEMS, st.randoms(use_true_random=False), st.sampled_from(["apart", "fraction"]))
def test_order_changes_nothing(items: list[Item], chance: Random, sharing: str) -> None:
    """Shuffled specimens give the same table."""
    mixed = list(items)
    chance.shuffle(mixed)
    assert tally(items, sharing) == tally(mixed, sharing)  # type: ignore[arg-type]


@given(ITEMS, st.sampled_from(["apart", "fraction"]))
def test_every_specimen_counts_once(items: list[Item], sharing: str) -> None:
    """A group's counts and what is unrecorded add up to its specimens."""
    found = tally(items, sharing)  # type: ignore[arg-type]
    for i, group in enumerate(found.groups):
        there = sum(item.group == group for item in items)
        assert found.totals[i] + found.unrecorded[i] == pytest.approx(there)


def test_several_candidates() -> None:
    """Two candidates stand apart under both names, or count half each."""
    items = [Item("2", ("Gary",)), Item("2", ("Wells", "Gary")), Item("10", ())]
    apart = tally(items)
    assert (apart.groups, apart.categories) == (("2", "10"), ("Gary", "Gary or Wells"))
    assert apart.counts == ((1.0, 1.0), (0.0, 0.0))
    assert apart.unrecorded == (0, 1)
    shared = tally(items, "fraction", ["Wells", "Gary"], ["10"])
    assert (shared.groups, shared.categories) == (("10", "2"), ("Wells", "Gary"))
    assert shared.counts == ((0.0, 0.0), (0.5, 1.5))
    assert shared.share(1, 1) == 0.75


def test_levels_are_read_as_numbers() -> None:
    """Level 2 stands before level 10, and words beside numbers do not trouble it."""
    assert sorted(["L10", "L2", "a", "2b", "2"], key=natural) == ["2", "2b", "a", "L2", "L10"]
