"""Orders of assemblages, held against every order there is."""

from __future__ import annotations

from itertools import combinations, pairwise, permutations
from random import Random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from keygen.assemblage.seriation import (
    Counts,
    breaches,
    by_similarity,
    first_axis,
    permutation_test,
    similarity,
    single_peaks,
)

ROWS = st.lists(
    st.lists(st.integers(0, 20), min_size=4, max_size=4).filter(any), min_size=3, max_size=6
)


def table(rows: list[list[int]]) -> tuple[Counts, list[str]]:
    """Return rows as counts, with labels that do not stand in the order of the rows."""
    return np.array(rows, dtype=np.float64), [f"S{(7 * i + 3) % 11:02}" for i in range(len(rows))]


def risen(matrix: Counts, order: tuple[int, ...]) -> int:
    """Count the rises away from the diagonal one by one."""
    count = 0
    for at, i in enumerate(order):
        right, left = order[at:], order[: at + 1][::-1]
        for side in (right, left):
            count += sum(matrix[i, b] > matrix[i, a] + 1e-9 for a, b in pairwise(side))
    return count


@given(ROWS)
@settings(max_examples=60, deadline=None)
def test_no_order_has_fewer_breaches(rows: list[list[int]]) -> None:
    """The order found has as few breaches as the best of all orders, counted one by one."""
    counts, labels = table(rows)
    matrix = similarity(counts)
    found = by_similarity(counts, labels)
    assert found.exact
    assert sorted(found.places) == list(range(len(rows)))
    assert found.breaches == breaches(matrix, found.places) == risen(matrix, found.places)
    assert found.breaches == min(risen(matrix, o) for o in permutations(range(len(rows))))


@given(ROWS, st.randoms(use_true_random=False))
@settings(max_examples=60, deadline=None)
def test_order_of_rows_changes_nothing(rows: list[list[int]], chance: Random) -> None:
    """Shuffled rows give the same order by name, the same axis and the same largest sets."""
    counts, labels = table(rows)
    mixed = list(range(len(rows)))
    chance.shuffle(mixed)
    again, names = counts[mixed], [labels[i] for i in mixed]
    first, second = by_similarity(counts, labels), by_similarity(again, names)
    assert [labels[i] for i in first.places] == [names[i] for i in second.places]
    one, other = single_peaks(counts, labels), single_peaks(again, names)
    assert one.counts == other.counts
    assert [[labels[i] for i in o] for o in one.orders] == [
        [names[i] for i in o] for o in other.orders
    ]


def peaked(rows: list[list[int]], order: tuple[int, ...]) -> bool:
    """Tell whether every type rises to one peak and falls, by the shares as fractions."""
    for t in range(len(rows[0])):
        curve = [rows[i][t] / sum(rows[i]) for i in order]
        top = curve.index(max(curve))
        if curve[:top] != sorted(curve[:top]) or curve[top:] != sorted(curve[top:], reverse=True):
            return False
    return True


@given(ROWS)
@settings(max_examples=60, deadline=None)
def test_largest_sets_are_those_of_brute_force(rows: list[list[int]]) -> None:
    """The sets of each size that can be ordered with single peaks are found, and no others."""
    counts, labels = table(rows)
    found = single_peaks(counts, labels)
    for size in range(3, len(rows) + 1):
        able = [
            chosen
            for chosen in combinations(range(len(rows)), size)
            if any(peaked(rows, order) for order in permutations(chosen))
        ]
        assert found.counts.get(size, 0) == len(able)
    assert all(peaked(rows, order) for order in found.orders)


def test_strata_are_respected() -> None:
    """What lies below stands after, even where that costs breaches; beyond twelve rows too."""
    rows = [[20 - i, i, 5] for i in range(14)]
    for n in (6, 14):
        counts = np.array(rows[:n], dtype=np.float64)
        labels = [f"L{i:02}" for i in range(n)]
        free = by_similarity(counts, labels)
        assert free.places == tuple(range(n))
        assert free.exact is (n == 6)
        bound = by_similarity(counts, labels, {3: frozenset({0, 1})})
        at = [bound.places.index(i) for i in (3, 0, 1)]
        assert at[0] < min(at[1:])
        turned = by_similarity(counts, labels, {i: frozenset({i - 1}) for i in range(1, n)})
        assert turned.places == tuple(reversed(range(n)))
        assert turned.breaches == 0


def test_chance_orders_nothing() -> None:
    """A table with a clear order is rare among tables of chance; one without is not."""
    labels = [f"L{i}" for i in range(6)]
    clear = np.array([[30 - 5 * i, 5 * i, 4] for i in range(6)], dtype=np.float64)
    even = np.array([[10, 11, 9], [9, 10, 11], [11, 9, 10]] * 2, dtype=np.float64)
    assert permutation_test(clear, labels, 199) == 1 / 200
    assert permutation_test(even, labels, 199) > 0.2


def test_empty_assemblages_are_refused() -> None:
    """An assemblage without counts has no shares and no place."""
    counts = np.array([[1.0, 2.0], [0.0, 0.0], [2.0, 2.0]])
    for refused in (similarity, lambda c: first_axis(c, ["a", "b", "c"])):
        with pytest.raises(ValueError, match="without any counts"):
            refused(counts)
