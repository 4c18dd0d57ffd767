"""The whole outline from a form: both sides closed, never crossing itself, with its landmarks."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise
from math import atan2, degrees, inf

from keygen.pictures.blade import blade
from keygen.pictures.fitting import proportioned
from keygen.pictures.form import Form
from keygen.pictures.geometry import Path, Point, Segment, crossing, flatten, mirrored
from keygen.pictures.haft import haft

_BLADE = ("blade", "tip")
_LEAN = "lean"


@dataclass(frozen=True)
class Plan:
    """An outline in mm: `right` runs from the middle of the base up to the tip, `left` back down.

    `form` holds the figures as drawn; `remarks` say what could not be drawn as it was measured.
    """

    form: Form
    right: Path
    left: Path
    remarks: tuple[str, ...] = ()

    @property
    def path(self) -> Path:
        """Return the closed outline."""
        return (*self.right, *self.left)

    @property
    def foot(self) -> float:
        """Return the level where the blade begins, above all of haft and shoulders."""
        return _foot_of_blade(self.form)

    def inner_edge(self, level: float, side: int) -> float:
        """Return `x` of the blade's or haft's edge at a level, barbs and teeth left aside."""
        chains = self._inner[side > 0]
        found = [side * x for points in chains for x in _at_level(points, level)]
        return side * min(found, default=0.0)

    @cached_property
    def _inner(self) -> tuple[list[list[Point]], list[list[Point]]]:
        left, right = (
            [flatten([segment]) for segment in path if segment.part not in ("base", "shoulder")]
            for path in (self.left, self.right)
        )
        return left, right

    def middle(self, level: float) -> float:
        """Return `x` halfway between the two edges at a level."""
        return (self.inner_edge(level, 1) + self.inner_edge(level, -1)) / 2

    @property
    def neck(self) -> int:
        """Return the place in `right` of the first segment above the neck."""
        level = self.form.juncture
        for i, segment in enumerate(self.right):
            if abs(segment.start[1] - level) < 1e-6 or segment.part == "shoulder":
                return i
        return len(self.right)

    def edge(self, level: float, side: int) -> Point:
        """Return the outermost point at a level, on the right (1) or on the left (-1)."""
        path = self.right if side > 0 else self.left
        found = [side * x for x in _at_level(flatten(path), level)]
        return (side * max(found, default=0.0), level)


def plan(states: Mapping[str, str], sizes: Mapping[str, float]) -> Plan:
    """Return the outline of a piece with these states and measurements.

    Args:
        states: one state by attribute id; what is not named is taken as plain.
        sizes: measurements by id in mm and degrees.

    Returns:
        An outline that never crosses itself. Where states or measurements cannot stand together,
        what is finest gives way first: teeth, ears, the hollow of the base, barbs.
    """
    form = _calmed(proportioned(states, sizes))
    right, left = _sides(form)
    return Plan(form, right, left, _not_kept(form, right, sizes))


def _at_level(points: Sequence[Point], level: float) -> list[float]:
    return [
        a[0] if a[1] == b[1] else a[0] + (level - a[1]) / (b[1] - a[1]) * (b[0] - a[0])
        for a, b in pairwise(points)
        if min(a[1], b[1]) <= level <= max(a[1], b[1])
    ]


def _sides(form: Form) -> tuple[Path, Path]:
    right = _right(form)
    left = mirrored(right)
    shift = _shift(form)
    if shift is None:
        return right, left
    return (
        tuple(segment.moved(shift) for segment in right),
        tuple(segment.moved(shift) for segment in left),
    )


def _right(form: Form) -> Path:
    below = haft(form)
    return (*below, *blade(form, below[-1].end))


def _foot_of_blade(form: Form) -> float:
    """Return a level above the whole haft, shoulders and barbs included."""
    if not form.set_off:
        return form.under + form.haft
    return form.juncture + form.floor / 2 + max(form.rise, 0.0)


def _shift(form: Form) -> Callable[[Point], Point] | None:
    """Return how a lopsided blade is pushed out of true, more so toward the tip; None if it is not.

    A blade off its axis keeps its width at every level. The end of a graver is slanted, so that one
    corner of it stands out as a spur.
    """
    low = _foot_of_blade(form)
    high = form.length - low
    if form.states["reworked_as"] == "graver" and form.states["tip"] != "bit":
        lean = form.lean * min(0.5, 0.3 * high / form.width)
        reach = lean * 0.5 * form.width
        return lambda p: (p[0], p[1] + max(0.0, (p[1] - low) / high) * (lean * p[0] - reach))
    if form.states["blade_symmetry"] == "asymmetrical":
        push = 0.42 * form.lean * form.width
        return lambda p: (p[0] + push * max(0.0, (p[1] - low) / high) ** 2, p[1])
    return None


def _meeting(form: Form) -> tuple[str, str] | None:
    """Return the parts of two segments that cross, or None."""
    met = crossing(_right(form))
    if met is None and _shift(form) is not None:
        right, left = _sides(form)
        if crossing((*right, *left), -inf):
            return (_LEAN, _LEAN)
    return met


def _calmed(form: Form) -> Form:
    """Return the form with as much of its finer features as fits without a crossing.

    Where something had to give way it does so once more, so that lines do not merely miss.
    """
    met = last = _meeting(form)
    for _ in range(30):
        if met is None:
            easier = _calmer(form, last) if last else form
            return easier if _meeting(easier) is None else form
        form, last = _calmer(form, met), met
        met = _meeting(form)
    return replace(
        form,
        rise=0.0,
        distal=None,
        proximal=None,
        ear=0.0,
        teeth=0.0,
        lean=0.0,
        floor=0.0,
        hollow=0.3,
        depth=min(form.depth, 0.3 * form.haft),
    )


def _calmer(form: Form, met: tuple[str, str]) -> Form:
    """Give way a little in whatever the two crossing segments belong to."""
    parts = set(met)
    if _LEAN in parts:
        return replace(form, lean=0.6 * form.lean)
    if "blade" in parts and form.teeth > 0.1 and form.states["blade_edge"] != "plain":
        form = replace(form, teeth=form.teeth * 0.5)
    if "ear" in parts:
        form = replace(form, ear=form.ear * 0.7)
    if "base" in parts:
        shallow = form.depth if form.hollow > 0.5 else form.depth * 0.85
        form = replace(form, hollow=form.hollow * 0.85, depth=shallow)
    if parts & {"shoulder", "notch"} or parts == {"blade"}:
        rise = form.rise * 0.75 if abs(form.rise) > 0.02 * form.width else 0.0
        form = replace(form, rise=rise, distal=form.distal if rise else None)
    if parts & {"haft", "notch"}:
        form = replace(form, floor=form.floor * 0.8, proximal=_straighter(form.proximal))
    return form


def _straighter(angle: float | None) -> float | None:
    return None if angle is None or abs(angle - 90) < 5 else 90 + (angle - 90) * 0.8


def _not_kept(form: Form, right: Path, sizes: Mapping[str, float]) -> tuple[str, ...]:
    """Name the measurements that the outline does not show as they were taken."""
    points = flatten(right)
    neck = form.set_off or form.states["haft_sides"] == "recurved"
    drawn = {
        "length": max(p[1] for p in points) - min(p[1] for p in points),
        "width": 2 * next(segment.start[0] for segment in right if segment.part in _BLADE),
        "neck_width": 2 * form.neck if neck else None,
        "base_width": 2 * form.base,
        "haft_length": form.haft,
        "blade_length": form.length - form.juncture,
        "basal_concavity": form.depth,
    }
    drawn |= dict(zip(("psa", "dsa"), _angles(form, right), strict=True))
    return tuple(
        name
        for name, value in drawn.items()
        if name in sizes and (value is None or abs(value - sizes[name]) > 0.01 * sizes[name])
    )


def _angles(form: Form, right: Path) -> tuple[float | None, float | None]:
    """Return the shoulder angles below and above the neck as drawn, in degrees."""
    if not form.set_off or form.states["notch_position"] == "basal":
        return None, None
    neck = next(i for i, s in enumerate(right) if _ends_floor(form, s.start))
    below = [segment.turned() for segment in reversed(right[:neck])]
    return _first_angle(form, below), _first_angle(form, right[neck:])


def _ends_floor(form: Form, p: Point) -> bool:
    return abs(p[0] - form.neck) < 1e-6 and p[1] > form.juncture - form.floor / 2 - 1e-6


def _first_angle(form: Form, path: Sequence[Segment]) -> float | None:
    """Return the angle of the first straight wall away from the floor of the notch."""
    for segment in path:
        (ax, ay), (bx, by) = segment.start, segment.end
        on_floor = abs(ax - form.neck) < 1e-6 and abs(bx - form.neck) < 1e-6
        if len(segment.points) == 2 and not (on_floor and segment.part == "notch"):
            return degrees(atan2(ay - by, ax - bx)) % 360
    return None
