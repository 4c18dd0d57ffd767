"""Pieces to draw, and the reading of drawings back from their SVG text."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from itertools import pairwise

from hypothesis import strategies as st

from keygen.core.measure import Reading
from keygen.core.model import Rules
from keygen.core.states import Box

Point = tuple[float, float]
STEMMED = {
    "portion": "complete",
    "haft_style": "stemmed",
    "stem_shape": "straight",
    "stem_length": "medium",
    "shoulder_shape": "horizontal",
    "shoulder_strength": "strong",
    "blade_shape": "straight",
    "base_shape": "straight",
    "cross_section": "biconvex",
}
NOTCHED = {
    **STEMMED,
    "haft_style": "notched",
    "notch_position": "side",
    "notch_form": "broad_u",
    "notch_count": "two",
    "stem_shape": "expanding",
    "stem_length": "short",
}
LANCEOLATE = {
    "portion": "complete",
    "haft_style": "lanceolate",
    "haft_sides": "parallel",
    "blade_shape": "excurvate",
    "base_shape": "incurvate",
    "cross_section": "biconvex",
}


def reading(value: float) -> Reading:
    """Return a measurement known exactly."""
    return Reading(f"{value:g}", value, value, value)


def single(rules: Rules, states: Mapping[str, str]) -> Box:
    """Return a box of these states; all else is open."""
    return tuple(a.bits[states[a.id]] if a.id in states else a.full for a in rules.attributes)


def boxes(rules: Rules) -> st.SearchStrategy[Box]:
    """Return a strategy for pieces that the key can describe, every attribute settled."""

    def settled(box: Box) -> st.SearchStrategy[Box]:
        return st.tuples(
            *(st.sampled_from([1 << i for i in range(8) if mask >> i & 1]) for mask in box)
        )

    return st.sampled_from(rules.universe).flatmap(settled)


def blurred(rules: Rules) -> st.SearchStrategy[Box]:
    """Return a strategy for pieces of which some attributes are in doubt or unknown."""

    def open_up(box: Box) -> st.SearchStrategy[Box]:
        return st.tuples(
            *(
                st.sampled_from((mask, mask, mask | mask << 1 & a.full, a.full))
                for mask, a in zip(box, rules.attributes, strict=True)
            )
        )

    return boxes(rules).flatmap(open_up)


def sizes(rules: Rules) -> st.SearchStrategy[dict[str, float]]:
    """Return a strategy for any measurements within the limits that are believed."""
    each = {
        name: st.floats(m.low, min(m.high, 400.0))
        for name, m in rules.measurements.items()
        if m.unit != "g"
    }
    return st.fixed_dictionaries({}, optional=each)


def strokes(svg: str) -> list[tuple[str, list[list[tuple[str, list[Point]]]]]]:
    """Return, for each path element, its attributes and its outlines as lists of segments.

    A segment is `l` or `c` with its absolute points, `y` turned upward again.
    """
    return [
        (before, _outlines(data)) for before, data in re.findall(r'<path([^>]*?) d="([^"]*)"', svg)
    ]


def _outlines(data: str) -> list[list[tuple[str, list[Point]]]]:
    outlines: list[list[tuple[str, list[Point]]]] = []
    here = (0.0, 0.0)
    for letter, rest in re.findall(r"([Mlcz])([^Mlcz]*)", data):
        values = [float(v) for v in re.findall(r"-?(?:\d+\.?\d*|\.\d+)", rest)]
        points = list(zip(values[::2], values[1::2], strict=True))
        if letter == "M":
            here = (points[0][0], -points[0][1])
            outlines.append([])
        for i in range(0, len(points) if letter in "lc" else 0, 3 if letter == "c" else 1):
            group = points[i : i + (3 if letter == "c" else 1)]
            absolute = [(here[0] + x, here[1] - y) for x, y in group]
            outlines[-1].append((letter, [here, *absolute]))
            here = absolute[-1]
    return outlines


def flat(segments: Sequence[tuple[str, list[Point]]], steps: int = 24) -> list[Point]:
    """Return points along an outline."""
    points = [segments[0][1][0]]
    for letter, (a, *rest) in segments:
        if letter == "l":
            points += rest
            continue
        b, c, d = rest
        for i in range(1, steps + 1):
            t, s = i / steps, 1 - i / steps
            points.append(
                (
                    s**3 * a[0] + 3 * s * s * t * b[0] + 3 * s * t * t * c[0] + t**3 * d[0],
                    s**3 * a[1] + 3 * s * s * t * b[1] + 3 * s * t * t * c[1] + t**3 * d[1],
                )
            )
    return points


def across(points: Sequence[Point], level: float) -> list[float]:
    """Return where a closed chain of points crosses a level, from left to right."""
    found = [
        a[0] + (level - a[1]) / (b[1] - a[1]) * (b[0] - a[0])
        for a, b in pairwise(points)
        if (a[1] <= level) != (b[1] <= level)
    ]
    return sorted(found)


def crosses(points: Sequence[Point]) -> bool:
    """Tell whether a closed chain of points crosses itself, by sweeping it level by level."""
    lines = [(a, b) for a, b in pairwise(points) if a != b]
    low = min(p[1] for p in points)
    step = (max(p[1] for p in points) - low) / 200 or 1.0
    at_level: dict[int, list[int]] = {}
    for i, (a, b) in enumerate(lines):
        start, end = sorted((a[1], b[1]))
        for k in range(int((start - low) / step), int((end - low) / step) + 1):
            at_level.setdefault(k, []).append(i)
    pairs = {
        (i, j) for level in at_level.values() for n, i in enumerate(level) for j in level[n + 1 :]
    }
    return any(
        _cross(*lines[i], *lines[j])
        for i, j in pairs
        if j > i + 1 and (i, j) != (0, len(lines) - 1)
    )


def _cross(p: Point, q: Point, r: Point, s: Point) -> bool:
    def side(a: Point, b: Point, c: Point) -> float:
        return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])

    return side(p, q, r) * side(p, q, s) < 0 and side(r, s, p) * side(r, s, q) < 0
