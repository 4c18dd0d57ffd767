"""A document as one HTML page that needs nothing else: no script, no font, no picture from afar."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from pathlib import Path

from keygen.collection.document import (
    LANGUAGE,
    Block,
    Document,
    Figure,
    Heading,
    Paragraph,
    line,
    printable,
)
from keygen.pictures.portrait import SCALE
from keygen.pictures.svg import body, number
from keygen.prose.render import render

STEP = 20  # from bar to bar, in units of the drawing; a unit is a pixel on a wide screen
LETTER = 6.4  # the width of a letter of the labels, on average
LONGEST = 240


@dataclass(frozen=True)
class Part:
    """A part of a bar as drawn, with the number of its series."""

    x: float
    width: float
    series: int


@dataclass(frozen=True)
class DrawnBar:
    """A bar as drawn."""

    label: str
    y: int
    parts: tuple[Part, ...]
    end: float
    length: int


@dataclass(frozen=True)
class Key:
    """An entry of the key to the bars."""

    name: str
    y: int
    series: int


@dataclass(frozen=True)
class Plot:
    """A figure as drawn: its size, the width that labels take, bars and key."""

    width: int
    height: int
    labels: int
    bars: tuple[DrawnBar, ...]
    key: tuple[Key, ...]


def html(document: Document, folder: Path | None = None) -> bytes:
    """Return a document as an HTML page, in UTF-8.

    Args:
        folder: a folder of the user's own templates, if any.

    Raises:
        KeygenError: a template cannot be used.
    """
    first = (i for i, block in enumerate(document.blocks) if isinstance(block, Heading))
    values = {
        "document": document,
        "kinds": document.kinds,
        "language": LANGUAGE,
        "opening": next(first, 0),
        "outlines": outlines(document.blocks),
        "plots": {b.number: plot(b) for b in document.blocks if isinstance(b, Figure)},
    }
    return printable(render("document/page.html.j2", values, folder)).encode()


def outlines(blocks: Sequence[Block]) -> dict[int, str]:
    """Return the outline beside each paragraph that has one, by the number of its block.

    The same lines stand in the page once; where they come again, they are shown by reference.
    """
    drawn: dict[int, str] = {}
    known: dict[str, str] = {}
    for i, block in enumerate(blocks):
        if not isinstance(block, Paragraph) or block.picture is None:
            continue
        picture = block.picture
        lines = body(picture)
        if lines in known:
            inside = f'<use href="#{known[lines]}"/>'
        else:
            known[lines] = f"outline-{len(known) + 1}"
            inside = f'<g id="{known[lines]}">{lines}</g>'
        left, bottom, right, top = picture.box
        wide, high = right - left, top - bottom
        drawn[i] = (
            f'<svg class="outline" width="{number(wide / SCALE)}mm" '
            f'height="{number(high / SCALE)}mm" viewBox="{number(left)} {number(-top)} '
            f'{number(wide)} {number(high)}" role="img"><title>{escape(picture.title)}</title>'
            f"<desc>{escape(picture.says)}</desc>{inside}</svg>"
        )
    return drawn


def plot(figure: Figure) -> Plot:
    """Return where everything in a figure of bars is drawn."""
    labels = round(16 + LETTER * max(len(line(bar.label)) for bar in figure.bars))
    bars = tuple(_drawn(figure, i, labels) for i in range(len(figure.bars)))
    below = STEP * len(bars) + 12
    key = tuple(Key(name, below + 18 * i, i) for i, name in enumerate(figure.series))
    return Plot(labels + LONGEST + 40, below + 18 * len(key), labels, bars, key)


def _drawn(figure: Figure, index: int, labels: int) -> DrawnBar:
    bar = figure.bars[index]
    parts, x = [], float(labels)
    for series, count in enumerate(bar.parts):
        if count:
            width = round(count / figure.longest * LONGEST, 1)
            parts.append(Part(round(x, 1), width, series))
            x += width
    return DrawnBar(bar.label, STEP * index + 3, tuple(parts), round(x, 1), bar.length)
