"""Seriation: orders of assemblages from their counts of types, and how well the order holds.

Similarity after Brainerd 1951 and Robinson 1951; frequency seriation with single-peaked curves as
stated by Lipo, Madsen and Dunnell 2015. No order says which end is the older.

Assemblages are given as rows of counts. Their labels decide between equal solutions and which end
comes first, so the order of the rows changes nothing.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import permutations

import numpy as np
from numpy.typing import NDArray
from scipy import stats

Counts = NDArray[np.float64]
MOST_EXACT = 12  # assemblages for which every order is weighed
MOST_ORDERS = 200_000  # orders of one length that are followed in the search for single peaks
SEED = 1951


def similarity(counts: Counts) -> Counts:
    """Return the Brainerd-Robinson coefficients: 200 for the same shares, 0 for nothing shared.

    Raises:
        ValueError: an assemblage is empty.
    """
    shares = 100 * _shares(counts)
    apart = np.abs(shares[:, None, :] - shares[None, :, :]).sum(axis=2)
    return np.asarray(200 - apart, dtype=np.float64)


def _shares(counts: Counts) -> Counts:
    totals = counts.sum(axis=1, keepdims=True)
    if (totals <= 0).any():
        raise ValueError("an assemblage without any counts has no shares")
    return np.asarray(counts / totals, dtype=np.float64)


def breaches(matrix: Counts, order: Sequence[int]) -> int:
    """Return how often a coefficient rises where it should fall away from the diagonal.

    In a perfect order (Robinson 1951) there are none. Each step along each row, away from the
    diagonal to either side, counts once.
    """
    placed = matrix[np.ix_(order, order)]
    rises = np.diff(placed, axis=1) > 1e-9
    falls = np.diff(placed, axis=1) < -1e-9
    n = len(order)
    return int(np.triu(rises, 0)[: n - 1].sum() + np.tril(falls, -1).sum())


@dataclass(frozen=True)
class Order:
    """An order of assemblages: their numbers, its breaches, and whether no order has fewer."""

    places: tuple[int, ...]
    breaches: int
    exact: bool


def by_similarity(
    counts: Counts, labels: Sequence[str], below: Mapping[int, frozenset[int]] | None = None
) -> Order:
    """Return the order with the fewest breaches of Robinson's criterion.

    Up to twelve assemblages every order is weighed, by dynamic programming over sets; beyond that
    the order on the first correspondence axis is improved by moving one assemblage at a time.

    Args:
        counts: a row for each assemblage.
        labels: their names; between equals the order that reads first by name is taken.
        below: for each assemblage those that must stand after it; the order then runs that way.
    """
    ranked = sorted(range(len(labels)), key=lambda i: labels[i])
    matrix = similarity(counts[ranked])
    place = {old: new for new, old in enumerate(ranked)}
    after = {place[i]: frozenset(place[j] for j in js) for i, js in (below or {}).items()}
    exact = len(ranked) <= MOST_EXACT
    if exact:
        found = _fewest(matrix, after)
    else:
        first = _fitting(list(first_axis(counts, labels).places), place, after)
        found = _improved(matrix, first, after)
    if not after and found[0] > found[-1]:
        found = found[::-1]
    return Order(tuple(ranked[i] for i in found), breaches(matrix, found), exact)


def _step_cost(matrix: Counts) -> NDArray[np.bool_]:
    """Tell for row i and neighbours l, k whether the row's coefficient rises from l to k."""
    return np.asarray(matrix[:, None, :] > matrix[:, :, None] + 1e-9)


