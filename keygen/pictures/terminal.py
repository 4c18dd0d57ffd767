"""The pictures of a couplet's two leads for a terminal: side by side, each behind its letter."""

from __future__ import annotations

from dataclasses import replace

from keygen.core.model import Couplet, Rules
from keygen.pictures.blocks import blocks, side_by_side
from keygen.pictures.leads import lead_drawing, why_not
from keygen.pictures.svg import Drawing

COLUMNS, ROWS = 17, 8  # characters of one picture
_MARGIN, _GAP = 5, 3  # letters stand below one another with those of the leads in words
WIDTH = _MARGIN + 2 * (3 + COLUMNS) + _GAP  # columns that the two take up
_BLANK = "\u2800"  # some terminals show the eight dots of an empty pattern as rings


def pair(rules: Rules, couplet: Couplet) -> str:
    """Return the pictures of both leads as lines of text; empty if the couplet has none."""
    if why_not(rules, couplet):
        return ""
    first, second = (lead_drawing(rules, couplet, lead) for lead in couplet.leads)
    shown = [
        _lettered(letter, blocks(drawn, COLUMNS, ROWS))
        for letter, drawn in zip("ab", alike(first, second), strict=True)
    ]
    lines = side_by_side(shown[0], shown[1], _GAP)
    return "\n".join(f"{'':{_MARGIN}}{line}".rstrip() for line in lines)


def alike(first: Drawing, second: Drawing) -> tuple[Drawing, Drawing]:
    """Return two drawings with room of one size, so that they are shown to one scale.

    They stand on one line, each on its own axis.
    """
    wide = max(d.box[2] - d.box[0] for d in (first, second))
    high = max(d.box[3] - d.box[1] for d in (first, second))

    def roomy(drawn: Drawing) -> Drawing:
        left, bottom, right, _ = drawn.box
        aside = (wide - (right - left)) / 2
        return replace(drawn, box=(left - aside, bottom, right + aside, bottom + high))

    return roomy(first), roomy(second)


def _lettered(letter: str, lines: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(
        f"{letter if i == 0 else ' '}  {line.replace(_BLANK, ' ')}" for i, line in enumerate(lines)
    )
