"""Counts and shares of types, periods or states over levels, units or sites.

A specimen that can be one of several is either counted apart, under a category that names them all,
or shared out in equal parts: the user decides, and every table says which.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import sqrt
from typing import Literal

Sharing = Literal["apart", "fraction"]
OR = " or "
Z95 = 1.959963984540054  # the normal quantile of a two-sided 95 % interval


@dataclass(frozen=True)
class Item:
    """One specimen: its group (level, unit, site) and the categories that it can belong to.

    No category means that nothing was recorded: it is counted beside the table, not in it.
    """

    group: str
    categories: tuple[str, ...]


@dataclass(frozen=True)
class Tally:
    """A table of counts: a row for each group, a column for each category.

    `unrecorded` are the specimens of each group without a category; shares leave them out.
    """

    groups: tuple[str, ...]
    categories: tuple[str, ...]
    counts: tuple[tuple[float, ...], ...]
    unrecorded: tuple[int, ...]
    sharing: Sharing

    @property
    def totals(self) -> tuple[float, ...]:
        """Return the number of specimens counted in each group."""
        return tuple(round(sum(row), 9) for row in self.counts)

    def share(self, group: int, category: int) -> float | None:
        """Return the share (0 to 1) of a category in a group; None of an empty group."""
        total = self.totals[group]
        return self.counts[group][category] / total if total else None


def tally(
    items: Iterable[Item],
    sharing: Sharing = "apart",
    categories: Sequence[str] = (),
    groups: Sequence[str] = (),
) -> Tally:
    """Count specimens.

    Args:
        items: the specimens, in any order.
        sharing: whether those with several categories stand apart or are shared out.
        categories: the order of those that have one; others follow by name.
        groups: the order of groups; others follow, numbers in them read as numbers.
    """
    cells: dict[tuple[str, str], list[int]] = {}
    unrecorded: dict[str, int] = {}
    for item in items:
        unrecorded.setdefault(item.group, 0)
        if not item.categories:
            unrecorded[item.group] += 1
        elif sharing == "apart":
            name = OR.join(_ranked(item.categories, categories))
            cells.setdefault((item.group, name), []).append(1)
        else:
            for name in item.categories:
                cells.setdefault((item.group, name), []).append(len(item.categories))
    rows = _ranked(unrecorded, groups)
    columns = _ranked({name for _, name in cells}, categories)
    counts = tuple(
        # parts of one size are added up before they are divided, so that order changes nothing
        tuple(_sum_of_parts(cells.get((group, name), [])) for name in columns)
        for group in rows
    )
    return Tally(rows, columns, counts, tuple(unrecorded[group] for group in rows), sharing)


def _sum_of_parts(parts: Sequence[int]) -> float:
    return sum(parts.count(size) / size for size in sorted(set(parts)))


def _ranked(names: Iterable[str], first: Sequence[str]) -> tuple[str, ...]:
    """Return names in a given order, the others after them in that of a reader."""
    place = {name: i for i, name in enumerate(first)}
    return tuple(sorted(set(names), key=lambda n: (place.get(n, len(place)), *natural(n))))


def natural(name: str) -> tuple[tuple[tuple[int, int, str], ...], str]:
    """Return a key by which `level 2` stands before `level 10`."""
    parts = re.split(r"(\d+)", name.casefold())
    key = tuple((0, int(p), "") if p.isdecimal() else (1, 0, p) for p in parts if p)
    return key, name


def wilson(count: float, total: float) -> tuple[float, float]:
    """Return the 95 % interval of a share (both 0 to 1) after Wilson 1927, fit for small samples.

    For a count shared out in fractions it is a rough guide only.

    Raises:
        ValueError: there is nothing to take a share of.
    """
    if total <= 0:
        raise ValueError("a share of nothing has no interval")
    p, z2 = count / total, Z95**2
    middle = (p + z2 / (2 * total)) / (1 + z2 / total)
    reach = Z95 / (1 + z2 / total) * sqrt(p * (1 - p) / total + z2 / (4 * total**2))
    return max(0.0, middle - reach), min(1.0, middle + reach)
