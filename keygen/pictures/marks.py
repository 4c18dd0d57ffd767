"""What is drawn inside the outline: bevels, flutes, scars, ground edges, flaking, damage.

All of it is shorthand in a few short lines, not a drawing of scars. Marks keep to the levels of the
piece that survive.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import pairwise

from keygen.pictures.breaks import Remains
from keygen.pictures.geometry import (
    Path,
    Point,
    Segment,
    chain,
    curve,
    distance,
    flatten,
    line,
)
from keygen.pictures.injuries import edge_damage, face_damage, working_end
from keygen.pictures.plan import Plan
from keygen.pictures.svg import Stroke, Style

GROUND = {"base": ("base",), "sides": ("haft",), "both": ("base", "haft")}


def marks(
    plan: Plan, there: Remains, damage: frozenset[str], unseen: frozenset[str]
) -> list[Stroke]:
    """Return the marks of what is seen on the faces and edges.

    Args:
        damage: items of damage that are known to be there.
        unseen: attributes of which nothing is known; nothing is drawn for them.
    """
    s = {k: v for k, v in plan.form.states.items() if k not in unseen}
    blade = (max(plan.foot, there.low), min(plan.form.length, there.high))
    found: list[Stroke] = []

    def add(style: Style, paths: Iterable[Path]) -> None:
        kept = tuple(path for path in paths if path)
        if kept:
            found.append(Stroke(style, kept))

    if there.low <= 0.0:
        add("mark", _flute(plan, s, there.high))
        if s.get("fluting") == "both_faces":
            add("open", _flute(plan, s, there.high, 0.6))
        if s.get("basal_thinning") == "present":
            add("mark", _thinning(plan))
        if s.get("haft_edge") == "bevelled":
            add("mark", _strokes(plan, (1,), _haft_levels(plan), 0.34))
        add("mark", _finish(plan, s.get("base_finish", "flaked")))
        add("dots", _ground(plan, s.get("haft_grinding", "none")))
    if blade[1] - blade[0] > 0.1 * plan.form.width:
        add("mark", _bevel(plan, s.get("blade_retouch", "bifacial"), blade))
        add("mark", _scars(plan, s.get("flaking", "random"), blade))
        if s.get("resharpening") in ("light", "heavy"):
            add("mark", _retouch(plan, blade))
        add("mark", working_end(plan, s.get("reworked_as", "none"), there))
        add("mark", face_damage(plan, blade, damage))
        add("solid", edge_damage(plan, blade, damage))
    return found


def _levels(low: float, high: float, step: float) -> list[float]:
    count = min(12, max(2, round((high - low) / step)))
    return [low + (i + 0.5) / count * (high - low) for i in range(count)]


def _haft_levels(plan: Plan) -> list[float]:
    form = plan.form
    low = form.under + max(0.0, -form.depth) + 0.12 * form.haft
    return _levels(low, form.juncture - 0.5 * form.floor, 0.22 * form.neck)


def _strokes(
    plan: Plan, sides: tuple[int, ...], levels: list[float], reach: float, slant: float = 0.25
) -> Iterator[Path]:
    """Yield short strokes inward from an edge, a share of the local width long."""
    for side in sides:
        for y in levels:
            x = plan.inner_edge(y, side)
            far = reach * abs(x)
            yield (line((x - side * 0.06 * abs(x), y), (x - side * far, y - slant * far)),)


def _bevel(plan: Plan, kind: str, blade: tuple[float, float]) -> Iterator[Path]:
    low, high = blade
    if kind in ("alternate_bevel", "one_face_bevel"):
        sides = (1,) if kind == "alternate_bevel" else (1, -1)
        top = low + 0.9 * (high - low)
        levels = _levels(low + 0.04 * (high - low), top, 0.3 * plan.form.width)
        yield from _strokes(plan, sides, levels, 0.42, 0.5)
        for side in sides:
            points = [
                (0.55 * plan.inner_edge(y, side) + 0.45 * plan.middle(y), y)
                for y in _levels(low, top, 0.5 * plan.form.width)
            ]
            yield chain(points)
    if kind == "unifacial":
        w, base = 0.5 * plan.form.width, low + 0.12 * (high - low)
        for i in range(3):
            rise, wide = (0.16 + 0.2 * i) * (high - low), w * (0.9 - 0.2 * i)
            y = base + rise
            yield (
                curve(
                    (-wide, y - 0.3 * wide),
                    (-0.5 * wide, y),
                    (0.5 * wide, y),
                    (wide, y - 0.3 * wide),
                ),
            )


def _retouch(plan: Plan, blade: tuple[float, float]) -> Iterator[Path]:
    low, high = blade
    levels = _levels(low + 0.1 * (high - low), low + 0.92 * (high - low), 0.24 * plan.form.width)
    return _strokes(plan, (1, -1), levels, 0.17, 0.9)


def _scars(plan: Plan, kind: str, blade: tuple[float, float]) -> Iterator[Path]:
    """Yield the run of the flake scars: ribs from both edges, or ribbons right across."""
    if kind == "random":
        return
    low, high = blade
    levels = _levels(low + 0.08 * (high - low), low + 0.84 * (high - low), 0.36 * plan.form.width)
    for y in levels:
        left, right, axis = plan.inner_edge(y, -1), plan.inner_edge(y, 1), plan.middle(y)
        half = (right - left) / 2
        if kind == "collateral":
            for side in (-1, 1):
                yield (
                    line(
                        (axis + 0.72 * side * half, y), (axis + 0.08 * side * half, y + 0.1 * half)
                    ),
                )
        else:
            lean = 0.5 * half if kind == "oblique" else 0.0
            if y - lean < low:
                continue
            yield (line((axis - 0.7 * half, y + lean), (axis + 0.7 * half, y - lean)),)


def _flute(plan: Plan, s: dict[str, str], high: float, scale: float = 1.0) -> Iterator[Path]:
    form = plan.form
    share = {"short": 0.3, "half": 0.5, "long": 0.82}.get(s.get("flute_length", "short"), 0.3)
    if s.get("fluting", "none") == "none":
        return
    top = min(form.length * (share if scale == 1.0 else 0.8 * share), 0.98 * high)
    low = form.under + max(form.depth, 0.0)
    wide = scale * 0.5 * min(form.neck, form.base, form.width)
    start = form.under + _base_at(plan, wide)
    if top <= max(low, start) + wide:
        return
    shoulder = max(start, top - 1.5 * wide)
    yield (
        curve((-wide, start), (-1.05 * wide, shoulder), (-wide, top), (0, top)),
        curve((0, top), (wide, top), (1.05 * wide, shoulder), (wide, start)),
    )


def _base_at(plan: Plan, x: float) -> float:
    """Return how far the basal edge lies above the lowest point of the haft, at a distance out."""
    points = flatten(segment for segment in plan.right if segment.part in ("base", "ear"))
    for a, b in pairwise(points):
        if a[0] <= x <= b[0] and b[0] > a[0]:
            return a[1] + (x - a[0]) / (b[0] - a[0]) * (b[1] - a[1]) - plan.form.under
    return 0.0


def _thinning(plan: Plan) -> Iterator[Path]:
    form = plan.form
    wide = 0.24 * min(form.base, form.neck, form.width)
    tall = min(1.8 * wide, 0.6 * form.haft)
    for x in (-2.1 * wide, 0.0, 2.1 * wide):
        y = form.under + _base_at(plan, abs(x))
        high = tall if x == 0 else 0.75 * tall
        a, b = (
            form.under + _base_at(plan, abs(x - wide)),
            form.under + _base_at(plan, abs(x + wide)),
        )
        yield (
            curve((x - wide, a), (x - wide, y + high), (x - 0.4 * wide, y + high), (x, y + high)),
            curve((x, y + high), (x + 0.4 * wide, y + high), (x + wide, y + high), (x + wide, b)),
        )


def _finish(plan: Plan, kind: str) -> Iterator[Path]:
    """Yield a second line along a base that is a surface; a struck one has ripples across it."""
    if kind == "flaked":
        return
    form = plan.form
    rise = 0.3 * form.base
    xs = [form.base * (-0.84 + 1.68 * i / 8) for i in range(9)]
    yield chain([(x, form.under + _base_at(plan, abs(x)) + rise) for x in xs])
    if kind == "burinated":
        for x in xs[1:-1:2]:
            y = form.under + _base_at(plan, abs(x))
            yield (
                curve(
                    (x, y + 0.05 * rise),
                    (x + 0.4 * rise, y + 0.3 * rise),
                    (x + 0.4 * rise, y + 0.7 * rise),
                    (x, y + 0.95 * rise),
                ),
            )
    else:
        for i, x in enumerate(xs):
            y = form.under + _base_at(plan, abs(x)) + rise * (0.35 if i % 2 else 0.65)
            yield (line((x, y), (x + 0.03 * rise, y)),)


def _ground(plan: Plan, kind: str) -> Iterator[Path]:
    """Yield a line just outside the edges that are ground; it is drawn in dots."""
    gap = 0.11 * plan.form.width
    top = plan.form.under + plan.form.ground
    for part in GROUND.get(kind, ()):
        for path in (plan.right, plan.left):
            run = [
                segment
                for segment in path
                if _counts(segment, part) and min(segment.start[1], segment.end[1]) < top
            ]
            points = flatten(run, 6)
            if part == "haft":
                points = [p for p in points if p[1] <= top + 1e-6]
            yield chain(_outside(points, gap))


def _counts(segment: Segment, part: str) -> bool:
    if part == "base":
        return segment.part == "base"
    return segment.part in ("haft", "ear", "notch") and distance(segment.start, segment.end) > 1e-6


def _outside(points: list[Point], gap: float) -> list[Point]:
    """Return a chain moved to its right-hand side, which is outside as outlines run."""
    moved = []
    for i, p in enumerate(points):
        a, b = points[max(i - 1, 0)], points[min(i + 1, len(points) - 1)]
        far = distance(a, b)
        if far > 1e-9:
            moved.append((p[0] + gap * (b[1] - a[1]) / far, p[1] - gap * (b[0] - a[0]) / far))
    return moved
