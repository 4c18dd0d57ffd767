"""The haft: basal edge, ears, stem; or the margins of pieces that have none.

Paths run upward on the right-hand side, from the middle of the base to where the blade begins.
"""

from __future__ import annotations

from math import cos, radians, sin

from keygen.pictures import proportions as usual
from keygen.pictures.form import Form
from keygen.pictures.geometry import Path, Point, Segment, between, chain, curve, distance, line
from keygen.pictures.shoulder import basal_notch, rounded_off, rounded_on, upper_wall


def haft(form: Form) -> Path:
    """Return the right side of the haft, from the middle of the base to the foot of the blade."""
    level = _corner_level(form)
    foot = _foot(form, level)
    up = _set_off(form, foot[-1].end) if form.set_off else _margin(form, foot[-1].end)
    base = _base(form, level, foot[0].start, _lean(up[0]) if up else (0.0, 1.0))
    return tuple(s for s in (*base, *foot, *up) if distance(s.start, s.end) > 1e-6)


def _lean(side: Segment) -> Point:
    """Return the direction in which a side leaves the basal corner, of length one."""
    (ax, ay), (bx, by) = side.start, side.points[1]
    far = max(distance(side.start, side.points[1]), 1e-9)
    return ((bx - ax) / far, (by - ay) / far)


def _corner_level(form: Form) -> float:
    """Return the level of the basal corners: above the lowest point if the base bulges."""
    return form.under + max(0.0, -form.depth)


def _foot(form: Form, level: float) -> Path:
    """Return the basal corner with its ear, from where the basal edge ends to the side above."""
    kind, b = form.states["ears"], form.base
    top = form.under + 0.55 * form.haft
    high = min(usual.EAR_HEIGHT[kind] * b * form.ear, top - level)
    inner = max(b * (1 - usual.EAR_WIDTH[kind] * form.ear), 0.5 * b)
    corner = (b, level)
    if kind == "none" or high <= 0.02 * b:
        return (line((b, level), (b, level), "ear"),)
    neck = (inner, level + high)
    if kind == "flared":
        return (
            curve(corner, (0.94 * b, level + 0.1 * high), (inner, level + 0.4 * high), neck, "ear"),
        )
    if kind == "drooping":
        up = 0.42 * high if form.depth <= 0 else min(0.42 * high, 0.6 * form.depth)
        fang = (0.72 * b, level + up)
        return (
            curve(fang, (0.8 * b, level + 0.86 * up), (0.9 * b, level + 0.4 * up), corner, "ear"),
            curve(corner, (b, level + 0.35 * high), (inner, level + 0.55 * high), neck, "ear"),
        )
    if kind == "rounded":
        side, low = (b, level + 0.42 * high), (0.72 * b, level)
        return (
            curve(low, (0.9 * b, level), (b, level + 0.12 * high), side, "ear"),
            curve(side, (b, level + 0.72 * high), (inner, level + 0.66 * high), neck, "ear"),
        )
    return chain([(0.76 * b, level), corner, (b, level + 0.66 * high), neck], "ear")


def _base(form: Form, level: float, end: Point, lean: Point) -> Path:
    """Return the basal edge, from the axis out to the foot, which leaves it leaning as told."""
    kind, depth, h = form.states["base_shape"], form.depth, form.hollow
    g, y = end
    middle = (0.0, level + depth)
    if kind == "straight" or depth == 0:
        return (line((0.0, y), end, "base"),)
    if kind == "excurvate":
        return (curve(middle, (0.38 * g, middle[1]), (0.72 * g, y + 0.55 * depth), end, "base"),)
    if kind in ("rounded", "pointed"):
        reach = 0.55 * abs(depth)
        inward = (max(g - reach * lean[0], 0.3 * g), y - reach * max(lean[1], 0.3))
        start = (0.56 * g, middle[1]) if kind == "rounded" else (0.2 * g, y + 0.8 * depth)
        return (curve(middle, start, (min(inward[0], g), inward[1]), end, "base"),)
    if kind == "bifurcate":
        return _lobes(middle, end, h)
    if kind == "centre_notched":
        start = (0.24 * g, y)
        rest = middle[1] - y
        return (
            curve(middle, (0.13 * g, middle[1]), (0.15 * g, y + 0.5 * rest), start, "base"),
            line(start, end, "base"),
        )
    rest = middle[1] - y
    first, second = (0.36 * h, 0.68 * h) if kind == "incurvate" else (0.52 * h, 0.62 * h)
    if form.states["ears"] == "flared":
        flat = y + min(0.12 * rest, 0.1 * g)  # keeps clear of the upper edge of the ear
        return (curve(middle, (0.45 * g * h, middle[1]), (0.6 * g * h, flat), end, "base"),)
    return (curve(middle, (first * g, middle[1]), (0.74 * g * h, y + second * rest), end, "base"),)


def _lobes(middle: Point, end: Point, h: float) -> Path:
    """Return one lobe of a split base, from the cleft to the corner."""
    (g, y), top = end, middle[1]
    rest = top - y
    wall, low = (0.36 * g, y + 0.34 * rest), (0.68 * g, y)
    return (
        curve(middle, (0.2 * g * h, top), (0.27 * g, y + 0.6 * rest), wall, "base"),
        curve(wall, (0.45 * g, y + 0.08 * rest), (0.54 * g, y), low, "base"),
        curve(low, (0.8 * g, y), (0.93 * g, y), end, "base"),
    )


