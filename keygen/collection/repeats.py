"""Which specimen numbers were met before, in about nine bytes for each of millions."""

from __future__ import annotations

from array import array
from bisect import bisect_left

_PARTS = 1 << 12
_ROW_BITS = 24
_LAST = (1 << _ROW_BITS) - 1
_SIGN_BITS = (1 << 40) - 1


class Repeats:
    """Remembers specimen numbers by 52 bits of their hash, with the row where each first stood.

    Two different numbers are taken for one with a chance of about 1 in 9,000 in a table of a
    million rows. Rows beyond 16,777,214 are remembered without their number.
    """

    def __init__(self) -> None:
        self.parts = [array("Q") for _ in range(_PARTS)]

    def first(self, label: str, row: int) -> int:
        """Return the row in which a specimen number stood first; 0 if it is new."""
        sign = hash(label)
        part = self.parts[sign & (_PARTS - 1)]
        low = (sign >> 12 & _SIGN_BITS) << _ROW_BITS
        at = bisect_left(part, low)
        if at < len(part) and part[at] >> _ROW_BITS == low >> _ROW_BITS:
            return part[at] & _LAST
        part.insert(at, low | min(row, _LAST))
        return 0
