"""Facts about masks and boxes."""

from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from keygen.core.states import (
    MOST_STATES,
    Box,
    Fit,
    compare,
    complement,
    is_single,
    merge,
    narrow,
    spread,
    volume,
)

FULL: Box = (0b111, 0b11, 0b1111)
masks = st.tuples(*(st.integers(1, full) for full in FULL))


def single(box: Box) -> set[tuple[int, ...]]:
    """List the combinations of single states in a box, the slow and obvious way."""
    bits = [[1 << i for i in range(8) if mask >> i & 1] for mask in box]
    return set(product(*bits))


@given(st.integers(1, 15), st.integers(1, 15))
def test_compare_agrees_with_sets(observed: int, allowed: int) -> None:
    """Met is inclusion, against is an empty intersection, open is the rest."""
    seen = {i for i in range(4) if observed >> i & 1}
    fits = {i for i in range(4) if allowed >> i & 1}
    expected = Fit.MET if seen <= fits else Fit.OPEN if seen & fits else Fit.AGAINST
    assert compare(observed, allowed) is expected


@given(st.integers(0, 255))
def test_single(mask: int) -> None:
    """A mask is single when it has one bit."""
    assert is_single(mask) == (bin(mask).count("1") == 1)


@given(masks)
def test_volume_counts_combinations(box: Box) -> None:
    """The volume of a box is the number of single combinations in it."""
    assert volume(box) == len(single(box))


@given(masks, masks)
def test_narrow_intersects(box: Box, other: Box) -> None:
    """Narrowing keeps the combinations that lie in both, and says None when there are none."""
    found = narrow(box, dict(enumerate(other)))
    assert (single(found) if found else set()) == single(box) & single(other)


@given(masks)
def test_complement_is_exact(box: Box) -> None:
    """A box and its complement share nothing and together hold everything."""
    parts = [
        part for limits in complement(FULL, dict(enumerate(box))) if (part := narrow(FULL, limits))
    ]
    assert sum(volume(part) for part in parts) + volume(box) == volume(FULL)
    assert set().union(*(single(part) for part in parts)) == single(FULL) - single(box)


@given(st.lists(masks, max_size=8))
def test_merge_loses_nothing(boxes: list[Box]) -> None:
    """Merged boxes hold the same combinations; there are never more of them."""
    merged = merge(boxes)
    before: set[tuple[int, ...]] = set().union(*(single(box) for box in boxes))
    assert set().union(*(single(box) for box in merged)) == before
    assert len(merged) <= len(boxes)


@given(st.lists(masks, max_size=8), st.sets(st.integers(0, len(FULL) - 1)))
def test_merge_joins_only_over_what_it_is_told(boxes: list[Box], over: set[int]) -> None:
    """Merging over some attributes leaves the others as they are, and no two boxes to be joined."""
    merged = merge(boxes, over)
    rest = [i for i in range(len(FULL)) if i not in over]
    assert {tuple(b[i] for i in rest) for b in merged} == {tuple(b[i] for i in rest) for b in boxes}
    for one in merged:
        for other in merged:
            differing = [i for i in range(len(FULL)) if one[i] != other[i]]
            assert len(differing) != 1 or differing[0] not in over


@pytest.mark.parametrize("states", [8, 9, 17, 33, MOST_STATES])
def test_merge_takes_many_states(states: int) -> None:
    """Boxes of attributes with many states are joined like others."""
    last = 1 << states - 1
    assert merge([(1, last), (last, last)]) == ((1 | last, last),)


def test_merge_joins_neighbours() -> None:
    """Two boxes that differ in one attribute become one."""
    assert merge([(1, 1, 1), (2, 1, 1), (4, 2, 1)]) == ((3, 1, 1), (4, 2, 1))


@given(st.lists(masks, min_size=1, max_size=5))
def test_spread_is_the_union_by_attribute(boxes: list[Box]) -> None:
    """Spreading boxes gives every state that some box allows, attribute by attribute."""
    for i, mask in enumerate(spread(boxes)):
        assert all(not box[i] & ~mask for box in boxes)
        assert all(any(box[i] >> b & 1 for box in boxes) for b in range(4) if mask >> b & 1)


def test_spread_of_nothing_is_empty() -> None:
    """No boxes leave no masks."""
    assert spread([]) == ()
