"""Drawings as DrawingML (ECMA-376 Part 1, 20.1): true lines, without a picture in dots beside them.

Each stroke is one shape of a group, a path in hundredths of a millimetre of the piece. All shapes
fill the frame of the drawing, so that they lie over one another as they were drawn.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from keygen.pictures.geometry import Box, Path, Point
from keygen.pictures.svg import Drawing, Stroke, weight_of

EMU = 36_000  # English Metric Units in a millimetre
_GRAIN = 100  # units of a path in a millimetre of the piece
_DASHES = {"gone": "dash", "lost": "sysDash", "open": "sysDot", "dots": "sysDot"}
_GREY = {"faint": "7F7F7F", "lost": "595959"}
_BLACK = "000000"


@dataclass(frozen=True)
class Frame:
    """A drawing as shapes: its width and height on paper in EMU, and the shapes as XML."""

    width: int
    height: int
    shapes: str


def frame(drawing: Drawing, scale: float) -> Frame:
    """Return a drawing as the shapes of a group, without the frame around them.

    Args:
        scale: mm of the piece to a mm of paper.
    """
    left, bottom, right, top = drawing.box
    width, height = (round(size * EMU / scale) for size in (right - left, top - bottom))
    strokes = [stroke for stroke in drawing.strokes if any(stroke.paths)]
    shapes = (_shape(stroke, drawing, (width, height), scale) for stroke in strokes)
    return Frame(width, height, "".join(shapes))


def _shape(stroke: Stroke, drawing: Drawing, size: tuple[int, int], scale: float) -> str:
    colour = _GREY.get(stroke.style, _BLACK)
    ink = f'<a:solidFill><a:srgbClr val="{colour}"/></a:solidFill>'
    weight = round(weight_of(stroke.style) * drawing.ink * EMU / scale)
    dash = _DASHES.get(stroke.style, "solid")
    filled = stroke.style == "solid"
    left, bottom, right, top = drawing.box
    wide, high = round((right - left) * _GRAIN), round((top - bottom) * _GRAIN)
    fill = "" if filled else ' fill="none"'
    return (
        "<wps:wsp><wps:cNvSpPr/><wps:spPr>"
        f'<a:xfrm><a:off x="0" y="0"/><a:ext cx="{size[0]}" cy="{size[1]}"/></a:xfrm>'
        "<a:custGeom><a:avLst/><a:gdLst/><a:ahLst/><a:cxnLst/>"
        '<a:rect l="0" t="0" r="r" b="b"/><a:pathLst>'
        f'<a:path w="{wide}" h="{high}"{fill}>{_steps(stroke.paths, drawing.box)}</a:path>'
        f"</a:pathLst></a:custGeom>{ink if filled else '<a:noFill/>'}"
        f'<a:ln w="{weight}" cap="rnd">{ink}<a:prstDash val="{dash}"/><a:round/></a:ln>'
        "</wps:spPr><wps:bodyPr/></wps:wsp>"
    )


def _steps(paths: Iterable[Path], box: Box) -> str:
    """Return paths as steps of a DrawingML path, from the upper left of the box."""

    def at(p: Point) -> str:
        x, y = round((p[0] - box[0]) * _GRAIN), round((box[3] - p[1]) * _GRAIN)
        return f'<a:pt x="{x}" y="{y}"/>'

    out: list[str] = []
    for path in paths:
        if not path:
            continue
        out.append(f"<a:moveTo>{at(path[0].start)}</a:moveTo>")
        for segment in path:
            name = "lnTo" if len(segment.points) == 2 else "cubicBezTo"
            out.append(f"<a:{name}>{''.join(map(at, segment.points[1:]))}</a:{name}>")
        if len(path) > 1 and path[-1].end == path[0].start:
            out.append("<a:close/>")
    return "".join(out)
