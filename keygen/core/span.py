"""Interval arithmetic: a figure as entered, with the ends between which the true one lies."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

DECIMALS = 9  # kept, so that 7.4 + 4.4 is 11.8


class Span(NamedTuple):
    """A figure and its interval; an end can be infinite."""

    value: float
    low: float
    high: float

    def __sub__(self, other: Span) -> Span:
        return span(self.value - other.value, self.low - other.high, self.high - other.low)

    def over(self, below: Span) -> Span | None:
        """Return the ratio to another span; None if that one may be nothing."""
        if below.low <= 0:
            return None
        low = self.low / (below.high if self.low >= 0 else below.low)
        high = self.high / (below.low if self.high >= 0 else below.high)
        return span(self.value / below.value, low, high)


def span(value: float, low: float, high: float) -> Span:
    """Return a span without the dust that decimal fractions leave in binary ones."""
    return Span(round(value, DECIMALS), round(low, DECIMALS), round(high, DECIMALS))


def weighted(constant: float, terms: Iterable[tuple[float, Span]]) -> Span:
    """Return a constant plus terms, each multiplied by its weight."""
    value = low = high = constant
    for by, term in terms:
        if by:  # without weight an open end does not matter
            ends = (term.low, term.high) if by > 0 else (term.high, term.low)
            value, low, high = value + term.value * by, low + ends[0] * by, high + ends[1] * by
    return span(value, low, high)


def covers(cells: Sequence[tuple[float, float]], low: float, high: float) -> bool:
    """Tell whether cells, each from its low end up to its high one, leave no gap in an interval."""
    reached = low
    for start, end in sorted(cells):
        if start > reached:
            return False
        reached = max(reached, end)
    return reached >= high and bool(cells)
