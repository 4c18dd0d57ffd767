"""The cross-section of a blade, lying flat: its width across, its thickness upward."""

from __future__ import annotations

from keygen.pictures.geometry import Path, Point, Segment, chain, curve

# Half of a lens; the middle of the upper face is at 1, the edges at 0.
_RIDGED = ((-1.0, 0.0), (0.0, 1.0), (1.0, 0.0), (0.0, -1.0))
_RHOMBOID = ((-1.0, -0.25), (0.62, 1.0), (1.0, 0.25), (-0.62, -1.0))
_HEXAGON = ((-1.0, 0.0), (-0.5, 1.0), (0.5, 1.0), (1.0, 0.0), (0.5, -1.0), (-0.5, -1.0))
_IRREGULAR = (
    (-1.0, -0.2),
    (-0.62, 0.5),
    (-0.2, 0.45),
    (0.15, 1.0),
    (0.5, 0.35),
    (1.0, 0.1),
    (0.45, -0.7),
    (-0.1, -0.45),
    (-0.5, -1.0),
)


def section(kind: str, half_width: float, thickness: float, middle: Point) -> Path:
    """Return a closed cross-section.

    Args:
        kind: a state of the cross-section.
        half_width, thickness: in mm.
        middle: where it is drawn.
    """
    x, y = middle
    a, t = half_width, thickness / 2

    def at(u: float, v: float) -> Point:
        return (x + u * a, y + v * t)

    if kind in ("median_ridged", "rhomboid", "hexagonal", "irregular"):
        corners = {
            "median_ridged": _RIDGED,
            "rhomboid": _RHOMBOID,
            "hexagonal": _HEXAGON,
            "irregular": _IRREGULAR,
        }[kind]
        points = [at(u, v) for u, v in corners]
        return chain([*points, points[0]])
    left, right = at(-1, 0), at(1, 0)
    if kind == "plano_convex":
        left, right = at(-1, -1), at(1, -1)
        arch = curve(left, at(-0.6, 1.67), at(0.6, 1.67), right)
        return (arch, *chain([right, left]))
    if kind == "flattened":
        return (
            curve(left, at(-0.94, 0.9), at(-0.8, 1), at(-0.6, 1)),
            *chain([at(-0.6, 1), at(0.6, 1)]),
            curve(at(0.6, 1), at(0.8, 1), at(0.94, 0.9), right),
            curve(right, at(0.94, -0.9), at(0.8, -1), at(0.6, -1)),
            *chain([at(0.6, -1), at(-0.6, -1)]),
            curve(at(-0.6, -1), at(-0.8, -1), at(-0.94, -0.9), left),
        )
    if kind == "biconcave":
        face = (
            (-1.0, 0.0), (-0.9, 0.5), (-0.75, 1.0), (-0.6, 1.0), (-0.35, 0.3),
            (0.35, 0.3), (0.6, 1.0), (0.75, 1.0), (0.9, 0.5), (1.0, 0.0),
        )  # fmt: skip
        ring = [at(u, v) for u, v in (*face, *((-u, -v) for u, v in face[1:]))]
        return tuple(Segment(tuple(ring[i : i + 4])) for i in range(0, 18, 3))
    return (
        curve(left, at(-0.5, 1.333), at(0.5, 1.333), right),
        curve(right, at(0.5, -1.333), at(-0.5, -1.333), left),
    )
