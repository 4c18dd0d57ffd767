"""Rows that sum up the rows above them, as spreadsheets often have at their end.

Common practice, no source.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from keygen.collection.said import Remark

NAMES = frozenset(("total", "totals", "subtotal", "grand total", "sum", "sums")) | frozenset(
    ("mean", "means", "average", "averages", "median")
)
WHAT = "this row sums up others, and is not a specimen: it is not described, called or counted"
REMEDY = "If it is one, give it another number."
LEFT_OUT = Remark(WHAT, REMEDY, "warning")
_FIGURES = re.compile(r"[-+]?\d[\d.,' ]*\s*(?:mm|cm|in|g|oz|%|deg)?\.?|-+")


def sums_up(cells: Sequence[str], at: int) -> bool:
    """Tell whether a row is named `Total`, `Mean` or the like, and all else in it is figures.

    Args:
        cells: the row.
        at: which of them names it.
    """
    if cells[at].strip(" .:").casefold() not in NAMES:
        return False
    others = [cell.strip() for i, cell in enumerate(cells) if i != at and cell.strip()]
    return bool(others) and all(_FIGURES.fullmatch(cell) for cell in others)
