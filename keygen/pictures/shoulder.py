"""Shoulders and barbs, the turn of a notch, and notches cut into the base."""

from __future__ import annotations

from math import cos, radians, sin

from keygen.pictures.form import Form
from keygen.pictures.geometry import Path, Point, Segment, between, chain, curve, distance, line


def rounded_off(path: Path, corner: Point, end: Point, reach: float) -> Path:
    """Return a path that turns through a rounded corner at its end, to `end`."""
    last = path[-1]
    share = min(0.9, reach / max(distance(last.start, corner), 1e-9))
    turn = between(corner, last.start, share)
    return (*path[:-1], line(last.start, turn, last.part), _round(turn, corner, end))


def rounded_on(path: Path, corner: Point, start: Point, reach: float) -> Path:
    """Return a path that turns through a rounded corner at its beginning, from `start`."""
    first = path[0]
    share = min(0.9, reach / max(distance(first.end, corner), 1e-9))
    turn = between(corner, first.end, share)
    if len(first.points) == 4:
        return (line(start, corner, "shoulder"), *path)
    return (_round(start, corner, turn), line(turn, first.end, first.part), *path[1:])


def _round(start: Point, corner: Point, end: Point) -> Segment:
    return curve(start, between(start, corner, 0.62), between(end, corner, 0.62), end, "notch")


def upper_wall(form: Form, high: Point) -> Path:
    """Return the shoulder, from the neck out to where the blade begins."""
    s, w = form.states, form.width
    corner = (w, high[1] + form.rise)
    shape = s["shoulder_shape"]
    if form.distal is not None:
        angle = radians(form.distal)
        away = (-cos(angle), -sin(angle))
        reach = distance(high, corner)
        straight = (corner[0] - high[0]) * away[1] - (corner[1] - high[1]) * away[0]
        if abs(straight) > 1e-6 * reach:
            q = min(0.4 * reach, 0.6 * (w - high[0]) / max(away[0], 0.05))
            if away[1] < 0:
                q = min(q, -0.9 * high[1] / away[1])
            bend = (high[0] + q * away[0], high[1] + q * away[1])
            return chain([high, bend, corner], "shoulder")
    elif shape == "none":
        y, v = high[1], corner[1]
        third = (v - y) / 3
        return (curve(high, (high[0], y + third), (w, v - third), corner, "shoulder"),)
    elif shape == "rounded" and corner[1] > high[1]:
        turn = (w, high[1] + 0.3 * form.rise)
        bend = between(high, turn, 0.5)
        return (
            line(high, bend, "shoulder"),
            curve(
                bend, between(bend, turn, 0.8), (w, turn[1] + 0.1 * form.rise), corner, "shoulder"
            ),
        )
    return _barb(form, high, corner)


def _barb(form: Form, high: Point, corner: Point) -> Path:
    """Return a shoulder in one line, or a barb with its ending."""
    kind = form.states["barb_tip"]
    out, drop = corner[0] - high[0], high[1] - corner[1]
    if kind in ("none", "pointed") or drop <= 0.05 * out:
        return (line(high, corner, "shoulder"),)
    thick = min(0.34 * out, 0.6 * drop)
    if kind == "squared":
        return chain([high, (corner[0] - thick, corner[1]), corner], "shoulder")
    side, inner = (corner[0], corner[1] + 0.6 * thick), (corner[0] - thick, corner[1] + 0.6 * thick)
    return (
        line(high, inner, "shoulder"),
        curve(
            inner,
            (inner[0] + 0.04 * thick, corner[1] - 0.2 * thick),
            (side[0], corner[1] - 0.2 * thick),
            side,
            "shoulder",
        ),
    )


def basal_notch(form: Form, foot: Point) -> Path:
    """Return stem, basal notch and the inner side of a barb."""
    s, w, n, top = form.states, form.width, form.neck, form.juncture
    wide = form.mouth or {"narrow_deep": 0.3, "shallow": 0.55}.get(s["notch_form"], 0.42) * (w - n)
    start = max(n, foot[0]) + wide
    inner = min(start, 0.9 * w) if start < 0.9 * w else n + 0.8 * (w - n)
    low = top + form.rise
    roof = min(0.5 * (inner - n), 0.5 * (top - max(low, foot[1])))
    stem = line(foot, (n, top - roof), "haft")
    kind = s["notch_form"]
    if kind == "squared":
        arch = chain([stem.end, (n, top), (inner, top), (inner, top - roof)], "notch")
    elif kind == "v_shaped":
        arch = chain([stem.end, (n + 0.3 * (inner - n), top), (inner, top - roof)], "notch")
    else:
        crown = ((n + inner) / 2, top)
        arch = (
            curve(stem.end, (n, top - 0.4 * roof), between((n, top), crown, 0.45), crown, "notch"),
            curve(
                crown,
                between((inner, top), crown, 0.45),
                (inner, top - 0.4 * roof),
                (inner, top - roof),
                "notch",
            ),
        )
    end = (w, low)
    tip = _barb_end(s["barb_tip"], s["shoulder_shape"], inner, end, top - roof - low)
    return (stem, *arch, line((inner, top - roof), tip[0].start, "shoulder"), *tip)


def _barb_end(kind: str, shape: str, inner: float, end: Point, room: float) -> Path:
    """Return the lower end of a barb beside a basal notch, at most `room` high."""
    w, low = end
    wide = min(w - inner, 2 * room)
    if kind == "squared" or (kind == "none" and shape == "horizontal"):
        return (line((inner, low), end, "shoulder"),)
    if kind == "rounded" or shape == "rounded":
        r = 0.5 * wide
        return (
            curve(
                (inner, low + r), (inner, low - r / 3), (w, low - r / 3), (w, low + r), "shoulder"
            ),
        )
    if shape == "tapered":
        return (line((inner, low), (w, low + 0.3 * wide), "shoulder"),)
    return (line((inner, low + min(0.9 * wide, 0.5 * room)), end, "shoulder"),)
