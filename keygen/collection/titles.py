"""Titles and notes above the row of column names, as spreadsheets often have them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from keygen.collection.columns import Names
from keygen.collection.delimited import Record
from keygen.core.model import Rules

MOST_ABOVE = 10  # filled rows that are looked at for the column names
FEWEST_KNOWN = 2  # of the columns, to take a row for their names although another stands above it


class Begin(NamedTuple):
    """The row of column names, if any; what was read behind it; whether a title is above."""

    header: Record | None
    ahead: list[Record]
    titled: bool = False


def begin(found: Iterator[Record], rules: Rules) -> Begin:
    """Return where a table begins.

    The first filled row names the columns. Only where that row has a single cell which names no
    column, a row soon below it that names several takes its place.
    """
    first = next((record for record in found if _filled(record)), None)
    if first is None or first.fault or len(_filled(first)) > 1:
        return Begin(first, [])
    names = Names(rules)
    if _known(names, first):
        return Begin(first, [])
    ahead: list[Record] = []
    for record in found:
        if not _filled(record):
            ahead.append(record)
            continue
        if not record.fault and _known(names, record) >= FEWEST_KNOWN:
            return Begin(record, [], titled=True)
        ahead.append(record)
        if len(ahead) > MOST_ABOVE:
            break
    return Begin(first, ahead)


def _filled(record: Record) -> list[str]:
    return [cell.strip() for cell in record.cells if cell.strip()]


def _known(names: Names, record: Record) -> int:
    """Return how many cells of a row name a column that can be read."""
    placed = (names.place(cell, cell).column.kind for cell in _filled(record))
    return sum(kind not in ("unread", "location") for kind in placed)
