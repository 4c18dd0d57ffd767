"""Marks of damage and of a second working end."""

from __future__ import annotations

from collections.abc import Iterator
from math import cos, pi, sin

from keygen.pictures.breaks import Remains
from keygen.pictures.geometry import Path, Point, between, chain, line
from keygen.pictures.plan import Plan


def working_end(plan: Plan, kind: str, there: Remains) -> Iterator[Path]:
    """Yield the steep retouch of a scraper's end."""
    if kind != "scraper" or there.high < plan.form.length:
        return
    form = plan.form
    for i in range(-3, 4):
        x = i * 0.2 * form.width
        top = form.length - 0.04 * form.width - 0.05 * abs(i) * form.width
        yield (line((x, top), (0.8 * x, top - 0.26 * form.width)),)


def face_damage(plan: Plan, blade: tuple[float, float], damage: frozenset[str]) -> Iterator[Path]:
    """Yield an impact scar as a stepped channel from the tip, heat pits as rings."""
    low, high = blade
    w, span = plan.form.width, high - low
    if "impact" in damage:
        x, deep = plan.middle(high), 0.32 * span
        half = 0.3 * min(abs(plan.inner_edge(high - 0.5 * deep, 1) - x), w)
        yield chain(
            [
                (x - half, high - 0.06 * span),
                (x - half, high - deep),
                (x + half, high - 0.9 * deep),
                (x + half, high - 0.06 * span),
            ]
        )
        yield (line((x - half, high - 0.82 * deep), (x + half, high - 0.72 * deep)),)
    if "heat" in damage:
        for share, out, r in ((0.3, -0.3, 0.16), (0.46, 0.26, 0.11)):
            y = low + share * span
            x = plan.middle(y) + out * abs(plan.inner_edge(y, 1))
            yield _ring((x, y), r * w)
            yield _ring((x, y), 0.45 * r * w)


def _ring(middle: Point, r: float) -> Path:
    points = [(middle[0] + r * cos(i * pi / 4), middle[1] + r * sin(i * pi / 4)) for i in range(9)]
    return chain(points)


def edge_damage(plan: Plan, blade: tuple[float, float], damage: frozenset[str]) -> Iterator[Path]:
    """Yield nicks as small filled wedges in the left edge, a fresh scar as one on the right."""
    low, high = blade
    wedges: list[tuple[float, int, float]] = []
    if "edge_nicks" in damage:
        wedges += [(0.24, -1, 0.13), (0.35, -1, 0.2), (0.58, -1, 0.12)]
    if "recent" in damage:
        wedges.append((0.45, 1, 0.42))
    for share, side, size in wedges:
        y = low + share * (high - low)
        deep = size * plan.form.width
        a, b = y - 0.5 * deep, y + 0.5 * deep
        tip = between((plan.inner_edge(y, side), y), (plan.middle(y), y), size)
        start, end = (plan.inner_edge(a, side), a), (plan.inner_edge(b, side), b)
        yield chain([start, tip, end, start])