def _fewest(matrix: Counts, after: Mapping[int, frozenset[int]]) -> list[int]:
    """Return the best order by dynamic programming over the sets already placed.

    What putting k after l costs depends only on which assemblages stand before l: those see the
    coefficient rise from l to k, and those still to come see it rise from k to l.
    """
    n = len(matrix)
    rises = _step_cost(matrix)
    forward = [
        [sum(1 << i for i in range(n) if rises[i, last, k]) for k in range(n)] for last in range(n)
    ]
    before = [sum(1 << i for i, js in after.items() if k in js) for k in range(n)]
    every = (1 << n) - 1
    best: dict[tuple[int, int], tuple[int, tuple[int, ...]]] = {
        (1 << k, k): (0, (k,)) for k in range(n) if not before[k]
    }
    for _ in range(1, n):
        longer: dict[tuple[int, int], tuple[int, tuple[int, ...]]] = {}
        for (placed, last), (cost, order) in best.items():
            for k in range(n):
                if placed >> k & 1 or before[k] & ~placed:
                    continue
                rest = every & ~placed
                step = (forward[last][k] & placed).bit_count()
                step += (forward[k][last] & rest).bit_count()
                state, found = (placed | 1 << k, k), (cost + step, (*order, k))
                if state not in longer or found < longer[state]:
                    longer[state] = found
        best = longer
    return list(min(best.values())[1])


def _fitting(
    order: list[int], place: Mapping[int, int], after: Mapping[int, frozenset[int]]
) -> list[int]:
    """Return an order changed as little as needed for every assemblage to stand before its own."""
    wanted = [place[i] for i in order]
    agree = sum(wanted.index(i) < wanted.index(j) for i, js in after.items() for j in js)
    if 2 * agree < sum(len(js) for js in after.values()):
        wanted.reverse()
    found: list[int] = []
    while wanted:
        free = next(k for k in wanted if not any(k in after.get(i, ()) for i in wanted))
        wanted.remove(free)
        found.append(free)
    return found


def _improved(matrix: Counts, order: list[int], after: Mapping[int, frozenset[int]]) -> list[int]:
    """Move one assemblage at a time to where it leaves the fewest breaches, until none gains."""
    now = breaches(matrix, order)
    gained = True
    while gained:
        gained = False
        for k in sorted(order):
            rest = [i for i in order if i != k]
            for at in range(len(order)):
                tried = [*rest[:at], k, *rest[at:]]
                if _stands(tried, after) and (cost := breaches(matrix, tried)) < now:
                    order, now, gained = tried, cost, True
    return order


def _stands(order: Sequence[int], after: Mapping[int, frozenset[int]]) -> bool:
    at = {k: place for place, k in enumerate(order)}
    return all(at[i] < at[j] for i, js in after.items() for j in js)


@dataclass(frozen=True)
class Axis:
    """The first axis of a correspondence analysis: scores, their order, its share of inertia."""

    scores: tuple[float, ...]
    places: tuple[int, ...]
    share: float


def first_axis(counts: Counts, labels: Sequence[str]) -> Axis:
    """Return assemblages along the first axis of a correspondence analysis of their counts.

    The axis has no direction; the end whose assemblage reads first by name is put first.
    """
    used = counts[:, counts.sum(axis=0) > 0]
    share = used / used.sum()
    rows, columns = share.sum(axis=1), share.sum(axis=0)
    if (rows <= 0).any():
        raise ValueError("an assemblage without any counts has no place on the axis")
    expected = np.outer(rows, columns)
    left, singular, _ = np.linalg.svd((share - expected) / np.sqrt(expected), full_matrices=False)
    scores = left[:, 0] / np.sqrt(rows) * singular[0]
    order = sorted(range(len(labels)), key=lambda i: (round(float(scores[i]), 9), labels[i]))
    if labels[order[0]] > labels[order[-1]]:
        scores, order = -scores, order[::-1]
    inertia = float((singular**2).sum())
    part = float(singular[0] ** 2) / inertia if inertia > 0 else 0.0
    return Axis(tuple(float(s) for s in scores), tuple(order), part)


