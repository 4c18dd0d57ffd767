"""Regions as sets: how many types fit where, against plain counting."""

from __future__ import annotations

from collections import Counter
from functools import reduce

from hypothesis import example, given
from hypothesis import strategies as st

from keygen.core.inverted import members
from keygen.prose.spread import NOBODY, World, freest, joined_by, rivals
from tests.prose.pieces import rules

SETS = st.integers(0, 255)
SOME = st.integers(1, 255)


@given(st.lists(SETS, max_size=12), SOME)
@example([1, 1], 1)
def test_crowds(types: list[int], regions: int) -> None:
    """Where the fewest types fit, and how many, is what counting them region by region gives."""
    crowds = reduce(joined_by, types, NOBODY)
    counted = Counter(region for one in types for region in members(one))
    fewest = min(counted[region] for region in members(regions))
    assert rivals(crowds, regions) == fewest
    free = {region for region in members(regions) if counted[region] == fewest}
    assert set(members(freest(crowds, regions))) == free


@given(st.lists(SETS, min_size=1, max_size=12))
def test_crowds_hold_no_empty_set(types: list[int]) -> None:
    """As many sets are kept as types fit in one region at most, so counting stays short."""
    counted = Counter(region for one in types for region in members(one))
    most = max(counted.values(), default=0)
    assert len(reduce(joined_by, types, NOBODY)) == max(most, 1)


def test_spreads() -> None:
    """A type is known in as many regions as it has records under its own name."""
    spreads = rules().once(World).spreads
    for name, kind in rules().types.items():
        own = [record for record in kind.records if not record.local_type]
        assert spreads[name].regions.bit_count() == len(own)
        assert {place.region for place in spreads[name].places.values()} == {
            record.region for record in own
        }
