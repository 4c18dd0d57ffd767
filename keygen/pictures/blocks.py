"""Pictures for a terminal, in Unicode's braille patterns of two by four dots a cell.

Made from the same drawings as the SVG, so the two never differ in what they show.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise, zip_longest

from keygen.pictures.geometry import Point, flatten
from keygen.pictures.svg import Drawing

_BLANK = 0x2800
# The bit of each dot of a cell, by column and row from the top.
_BITS = ((0x01, 0x02, 0x04, 0x40), (0x08, 0x10, 0x20, 0x80))
# Every how many dots of a line are set; what is left out is too fine for a terminal.
_EVERY = {
    **dict.fromkeys(("full", "heavy", "thin", "solid", "mark"), 1),
    **dict.fromkeys(("gone", "open", "dots"), 3),
    "lost": 4,
}


def blocks(drawing: Drawing, columns: int = 16, rows: int = 10) -> tuple[str, ...]:
    """Return a drawing as lines of braille patterns.

    The picture fills the height or the width, whichever it meets first, and is centred.

    Args:
        columns, rows: size in characters of the terminal.

    Returns:
        `rows` lines of `columns` characters.
    """
    left, bottom, right, top = drawing.box
    wide, high = 2 * columns - 1, 4 * rows - 1
    scale = min(wide / (right - left), high / (top - bottom))
    aside = (wide - scale * (right - left)) / 2
    above = (high - scale * (top - bottom)) / 2
    cells = [[0] * columns for _ in range(rows)]

    def put(x: int, y: int) -> None:
        if 0 <= x <= wide and 0 <= y <= high:
            cells[y // 4][x // 2] |= _BITS[x % 2][y % 4]

    for stroke in drawing.strokes:
        every = _EVERY.get(stroke.style)
        for path in stroke.paths if every else ():
            places = [
                (aside + scale * (x - left), above + scale * (top - y)) for x, y in flatten(path)
            ]
            for i, (x, y) in enumerate(_dots(places)):
                if i % (every or 1) == 0:
                    put(x, y)
                    if stroke.style == "heavy":
                        put(x + 1, y)
                        put(x, y + 1)
    return tuple("".join(chr(_BLANK + cell) for cell in row) for row in cells)


def side_by_side(first: tuple[str, ...], second: tuple[str, ...], gap: int = 4) -> tuple[str, ...]:
    """Return two pictures side by side, as two leads are put."""
    wide = max(map(len, first), default=0)
    return tuple(
        f"{a:<{wide}}{' ' * gap}{b}".rstrip() for a, b in zip_longest(first, second, fillvalue="")
    )


def _dots(places: list[Point]) -> Iterator[tuple[int, int]]:
    """Yield the dots along a chain, each once in a row."""
    last: tuple[int, int] | None = None
    for (ax, ay), (bx, by) in pairwise(places):
        count = max(1, round(2 * max(abs(bx - ax), abs(by - ay))))
        for i in range(count + 1):
            dot = (round(ax + (bx - ax) * i / count), round(ay + (by - ay) * i / count))
            if dot != last:
                yield dot
            last = dot
