"""The blade: its edge from shoulder to tip, the tip itself, teeth, and extra notches.

Every edge is built so that `y` rises all along it. Such an edge cannot cross itself, whatever its
shape.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from math import radians, tan

from keygen.pictures import proportions as usual
from keygen.pictures.form import Form
from keygen.pictures.geometry import Path, Point, Segment, chain, curve, divide, flatten, line

# Edges between (1, 0) at the shoulder and (0, 1) at the tip; `x` never above 1, `y` rising.
_EDGES: dict[str, tuple[tuple[Point, ...], ...]] = {
    "straight": (((1, 0), (0, 1)),),
    "excurvate": (((1, 0), (0.98, 0.34), (0.42, 0.74), (0, 1)),),
    "incurvate": (((1, 0), (0.62, 0.2), (0.24, 0.56), (0, 1)),),
    "recurvate": (
        ((1, 0), (1, 0.2), (0.86, 0.34), (0.62, 0.48)),
        ((0.62, 0.48), (0.36, 0.63), (0.16, 0.74), (0, 1)),
    ),
    "parallel": (((1, 0), (0.99, 0.54)), ((0.99, 0.54), (0.97, 0.76), (0.34, 0.89), (0, 1))),
    "pentagonal": (((1, 0), (0.9, 0.56)), ((0.9, 0.56), (0, 1))),
    "bit": (
        ((1, 0), (0.5, 0.05), (0.28, 0.1), (0.26, 0.24)),
        ((0.26, 0.24), (0.25, 0.86)),
        ((0.25, 0.86), (0.24, 0.94), (0.12, 1), (0, 1)),
    ),
}


def blade(form: Form, start: Point) -> Path:
    """Return the right edge of the blade, from its lower end at `start` up to the tip."""
    s = form.states
    if s["tip"] == "bit" or s["reworked_as"] == "drill":
        return _placed("bit", start, (0.0, form.length), "blade")
    x, y = start
    set_back: Path = ()
    if s["resharpening"] == "heavy" and form.set_off and s["shoulder_shape"] != "none":
        inner = (x * usual.SETBACK, y + 0.04 * (form.length - y))
        set_back, (x, y) = chain([start, inner], "blade"), inner
    end, tip = _tip(form, x, y)
    edge = _placed(s["blade_shape"], (x, y), end, "blade")
    if s["notch_count"] == "four_plus":
        edge = _second_notch(form, edge)
    return (*set_back, *_toothed(form, edge), *tip)


def _placed(shape: str, start: Point, end: Point, part: str) -> Path:
    (x, y), (u, v) = start, end
    return tuple(
        Segment(tuple((u + (x - u) * p, y + (v - y) * q) for p, q in points), part)
        for points in _EDGES[shape]
    )


def _tip(form: Form, x: float, y: float) -> tuple[Point, Path]:
    """Return where the edge of the blade gives way to the tip, and the tip."""
    s, top, high = form.states, form.length, form.length - y
    made, tip = s["reworked_as"], s["tip"]
    if made == "scraper":
        end = (0.8 * x, top - min(0.5 * x, 0.6 * high))
        return end, (
            curve(end, (0.8 * x, end[1] + 0.76 * (top - end[1])), (0.45 * x, top), (0, top), "tip"),
        )
    if made in ("chisel", "graver"):
        end = (0.5 * x, top)
        return end, (line(end, (0, top), "tip"),)
    if tip == "acute":
        return (0.0, top), ()
    half = usual.TIP_WIDTH[tip] * x
    if tip == "apiculate":
        drop, nipple = min(0.2 * high, 1.4 * half), 0.3 * half
        end = (half, top - drop)
        return end, (
            curve(end, (nipple, top - 0.8 * drop), (nipple, top - 0.5 * drop), (0, top), "tip"),
        )
    if tip == "blunt":
        end = (half, top - min(0.85 * half, 0.5 * high))
        low = end[1]
        return end, (
            curve(end, (0.8 * half, low + 0.62 * (top - low)), (0.45 * half, top), (0, top), "tip"),
        )
    end = (half, top - min(half / tan(radians(usual.TIP_ANGLE[tip])), 0.6 * high))
    return end, (
        curve(
            end,
            (0.94 * half, end[1] + 0.3 * (top - end[1])),
            (0.5 * half, end[1] + 0.5 * (top - end[1])),
            (0, top),
            "tip",
        ),
    )


def _toothed(form: Form, edge: Path) -> Path:
    """Return an edge with a row of teeth cut into it, their points on the edge."""
    kind = form.states["blade_edge"]
    if kind == "plain" or form.teeth < 0.1:
        return edge
    pitch, deep = usual.TEETH[kind]
    deep *= form.width * form.teeth
    points = flatten(edge, 24)
    low, high = points[0][1], points[-1][1]
    first, last = low + 0.08 * (high - low), low + 0.94 * (high - low)
    count = max(4, round((last - first) / (pitch * form.length)))
    levels = [first + i / (2 * count) * (last - first) for i in range(2 * count + 1)]
    row: list[Point] = []
    for i, y in enumerate(levels):
        x = _along(points, y)
        row.append((x - min(deep, 0.4 * x), y) if i % 2 else (x, y))
    below = _part_of(edge, lambda p: first - p[1])
    above = _part_of(edge, lambda p: p[1] - last)
    return (*below, *chain(_joined(below, row, above), "blade"), *above)


def _joined(below: Path, row: list[Point], above: Path) -> list[Point]:
    start = [below[-1].end] if below else []
    return [*start, *row[bool(start) :], *([above[0].start] if above else [])]


def _part_of(edge: Path, side: Callable[[Point], float]) -> Path:
    return tuple(segment for kept, run in divide(edge, side) if kept for segment in run)


def _along(points: list[Point], y: float) -> float:
    """Return `x` at a level of a chain that rises all along."""
    for (ax, ay), (bx, by) in pairwise(points):
        if ay <= y <= by and by > ay:
            return ax + (y - ay) / (by - ay) * (bx - ax)
    return points[-1][0]


def _second_notch(form: Form, edge: Path) -> Path:
    """Return an edge with a small notch of the second pair cut above the shoulder."""
    points = flatten(edge, 24)
    low, high = points[0][1], points[-1][1]
    mouth = min(0.14 * (high - low), 0.5 * form.width)
    clear = form.juncture + 0.5 * form.floor + 0.05 * (high - low)  # of the first pair
    start = min(max(low + 0.1 * (high - low), clear), high - 1.5 * mouth)
    end = start + mouth
    inner = 0.7 * min(_along(points, start), _along(points, end))
    a, b = (_along(points, start), start), (_along(points, end), end)
    below = _part_of(edge, lambda p: start - p[1])
    above = _part_of(edge, lambda p: p[1] - end)
    floor = (inner, (start + end) / 2)
    return (
        *below,
        curve(a, (inner, start), (inner, start + 0.2 * mouth), floor, "notch"),
        curve(floor, (inner, end - 0.2 * mouth), (inner, end), b, "notch"),
        *above,
    )
