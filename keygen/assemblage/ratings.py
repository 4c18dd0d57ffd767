"""What several observers said of the same specimens, as one table of categories."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

MISSING = -1
Codes = NDArray[np.int64]  # a row for each specimen, a column for each observer


@dataclass(frozen=True)
class Ratings:
    """Categories given by observers to specimens.

    Attributes:
        units: the specimens, sorted, so that the order of rows in a table changes nothing.
        observers: who described them, in the order given.
        categories: what was said; for grades, in their order.
        codes: the number of the category of each specimen by each observer, -1 where none is given.
    """

    units: tuple[str, ...]
    observers: tuple[str, ...]
    categories: tuple[str, ...]
    codes: Codes

    @property
    def rated(self) -> int:
        """Return how many specimens at least two observers rated."""
        return int(((self.codes != MISSING).sum(axis=1) > 1).sum())


def ratings(
    said: Sequence[Mapping[str, str]],
    observers: Sequence[str],
    grades: Sequence[str] = (),
) -> Ratings:
    """Gather what observers said.

    Args:
        said: for each observer, the category by specimen; a specimen left out was not rated.
        observers: their names.
        grades: the categories in their order, where they have one; others follow, sorted.
    """
    units = tuple(sorted({unit for one in said for unit in one}))
    found = {category for one in said for category in one.values()}
    categories = (*grades, *sorted(found - set(grades)))
    number = {category: i for i, category in enumerate(categories)}
    codes = np.full((len(units), len(said)), MISSING, dtype=np.int64)
    for column, one in enumerate(said):
        for row, unit in enumerate(units):
            if unit in one:
                codes[row, column] = number[one[unit]]
    return Ratings(units, tuple(observers), categories, codes)


def confusion(given: Ratings, first: int, second: int) -> Codes:
    """Return how often two observers gave each pair of categories: rows the first's."""
    table = np.zeros((len(given.categories), len(given.categories)), dtype=np.int64)
    both = (given.codes[:, first] != MISSING) & (given.codes[:, second] != MISSING)
    np.add.at(table, (given.codes[both, first], given.codes[both, second]), 1)
    return table


def parted(given: Ratings) -> dict[str, int]:
    """Return, by specimen, how many pairs of observers do not agree; only where some do not."""
    found = {}
    for unit, row in zip(given.units, given.codes.tolist(), strict=True):
        rated = [code for code in row if code != MISSING]
        if count := sum(a != b for a, b in combinations(rated, 2)):
            found[unit] = count
    return found
