"""Several outlines side by side at one scale, standing on one line, with one bar."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from keygen.pictures.geometry import chain
from keygen.pictures.svg import Drawing, Label, Stroke, body, document, number

INK = 0.5  # mm; the same for all, so that small pieces are not drawn in finer lines


def row(
    items: Sequence[Drawing],
    *,
    gap: float = 8.0,
    labels: bool = True,
    title: str = "Outlines at one scale",
    height: str = "",
) -> str:
    """Return drawings side by side at one scale as SVG text.

    Draw them with `bar=False`: the row has one bar of its own. What has no known size is drawn at
    its assumed size, and its label says so.

    Args:
        items: drawings in their own millimetres.
        gap: free space between two, in mm.
        labels: put each drawing's title below it.
        height: a length of CSS; empty for the true size.

    Raises:
        ValueError: there is nothing to draw.
    """
    if not items:
        raise ValueError("no drawings to put in a row")
    size = 3.2
    parts, x = [], 0.0
    for item in items:
        left, bottom, right, _ = item.box
        name = item.title + ("" if item.measured else " (size assumed)")
        wide = max(right - left, 0.58 * size * len(name) if labels else 0.0)
        shift = x + wide / 2 - (left + right) / 2
        parts.append(f'<g transform="translate({number(shift)} {number(bottom)})">')
        parts.append(f"<title>{_escaped(name)}</title>{body(item, INK)}</g>")
        if labels:
            parts.append(body(_text(name, x + wide / 2, -1.6 * size, size), INK))
        x += wide + gap
    wide = x - gap
    top = max(item.box[3] - item.box[1] for item in items)
    low = -3.4 * size if labels else -1.4 * size
    bar, low = _bar(wide, low, size)
    parts.append(body(bar, INK))
    box = (-1.0, low, max(wide, 11.0) + 1.0, top + 1.0)
    says = "Schematic outlines from coded attributes, all at one scale; not drawings of pieces."
    return document(box, "".join(parts), title, says, height)


def _escaped(text: str) -> str:
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")


def _text(text: str, x: float, y: float, size: float) -> Drawing:
    return Drawing((), (Label(text, (x, y), size),), (x, y, x, y), INK, "", "")


def _bar(wide: float, y: float, size: float) -> tuple[Drawing, float]:
    count = max(1, min(5, int(wide / 40)))
    half, tick, middle = 5.0 * count, 1.0, wide / 2
    stops = [middle - half + 10 * i for i in range(count + 1)]
    lines = (
        chain([(middle - half, y), (middle + half, y)]),
        *(chain([(x, y - tick), (x, y + tick)]) for x in stops),
    )
    low = y - tick - 1.1 * size
    drawing = _text(f"{count} cm", middle, low, size)
    return replace(drawing, strokes=(Stroke("thin", lines),)), low - 0.4 * size
