"""Shared by the checks of indices: figures given as text, worked out under the shipped rules."""

from __future__ import annotations

from collections.abc import Mapping

from keygen.core.measure import read
from keygen.core.model import Rules
from keygen.core.result import Result
from keygen.core.scores import work_out


def indices(
    rules: Rules,
    figures: Mapping[str, str],
    states: Mapping[str, tuple[str, ...]] | None = None,
    scored: Mapping[str, str] | None = None,
) -> dict[str, Result]:
    """Return every index by its id.

    Args:
        figures: measurements as entered.
        states: what is known of attributes; all else is left open.
        scored: what was scored by eye.
    """
    known = list(rules.full)
    for name, words in (states or {}).items():
        known[rules.index[name]] = rules.mask(name, *words)
    readings = {name: read(text, rules.measurements[name].unit) for name, text in figures.items()}
    return {r.index: r for r in work_out(rules, known, readings, scored or {})}


def score(result: Result, outcome: str) -> float:
    """Return the score of one group, as the figures were entered."""
    return next(s.span.value for s in result.scores if s.outcome == outcome)


def figure(result: Result) -> float:
    """Return the figure of an index, as the figures were entered."""
    assert result.figure is not None
    return result.figure.value


def margin(result: Result) -> float:
    """Return the margin of an index, as the figures were entered."""
    assert result.margin is not None
    return result.margin.value


def code(result: Result) -> str:
    """Return a class code as one text: `2 1 2`, `1/2` where two are possible, `-` not codable."""
    return " ".join("/".join(map(str, c.digits)) or "-" for c in result.characters)
