"""Points and paths in millimetres: the plain geometry that every picture is made of.

The axis of a piece is `x = 0`, its base is at the bottom and its tip at the top, `y` counts upward.
A path is a chain of lines and cubic Bezier curves; each segment knows which part of the piece it
draws. Nothing here knows about attributes or SVG.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import hypot

Point = tuple[float, float]
Box = tuple[float, float, float, float]  # left, bottom, right, top


@dataclass(frozen=True)
class Segment:
    """A line (two points) or a cubic Bezier curve (four), and the part of the piece it draws."""

    points: tuple[Point, ...]
    part: str = ""

    @property
    def start(self) -> Point:
        """Return the point where the segment begins."""
        return self.points[0]

    @property
    def end(self) -> Point:
        """Return the point where the segment ends."""
        return self.points[-1]

    def at(self, t: float) -> Point:
        """Return the point at `t`, from 0 at the start to 1 at the end."""
        s = 1 - t
        if len(self.points) == 2:
            (ax, ay), (bx, by) = self.points
            return (s * ax + t * bx, s * ay + t * by)
        (ax, ay), (bx, by), (cx, cy), (dx, dy) = self.points
        p, q, r, u = s * s * s, 3 * s * s * t, 3 * s * t * t, t * t * t
        return (p * ax + q * bx + r * cx + u * dx, p * ay + q * by + r * cy + u * dy)

    def moved(self, shift: Callable[[Point], Point]) -> Segment:
        """Return the segment with every control point moved."""
        return Segment(tuple(shift(p) for p in self.points), self.part)

    def turned(self) -> Segment:
        """Return the segment run from its end to its start."""
        return Segment(self.points[::-1], self.part)


Path = tuple[Segment, ...]


def line(start: Point, end: Point, part: str = "") -> Segment:
    """Return a straight segment."""
    return Segment((start, end), part)


def curve(start: Point, first: Point, second: Point, end: Point, part: str = "") -> Segment:
    """Return a cubic Bezier curve with its two handles."""
    return Segment((start, first, second, end), part)


def chain(points: Iterable[Point], part: str = "") -> Path:
    """Return straight segments through points, leaving out those of no length."""
    return tuple(line(a, b, part) for a, b in pairwise(points) if distance(a, b) > 1e-6)


def distance(a: Point, b: Point) -> float:
    """Return the distance between two points."""
    return hypot(a[0] - b[0], a[1] - b[1])


def between(a: Point, b: Point, t: float) -> Point:
    """Return the point at `t` of the way from `a` to `b`."""
    return (a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1]))


def mirrored(path: Path) -> Path:
    """Return a path mirrored on the axis and run backward, so that it closes the path itself."""
    return tuple(segment.turned().moved(lambda p: (-p[0], p[1])) for segment in reversed(path))


def flatten(path: Iterable[Segment], steps: int = 12) -> list[Point]:
    """Return points along a path: its ends, and `steps` to each curve."""
    points: list[Point] = []
    for segment in path:
        if not points:
            points.append(segment.start)
        if len(segment.points) == 2:
            points.append(segment.end)
        else:
            points += [segment.at(i / steps) for i in range(1, steps + 1)]
    return points


def bounds(paths: Iterable[Iterable[Segment]]) -> Box:
    """Return left, bottom, right and top of paths, flattened."""
    points = [p for path in paths for p in flatten(path)]
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return (min(xs), min(ys), max(xs), max(ys))


def cut(segment: Segment, t: float) -> tuple[Segment, Segment]:
    """Return the two pieces of a segment, divided at `t` (de Casteljau)."""
    if len(segment.points) == 2:
        middle = segment.at(t)
        return line(segment.start, middle, segment.part), line(middle, segment.end, segment.part)
    rows = [segment.points]
    while len(rows[-1]) > 1:
        rows.append(tuple(between(a, b, t) for a, b in pairwise(rows[-1])))
    return (
        Segment(tuple(row[0] for row in rows), segment.part),
        Segment(tuple(row[-1] for row in reversed(rows)), segment.part),
    )


def divide(path: Path, side: Callable[[Point], float]) -> tuple[tuple[bool, Path], ...]:
    """Return the runs of a path on either side of a line, in order.

    Args:
        side: positive on the side that is kept, negative on the other.

    Returns:
        Runs of segments, each with whether it lies on the kept side.
    """
    runs: list[tuple[bool, list[Segment]]] = []
    for segment in path:
        for piece in _cut_all(segment, side):
            kept = side(piece.at(0.5)) >= 0
            if runs and runs[-1][0] == kept:
                runs[-1][1].append(piece)
            else:
                runs.append((kept, [piece]))
    return tuple((kept, tuple(run)) for kept, run in runs)


def _cut_all(segment: Segment, side: Callable[[Point], float], steps: int = 16) -> list[Segment]:
    marks = [i / steps for i in range(steps + 1)]
    roots = []
    for low, high in pairwise(marks):
        a, b = side(segment.at(low)), side(segment.at(high))
        if (a < 0) != (b < 0):
            for _ in range(40):
                middle = (low + high) / 2
                if (side(segment.at(middle)) < 0) == (a < 0):
                    low = middle
                else:
                    high = middle
            roots.append((low + high) / 2)
    pieces, rest, done = [], segment, 0.0
    for root in roots:
        share = (root - done) / (1 - done) if done < 1 else 0.0
        if 1e-6 < share < 1 - 1e-6:
            piece, rest = cut(rest, share)
            pieces.append(piece)
            done = root
    return [*pieces, rest]


def crossing(path: Sequence[Segment], left: float = 0.0, steps: int = 24) -> tuple[str, str] | None:
    """Return the parts of the first two segments that cross or touch, or None.

    Neighbours may share their end. Segments whose handles lie in separate boxes cannot meet, which
    settles nearly all pairs.

    Args:
        left: how far left the path may go; one side of a piece must not cross its axis.
        steps: lines that a curve is taken as.
    """
    boxes = [_box(segment.points) for segment in path]
    last = len(path) - 1
    closed = path[last].end == path[0].start
    flat: dict[int, list[Point]] = {}
    for i, a in enumerate(boxes):
        if a[0] < left - 1e-9:
            return (path[i].part, path[i].part)
        for j in range(i, len(boxes)):
            if j == i + 1 and _turns_back(path[i], path[j]):
                return (path[i].part, path[j].part)
            if j == i and _runs_on(path[i].points):
                continue
            closing = closed and i == 0 and j == last
            if not _near(a, boxes[j], 1e-9 if closing or j == i + 1 else -1e-9):
                continue
            for k in (i, j):
                if k not in flat:
                    flat[k] = flatten([path[k]], steps)
            if _meet(flat[j], flat[i], 1) if closing else _meet(flat[i], flat[j], j - i):
                return (path[i].part, path[j].part)
    return None


def _turns_back(a: Segment, b: Segment) -> bool:
    """Tell whether the second of two neighbours runs back on the line of the first."""
    (px, py), (qx, qy), (rx, ry) = a.points[-2], a.end, b.points[1]
    back = (qx - px) * (rx - qx) + (qy - py) * (ry - qy) < 0
    return back and _turn((px, py), (qx, qy), (rx, ry)) == 0


def _near(a: Box, b: Box, by: float) -> bool:
    """Tell whether two boxes share more than a line of a given breadth."""
    return min(a[2], b[2]) - max(a[0], b[0]) > by and min(a[3], b[3]) - max(a[1], b[1]) > by


def _box(points: Sequence[Point]) -> Box:
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return (min(xs), min(ys), max(xs), max(ys))


def _meet(a: Sequence[Point], b: Sequence[Point], apart: int) -> bool:
    """Tell whether two chains meet: one chain with itself, two neighbours, or two strangers."""
    last = len(a) - 2
    first, second = _within(a, _box(b)), _within(b, _box(a))
    for i, p, q in first:
        for j, r, s in second:
            if apart == 0 and j < i + 2:
                continue
            if apart == 1 and i == last and j == 0:
                continue
            if _cross(p, q, r, s):
                return True
    return False


def _within(points: Sequence[Point], box: Box) -> list[tuple[int, Point, Point]]:
    """Return the lines of a chain that come near a box, each with its place in the chain."""
    left, low, right, high = box
    return [
        (i, p, q)
        for i, (p, q) in enumerate(pairwise(points))
        if not (
            p[0] < left > q[0] or p[0] > right < q[0] or p[1] < low > q[1] or p[1] > high < q[1]
        )
    ]


def _runs_on(points: Sequence[Point]) -> bool:
    """Tell whether a curve runs on in one direction, so that it cannot meet itself."""
    return any(
        all(step > 0 for step in steps) or all(step < 0 for step in steps)
        for steps in ([q[axis] - p[axis] for p, q in pairwise(points)] for axis in (0, 1))
    )


def _turn(a: Point, b: Point, c: Point) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _cross(p: Point, q: Point, r: Point, s: Point) -> bool:
    if (p[0] < r[0] > q[0] and p[0] < s[0] > q[0]) or (p[0] > r[0] < q[0] and p[0] > s[0] < q[0]):
        return False
    if (p[1] < r[1] > q[1] and p[1] < s[1] > q[1]) or (p[1] > r[1] < q[1] and p[1] > s[1] < q[1]):
        return False
    return _turn(p, q, r) * _turn(p, q, s) <= 0 and _turn(r, s, p) * _turn(r, s, q) <= 0