def permutation_test(counts: Counts, labels: Sequence[str], draws: int = 999) -> float:
    """Return how often chance alone orders specimens as well as they are (0 to 1, above 0).

    Specimens are dealt out anew among the assemblages, sizes and totals kept, and the share of the
    first correspondence axis in the inertia times the inertia is compared.
    """
    whole = np.rint(counts).astype(np.int64)
    whole = whole[:, whole.sum(axis=0) > 0][sorted(range(len(labels)), key=lambda i: labels[i])]
    table = stats.random_table(whole.sum(axis=1), whole.sum(axis=0), seed=SEED)
    found = _strength(whole)
    reached = sum(_strength(drawn) >= found - 1e-12 for drawn in table.rvs(draws))
    return (1 + reached) / (1 + draws)


def _strength(counts: NDArray[np.int64]) -> float:
    """Return the inertia of the first correspondence axis."""
    share = counts / counts.sum()
    expected = np.outer(share.sum(axis=1), share.sum(axis=0))
    return float(np.linalg.svd((share - expected) / np.sqrt(expected), compute_uv=False)[0] ** 2)


@dataclass(frozen=True)
class Peaks:
    """The largest sets of assemblages that can stand so that every type has one peak.

    `orders` are their orders, one direction of each; `counts` how many sets of each size there are,
    from three up. `complete` is false where the search was cut off.
    """

    orders: tuple[tuple[int, ...], ...]
    counts: Mapping[int, int]
    complete: bool = True


def single_peaks(counts: Counts, labels: Sequence[str]) -> Peaks:
    """Return the largest sets whose types rise to one peak and fall in some order, exactly.

    Every part of such an order is one as well, so sets are built up one assemblage at a time; three
    in a row break the rule if the middle one has less of a type than both others. Shares are
    compared as whole numbers, without rounding.
    """
    ranked = sorted(range(len(labels)), key=lambda i: labels[i])
    whole = [[round(c) for c in counts[i]] for i in ranked]
    valley = _valleys(whole)
    n = len(ranked)
    orders: set[tuple[int, ...]] = {
        (a, b, c) for a, b, c in permutations(range(n), 3) if a < c and not valley[a][b] >> c & 1
    }
    sizes: dict[int, int] = {}
    best: set[tuple[int, ...]] = set()
    while orders:
        best = orders
        sizes[len(next(iter(orders)))] = len({frozenset(order) for order in orders})
        if len(orders) > MOST_ORDERS:
            return Peaks(_named(best, ranked), sizes, complete=False)
        orders = {
            longer if longer[0] < longer[-1] else longer[::-1]
            for order in orders
            for k in range(n)
            if k not in order
            for at in range(len(order) + 1)
            if _fits(longer := (*order[:at], k, *order[at:]), at, valley)
        }
    return Peaks(_named(best, ranked), sizes)


def _named(orders: set[tuple[int, ...]], ranked: Sequence[int]) -> tuple[tuple[int, ...], ...]:
    return tuple(tuple(ranked[i] for i in order) for order in sorted(orders))


def _valleys(whole: Sequence[Sequence[int]]) -> list[list[int]]:
    """Return for ends and middle a, b the set of ends c with which b is a valley of some type."""
    n = len(whole)
    totals = [sum(row) for row in whole]
    found = [[0] * n for _ in range(n)]
    for b in range(n):
        for t in range(len(whole[0])):
            higher = [whole[e][t] * totals[b] > whole[b][t] * totals[e] for e in range(n)]
            mask = sum(1 << e for e in range(n) if higher[e])
            for a in range(n):
                if higher[a]:
                    found[a][b] |= mask
    return found


def _fits(order: tuple[int, ...], at: int, valley: Sequence[Sequence[int]]) -> bool:
    """Tell whether an assemblage just put in makes no valley, with itself as middle or as end."""
    k = order[at]
    left, right = order[:at], order[at + 1 :]
    after = sum(1 << j for j in right)
    if any(valley[i][k] & after for i in left):
        return False
    return not (
        any(valley[i][j] >> k & 1 for y, j in enumerate(left) for i in left[:y])
        or any(valley[j][i] >> k & 1 for y, j in enumerate(right) for i in right[:y])
    )