def _set_off(form: Form, foot: Point) -> Path:
    """Return the side from the foot up past the neck and out to the end of the shoulder."""
    if form.states["notch_position"] == "basal":
        return basal_notch(form, foot)
    notched = form.states["haft_style"] == "notched"
    middle = (form.neck, form.juncture)
    low = (form.neck, form.juncture - form.floor / 2 * notched)
    high = (form.neck, form.juncture + form.floor / 2)
    below = _lower_wall(form, foot, low)
    above = upper_wall(form, high)
    kind = form.states["notch_form"]
    if form.floor <= 0:
        return (*below, *above)
    if not notched:
        return (*below, *rounded_on(above, high, middle, form.floor))
    if kind == "squared":
        return (*below, line(low, high, "notch"), *above)
    reach = form.floor / 2 if kind != "shallow" else form.width
    return (
        *rounded_off(below, low, middle, reach),
        *rounded_on(above, high, middle, reach),
    )


def _lower_wall(form: Form, foot: Point, low: Point) -> Path:
    """Return the side of the stem, or of the part below a notch, from the foot up to the neck."""
    away = None
    if form.proximal is not None:
        angle = radians(form.proximal)
        away = (-cos(angle), -sin(angle))
    if form.states["notch_position"] == "side":
        return _tang(form, foot, low, away)
    if away is None:
        return (line(foot, low, "haft"),)
    return _angled(low, foot, away, "haft")


def _angled(neck: Point, foot: Point, away: Point, part: str) -> Path:
    """Return a way from the foot to the neck that leaves the neck in a given direction."""
    q = 0.4 * distance(neck, foot)
    if away[0] < 0:
        q = min(q, -0.7 * min(neck[0], foot[0] + 0.5 * neck[0]) / away[0])
    if away[1] < 0:
        q = min(q, -0.9 * (neck[1] - foot[1]) / away[1])
    bend = (neck[0] + q * away[0], neck[1] + q * away[1])
    return chain([foot, bend, neck], part)


def _tang(form: Form, foot: Point, low: Point, away: Point | None) -> Path:
    """Return what a side notch leaves standing below it: the side of the base, then the wall."""
    out, space = foot[0] - low[0], low[1] - foot[1]
    fall = {"v_shaped": 0.9, "shallow": 0.6}.get(form.states["notch_form"], 0.1) * out
    if away is not None:
        fall = -out * away[1] / away[0] if away[0] > 0.05 else out * 9
    lip = (foot[0], low[1] - max(min(fall, 0.8 * space), -0.4 * form.floor))
    start = between(foot, lip, 0.78) if form.states["ears"] == "none" else foot
    path = (
        line(foot, start, "haft"),
        curve(
            start,
            between(start, lip, 0.6),
            between(lip, low, 0.06),
            between(lip, low, 0.14),
            "haft",
        ),
    )
    return (*path, line(path[-1].end, low, "notch"))


def _margin(form: Form, foot: Point) -> Path:
    """Return the margin of a haft that is not set off, up to where the blade begins."""
    sides, w = form.states["haft_sides"], form.width
    x, y = foot
    top = form.under + form.haft
    widest = max(top, y) if form.states["haft_style"] != "leaf" else max(0.38 * form.length, y)
    if sides == "recurved":
        waist = (min(form.neck, x), y + 0.5 * (top - y))
        return (
            _graph(foot, waist, (0.5, 1.0)),
            _graph(waist, (w, top + 0.2 * (form.length - top)), (1.0, 1.0)),
        )
    if form.states["haft_style"] == "triangular" and sides == "expanding":
        near = (w, y + 0.1 * (form.length - y))
        return () if abs(x - w) < 1e-6 else (_graph(foot, near, (0.4, 0.4)),)
    if sides == "expanding":
        if x >= w:
            return () if x == w else (_graph(foot, (w, top), (0.2, 0.8)),)
        waist = (x * 0.94, top)
        return (
            _graph(foot, waist, (0.4, 1.0)),
            _graph(waist, (w, top + 0.3 * (form.length - top)), (1.0, 1.0)),
        )
    if sides == "contracting":
        level = max(widest, 0.42 * form.length) if form.states["haft_style"] != "leaf" else widest
        upright = -0.7 if form.states["haft_style"] == "leaf" else -0.1
        return (_graph(foot, (w, level), (upright, 1.0)),)
    if abs(x - w) <= 0.08 * w:
        return (line(foot, (w, top), "haft"),)
    level = top if x > w else max(top, 0.5 * form.length)
    return (_graph(foot, (w, level), (1.0, 1.0)),)


def _graph(start: Point, end: Point, upright: tuple[float, float]) -> Segment:
    """Return a smooth line upward whose ends stand as upright as told.

    At 1 an end stands on the axis's direction, at 0 it points at the other end, below 0 it leans
    out further, so that the line bulges.
    """
    (x, y), (u, v) = start, end
    third = (v - y) / 3
    a = x + (u - x) / 3 * (1 - upright[0])
    b = u - (u - x) / 3 * (1 - upright[1])
    return curve(start, (a, y + third), (b, v - third), end, "haft")
