"""Tables as text: CSV with comma, semicolon, tab or pipe, read as a stream.

A quotation mark that is never closed would swallow all that follows. So a row that spans more
lines than any real cell does, or goes on oddly after a quotation mark, is read again as the one
line it began with, marked, and the lines after it are rows of their own.
"""

from __future__ import annotations

import csv
from collections import deque
from collections.abc import Iterable, Iterator
from typing import NamedTuple

from keygen.collection.decoding import is_bad, repaired
from keygen.collection.model import Fault, Row
from keygen.collection.safety import MARK, unmarked

DELIMITERS = (",", ";", "\t", "|")
MOST_LINES = 500  # of one row: more is a quotation mark that was never closed
MOST_SIGNS = 32_767  # of one cell, as in programs for tables
_SHOWN = 60


class Record(NamedTuple):
    """One record of the file: its number, the line where it begins, its cells, what was wrong."""

    number: int
    line: int
    cells: list[str]
    fault: str = ""


class _NeverClosed(Exception):
    """A row spans more lines than any does."""


class _Feed:
    """Lines for the parser, of which those of the present row can be given back."""

    def __init__(self, lines: Iterable[str]) -> None:
        self.lines = iter(lines)
        self.back: deque[str] = deque()
        self.held: list[str] = []

    def __iter__(self) -> Iterator[str]:
        return self

    def __next__(self) -> str:
        line = self.back.popleft() if self.back else next(self.lines)
        self.held.append(line)
        if len(self.held) > MOST_LINES:
            raise _NeverClosed
        return line


def delimiter_of(sample: str) -> str:
    """Return the delimiter under which the rows of a sample are most alike their first.

    A first line `sep=;`, which some programs write, settles it.
    """
    lines = [line for line in sample.splitlines(keepends=True)[:200] if line.strip()]
    if lines and lines[0].lower().startswith("sep=") and len(lines[0].strip()) == 5:
        return lines[0].strip()[4]
    best = (0.0, 1, ",")
    for delimiter in DELIMITERS:
        try:
            widths = [len(row) for row in csv.reader(lines, delimiter=delimiter)]
        except csv.Error:
            widths = [len(line.split(delimiter)) for line in lines]
        if widths and widths[0] > 1:
            alike = widths.count(widths[0]) / len(widths)
            best = max(best, (round(alike, 1), widths[0], delimiter))
    return best[2]


def records(lines: Iterable[str], delimiter: str) -> Iterator[Record]:
    """Read records one by one, empty ones too."""
    feed = _Feed(lines)
    reader = csv.reader(feed, delimiter=delimiter, strict=True)
    number, line, width = 0, 1, 0
    while True:
        held: list[str] = []
        feed.held = held
        fault = ""
        try:
            cells = next(reader)
        except StopIteration:
            return
        except (csv.Error, _NeverClosed):
            first, *rest = held
            feed.back.extendleft(reversed(rest))
            feed.held = held = [first]
            reader = csv.reader(feed, delimiter=delimiter, strict=True)
            fault = "a quotation mark is not closed, or is inside a cell"
            cells = _one_line(first, delimiter, width)
        number += 1
        width = width or len(cells)
        yield Record(number, line, cells, fault)
        line += len(held)


def _one_line(text: str, delimiter: str, width: int) -> list[str]:
    """Return the cells of a line with a stray quotation mark, as many as the header has if it can.

    The parser's own lenient reading first; else quotation marks are taken for ordinary signs.
    """
    bare = text.rstrip("\r\n")
    plain = bare.split(delimiter)
    try:
        lenient = next(csv.reader([bare], delimiter=delimiter), [])
    except csv.Error:  # a cell beyond the parser's own limit
        return plain
    return plain if len(plain) == width != len(lenient) else lenient


def checked(record: Record, header: tuple[str, ...]) -> Row | None:
    """Return a record as a row with what is wrong with it; None if it is empty."""
    cells = record.cells
    whole = "".join(cells)
    if not whole or whole.isspace():
        return None
    faults: list[Fault] = []
    if record.fault:
        what = f"{record.fault} (line {record.line})"
        remedy = "Put two quotation marks where one is meant."
        faults.append(Fault(record.number, "", _short(" ".join(cells)), what, remedy))
    width = len(header)
    if len(cells) > width:
        beyond = [cell for cell in cells[width:] if cell.strip()]
        if beyond:
            what = f"the row has {len(cells)} cells, the header {width}"
            remedy = "Put quotation marks around a cell that holds the delimiter."
            faults.append(Fault(record.number, "", _short(" ".join(beyond)), what, remedy))
        cells = cells[:width]
    short = len(cells) < width
    if short:
        cells = cells + [""] * (width - len(cells))
    if MARK in whole and any(cell[:1] == MARK for cell in cells):
        cells = [unmarked(cell) for cell in cells]
    if len(whole) > MOST_SIGNS or "\0" in whole or is_bad(whole):
        cells = [_plain(record.number, header[i], cell, faults) for i, cell in enumerate(cells)]
    return Row(record.number, tuple(cells), record.line, tuple(faults), short)


def _plain(number: int, column: str, cell: str, faults: list[Fault]) -> str:
    """Return a cell as it can be used, and note what was wrong with it."""
    if len(cell) > MOST_SIGNS:
        what = f"a cell of {len(cell):,} characters is not read; {MOST_SIGNS:,} are allowed"
        faults.append(Fault(number, column, _short(cell), what))
        return ""
    if "\0" in cell:
        cell = cell.replace("\0", "")
        what = "NUL characters in the cell are left out; the file may be damaged here"
        faults.append(Fault(number, column, _short(repaired(cell)), what))
    if is_bad(cell):
        cell = repaired(cell)
        what = "some bytes are not of the file's encoding; read as Windows-1252"
        faults.append(Fault(number, column, _short(cell), what, "Look at it.", "warning"))
    return cell


def _short(text: str) -> str:
    return text if len(text) <= _SHOWN else text[: _SHOWN - 1] + "\u2026"
