"""SVG text from paths: small, without scripts, ids or styles, so that a page can hold hundreds.

One unit is one millimetre of the piece; coordinates are rounded to a hundredth. Lines take the
colour of the text around them and are told apart by weight and dashes alone.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from html import escape
from typing import Literal

from keygen.pictures.geometry import Box, Path, Point

Style = Literal["full", "heavy", "thin", "gone", "lost", "open", "faint", "mark", "dots", "solid"]
# Weight of the line as a share of the picture's ink, dashes in the same share, what is added.
_STYLES: dict[str, tuple[float, tuple[float, ...], str]] = {
    "full": (1.0, (), ""),
    "heavy": (1.9, (), ""),
    "thin": (0.7, (), ""),
    "gone": (0.6, (4.0, 3.0), ""),
    "lost": (0.5, (2.0, 5.0), ' stroke-opacity=".6"'),
    "open": (0.8, (0.0, 2.6), ""),
    "faint": (0.6, (), ' stroke-opacity=".5"'),
    "mark": (0.5, (), ""),
    "dots": (1.0, (0.0, 2.8), ""),
    "solid": (0.5, (), ' fill="currentColor"'),
}


@dataclass(frozen=True)
class Stroke:
    """Paths drawn in one style."""

    style: Style
    paths: tuple[Path, ...]


@dataclass(frozen=True)
class Label:
    """A few words in the picture, centred on a point; `size` is the height of the letters in mm."""

    text: str
    at: Point
    size: float


@dataclass(frozen=True)
class Drawing:
    """A finished picture in mm, not yet text: what is drawn, and what it says of itself.

    Attributes:
        box: left, bottom, right, top of all that is drawn.
        ink: weight of a full line in mm.
        measured: true where the size of the picture is that of the piece or of its type.
    """

    strokes: tuple[Stroke, ...]
    labels: tuple[Label, ...]
    box: Box
    ink: float
    title: str
    says: str
    measured: bool = False
    remarks: tuple[str, ...] = field(default=())


def number(value: float) -> str:
    """Return a coordinate with two decimals at most, as short as it goes."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    if text in ("-0", ""):
        return "0"
    return text.replace("0.", ".", 1) if text.startswith(("0.", "-0.")) else text


def path_data(paths: Iterable[Path]) -> str:
    """Return the `d` of paths, upward turned downward, relative to the last point.

    Steps are taken between rounded points, so that rounding does not add up along a path.
    """
    out: list[str] = []
    for path in paths:
        here = _rounded(path[0].start)
        first, last = here, ""
        out.append(f"M{_pair(here)}")
        for segment in path:
            steps = [_rounded(p) for p in segment.points[1:]]
            if steps[-1] == here and len(steps) == 1:
                continue
            letter = "l" if len(steps) == 1 else "c"
            text = _joined([(x - here[0], y - here[1]) for x, y in steps])
            if letter == last:
                out.append(text if text.startswith("-") else f" {text}")
            else:
                out.append(letter + text)
            here, last = steps[-1], letter
        if here == first and len(path) > 1:
            out.append("z")
    return "".join(out)


def _rounded(p: Point) -> Point:
    return (round(p[0], 2), round(-p[1], 2))


def _pair(p: Point) -> str:
    return _joined([p])


def _joined(points: Sequence[Point]) -> str:
    text = ""
    for value in (v for p in points for v in p):
        part = number(value)
        text += part if not text or part.startswith("-") else f" {part}"
    return text


def weight_of(style: Style) -> float:
    """Return the weight of a line of a style, as a share of the picture's ink."""
    return _STYLES[style][0]


def body(drawing: Drawing, ink: float | None = None) -> str:
    """Return the lines and letters of a drawing, without the frame around them."""
    ink = drawing.ink if ink is None else ink
    parts = []
    for stroke in drawing.strokes:
        if not stroke.paths:
            continue
        weight, dashes, more = _STYLES[stroke.style]
        attributes = f' stroke-width="{number(weight * ink)}"' if weight != 1.0 else ""
        if dashes:
            attributes += f' stroke-dasharray="{" ".join(number(d * ink) for d in dashes)}"'
        parts.append(f'<path{attributes}{more} d="{path_data(stroke.paths)}"/>')
    for label in drawing.labels:
        x, y = _rounded(label.at)
        parts.append(
            f'<text x="{number(x)}" y="{number(y)}" font-size="{number(label.size)}" '
            'font-family="sans-serif" text-anchor="middle" fill="currentColor" stroke="none">'
            f"{escape(label.text)}</text>"
        )
    return (
        f'<g fill="none" stroke="currentColor" stroke-width="{number(ink)}" '
        f'stroke-linecap="round" stroke-linejoin="round">{"".join(parts)}</g>'
    )


def document(box: Box, inside: str, title: str, says: str, height: str = "") -> str:
    """Return a whole SVG picture.

    Args:
        box: left, bottom, right, top of what is inside, in mm.
        height: a length of CSS (`40px`, `60mm`); empty for the true size in mm.
    """
    left, bottom, right, top = box
    wide, high = right - left, top - bottom
    size = f'width="{number(wide)}mm" height="{number(high)}mm"'
    if height:
        size = f'height="{escape(height)}"'
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" {size} viewBox="{number(left)} {number(-top)} '
        f'{number(wide)} {number(high)}" role="img"><title>{escape(title)}</title>'
        f"<desc>{escape(says)}</desc>{inside}</svg>"
    )


def picture(drawing: Drawing, height: str = "") -> str:
    """Return a drawing as SVG text."""
    return document(drawing.box, body(drawing), drawing.title, drawing.says, height)
