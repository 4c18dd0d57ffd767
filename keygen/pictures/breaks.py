"""What of an outline is still there: runs of the path that survive, and runs that are gone."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

from keygen.pictures.geometry import Path, Point, Segment, curve, distance, divide
from keygen.pictures.plan import Plan

_SHOULDER = frozenset({"shoulder", "blade", "notch"})
_CORNER = frozenset({"ear", "base", "haft"})


@dataclass(frozen=True)
class Remains:
    """A closed outline as runs that are kept or gone, in order, and the levels that survive.

    `cracks` are breaks that were mended: lines across the piece from one point to another.
    """

    runs: tuple[tuple[bool, Path], ...]
    low: float
    high: float
    cracks: tuple[tuple[Point, Point], ...] = ()

    @property
    def edges(self) -> tuple[tuple[Point, Point], ...]:
        """Return where each break begins and ends on the outline."""
        return tuple((run[0].start, run[-1].end) for kept, run in self.runs if not kept)


def remains(plan: Plan, portion: str, damage: frozenset[str], at_least: float = 0.0) -> Remains:
    """Return what survives of an outline.

    Args:
        portion: the portion present.
        damage: items of damage that are known to be there.
        at_least: length of the fragment in mm, where it was measured across a break; 0 if not.
    """
    low, high = _levels(plan, portion, damage, at_least)
    if "haft_snap" in damage and portion in ("proximal", "distal") and plan.form.set_off:
        parts = _snapped_at_neck(plan, portion)
    else:
        broken = damage if portion != "complete" else frozenset[str]()
        parts = [
            piece
            for side, items in ((plan.right, broken), (plan.left, frozenset[str]()))
            for segment in side
            for piece in _pieces(segment, _kept(low, high, _lost(plan, segment, portion, items)))
        ]
    return Remains(_runs(parts), low, high, _cracks(plan, portion, damage))


def _snapped_at_neck(plan: Plan, portion: str) -> list[tuple[bool, Segment]]:
    """Return the outline parted at the neck. Barbs stay with the blade, however low they hang."""
    neck, count = plan.neck, len(plan.right)
    haft_kept = portion == "proximal"
    return [
        ((i < neck or i >= 2 * count - neck) == haft_kept, segment)
        for i, segment in enumerate(plan.path)
    ]


def _levels(
    plan: Plan, portion: str, damage: frozenset[str], at_least: float
) -> tuple[float, float]:
    """Return the lowest and highest level of what survives."""
    form, foot = plan.form, plan.foot
    length, blade = form.length, form.length - foot
    if portion == "proximal":
        return 0.0, min(max(at_least, foot + 0.12 * blade), foot + 0.9 * blade)
    if portion == "medial":
        return foot + 0.06 * blade, foot + 0.62 * blade
    low, high = 0.0, length
    if damage & {"tip_snap", "impact"} and portion != "complete":
        high = foot + (0.86 if "tip_snap" in damage else 0.93) * blade
        if portion == "near_complete" and at_least:
            high = max(min(at_least, 0.98 * length), foot + 0.5 * blade)
    if portion == "distal":
        if "haft_snap" in damage and form.set_off:
            return low, high
        low = foot + 0.1 * blade
        if at_least:
            low = max(min(length - at_least, foot + 0.8 * blade), low)
    return low, high


def _lost(
    plan: Plan, segment: Segment, portion: str, damage: frozenset[str]
) -> Callable[[Point], float] | None:
    """Return a line beyond which a corner or a side is gone, for one segment."""
    form = plan.form
    if portion == "lateral":
        return lambda p: p[0] + 0.16 * form.width + 0.1 * form.width * (p[1] / form.length - 0.5)
    if "barb_loss" in damage and segment.part in _SHOULDER and form.set_off:
        level = form.juncture + form.floor / 2 + form.rise
        near = 0.6 * (form.width - form.neck)
        return lambda p: (form.width - near - p[0]) + 0.55 * (p[1] - level)
    if "ear_loss" in damage and segment.part in _CORNER:
        level = form.under + max(0.0, -form.depth)
        near, slope = 0.3 * form.base, min(1.0, 0.6 * form.base / max(form.haft, 1e-6))
        return lambda p: (form.base - near - p[0]) + slope * (p[1] - level)
    return None


def _kept(
    low: float, high: float, lost: Callable[[Point], float] | None
) -> Callable[[Point], float]:
    def side(p: Point) -> float:
        inside = min(high - p[1], p[1] - low)
        return inside if lost is None else min(inside, lost(p))

    return lambda p: side(p) + 1e-9


def _pieces(segment: Segment, side: Callable[[Point], float]) -> list[tuple[bool, Segment]]:
    return [(kept, piece) for kept, run in divide((segment,), side) for piece in run]


def _runs(parts: list[tuple[bool, Segment]]) -> tuple[tuple[bool, Path], ...]:
    """Join neighbours alike, and the end of the closed path with its start."""
    runs: list[tuple[bool, list[Segment]]] = []
    for kept, segment in parts:
        if runs and runs[-1][0] == kept:
            runs[-1][1].append(segment)
        else:
            runs.append((kept, [segment]))
    if len(runs) > 1 and runs[0][0] == runs[-1][0]:
        runs[0] = (runs[0][0], [*runs[-1][1], *runs[0][1]])
        runs.pop()
    return tuple((kept, tuple(run)) for kept, run in runs)


def _cracks(plan: Plan, portion: str, damage: frozenset[str]) -> tuple[tuple[Point, Point], ...]:
    if portion not in ("complete", "near_complete"):
        return ()
    form, levels = plan.form, []
    if "haft_snap" in damage:
        levels.append(form.juncture if form.set_off else plan.foot)
    if "lateral_snap" in damage:
        levels.append(plan.foot + 0.4 * (form.length - plan.foot))
    if portion == "complete" and "tip_snap" in damage:
        levels.append(plan.foot + 0.86 * (form.length - plan.foot))
    return tuple((plan.edge(y, 1), plan.edge(y, -1)) for y in levels)


def break_line(start: Point, end: Point) -> Path:
    """Return a break from point to point: a line that wavers a little, as breaks do."""
    far = distance(start, end)
    count = max(2, min(6, round(far / 4)))
    along = ((end[0] - start[0]) / far, (end[1] - start[1]) / far) if far > 1e-9 else (1.0, 0.0)
    across = (-along[1], along[0])
    stops = [far * i / count for i in range(count + 1)]
    out = []
    for i, (a, b) in enumerate(pairwise(stops)):
        swing = (0.34 if i % 2 else -0.34) * far / count * (0.7 if i % 3 else 1.0)

        def at(s: float, t: float) -> Point:
            return (
                start[0] + s * along[0] + t * across[0],
                start[1] + s * along[1] + t * across[1],
            )

        third = (b - a) / 3
        out.append(curve(at(a, 0), at(a + third, swing), at(b - third, swing), at(b, 0), "break"))
    return tuple(out)
