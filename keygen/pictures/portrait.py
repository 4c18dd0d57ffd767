"""The outline of a piece for a report: all at one scale, and none where nothing of it was seen."""

from __future__ import annotations

from dataclasses import replace

from keygen.core.examine import Examination
from keygen.core.model import Rules
from keygen.pictures.kindred import drawable
from keygen.pictures.outline import drawing
from keygen.pictures.sketch import OUTLINED, of_piece
from keygen.pictures.svg import Drawing

SCALE = 2  # mm of a piece to a mm of paper, in reports and in the atlas
UNSIZED = 50.0  # mm: the length at which what has no size of its own is drawn
INK = 0.55  # mm of a piece: the same weight of line for small and large
_Key = tuple[object, ...]


class Portraits:
    """Outlines of pieces; what looks alike is worked out once.

    The bar under an outline stands only where a size was measured, and is ticked at every
    centimetre; its label is left out, because letters in mm of the piece would be too small.
    """

    def __init__(self, rules: Rules) -> None:
        self._rules = rules
        self._able = drawable(rules)
        self._known: dict[_Key, Drawing | None] = {}

    def of(self, found: Examination) -> Drawing | None:
        """Return the outline of a piece; None if nothing of its outline was seen or measured."""
        if not self._able:
            return None
        key = _key(found)
        if key not in self._known:
            self._known[key] = self._drawn(found)
        return self._known[key]

    def _drawn(self, found: Examination) -> Drawing | None:
        sketch = of_piece(self._rules, found)
        seen = any(name in sketch.states and name not in sketch.unknown for name in OUTLINED)
        if not seen and not sketch.measured:
            return None
        return replace(drawing(self._rules, found, ink=INK, unsized=UNSIZED), labels=())


def _key(found: Examination) -> _Key:
    """Return what the outline of a piece depends on."""
    seen = tuple((o.mask, o.how) for o in found.observations)
    return seen, tuple(sorted(found.piece.readings.items(), key=lambda each: each[0]))
