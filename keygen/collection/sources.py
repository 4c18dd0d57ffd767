"""Tables as they come: CSV in any usual encoding and delimiter, XLSX, specimen records."""

from __future__ import annotations

import codecs
import io
import sys
from collections.abc import Generator, Iterator
from contextlib import closing
from dataclasses import replace
from itertools import chain
from pathlib import Path
from typing import IO, TYPE_CHECKING

from keygen.collection.decoding import SAMPLE, Decoding, decide
from keygen.collection.delimited import Record, checked, delimiter_of, records
from keygen.collection.model import Row, Table
from keygen.collection.recordrows import header_of, record_rows
from keygen.collection.titles import begin
from keygen.collection.workbook import fault, open_sheet
from keygen.core.model import Rules
from keygen.errors import KeygenError
from keygen.specimens.terms import Lexicon

if TYPE_CHECKING:
    from _typeshed import WriteableBuffer

_WORKBOOKS = (b"PK\x03\x04", b"\xd0\xcf\x11\xe0")
_RECORDS = (".yaml", ".yml")
MOST_COLUMNS = 1_000
MOST_SHEETS = 8  # so many are named
MOST_LINE = 1 << 24  # signs of one line of text; a longer one is no table
_NAMES = {",": "comma", ";": "semicolon", "\t": "tab", "|": "pipe"}


def open_table(name: str, rules: Rules, sheet: str = "", encoding: str = "") -> Table:
    """Open a table; its rows are read one by one as they are asked for.

    Args:
        name: a CSV or XLSX file, a specimen record, a folder of records, or `-` for standard input.
        rules: needed where records are read.
        sheet: the sheet of a workbook; the first one with rows if not given.
        encoding: the encoding of a CSV; found out if not given.

    Raises:
        KeygenError: it is no table, or has no rows.
        OSError: it cannot be opened.
    """
    path = Path(name)
    if name != "-" and (path.is_dir() or path.suffix.lower() in _RECORDS):
        return _of_records(path, name, rules)
    told = "standard input" if name == "-" else name
    given = _given(encoding, told) if encoding else None
    file: IO[bytes] = sys.stdin.buffer if name == "-" else path.open("rb")
    sample = file.read(SAMPLE)
    if sample.startswith(_WORKBOOKS):
        found, (one, *others) = open_sheet(_whole(path, sample, file), told, sheet)
        remark = f"sheet {one!r}"
        if others:
            named = ", ".join(map(repr, others[:MOST_SHEETS]))
            remark += f" is read; --sheet takes another: {named}"
        table = _table(told, found, [remark] if not sheet else [], rules)
        return table if sheet else replace(table, sheets=tuple(others[:MOST_SHEETS]))
    if sheet:
        if name != "-":
            file.close()
        raise fault(told, "only a workbook has sheets")
    decoding = given or decide(sample, len(sample) < SAMPLE)
    return _of_text(told, _Again(sample, file), sample, decoding, rules)


def _whole(path: Path, sample: bytes, file: IO[bytes]) -> Path | IO[bytes]:
    """Return what a workbook, which is not read as a stream, is read from."""
    if file is sys.stdin.buffer:
        return io.BytesIO(sample + file.read())
    file.close()
    return path


def _given(encoding: str, told: str) -> Decoding:
    try:
        return Decoding(codecs.lookup(encoding).name)
    except LookupError:
        remedy = "Usual ones: utf-8, utf-16, cp1252, latin-1, mac-roman."
        raise fault(told, f"the encoding {encoding!r} is not known", remedy) from None


class _Again(io.RawIOBase):
    """A stream of bytes whose first bytes were read before and are read once more."""

    def __init__(self, first: bytes, rest: IO[bytes]) -> None:
        self.first = memoryview(first)
        self.rest = rest

    def readable(self) -> bool:
        return True

    def readinto(self, buffer: WriteableBuffer) -> int:
        room = memoryview(buffer)
        source = self.first[: len(room)] or self.rest.read(len(room))
        self.first = self.first[len(source) :]
        room[: len(source)] = source
        return len(source)

    def close(self) -> None:
        if self.rest is not sys.stdin.buffer:
            self.rest.close()
        super().close()


def _of_text(told: str, stream: _Again, sample: bytes, decoding: Decoding, rules: Rules) -> Table:
    # a wide encoding has no single bad bytes that could be kept for later
    errors = "replace" if decoding.name.startswith(("utf-16", "utf-32")) else "surrogateescape"
    delimiter = delimiter_of(sample.decode(decoding.name, "replace"))
    buffered = io.BufferedReader(stream, 1 << 16)
    file = io.TextIOWrapper(buffered, decoding.name, errors, newline="")
    remarks = [decoding.remark] if decoding.remark else []
    return _table(told, _lines(told, file, delimiter), remarks, rules)


def _lines(told: str, file: io.TextIOWrapper, delimiter: str) -> Generator[Record, None, None]:
    with file:
        for record in records(_bounded(told, file), delimiter):
            if record.number == 1 and record.cells[:1] in (["sep="], [f"sep={delimiter}"]):
                continue
            yield record


def _bounded(told: str, file: io.TextIOWrapper) -> Iterator[str]:
    """Yield lines, and stop at one that would take too much memory before it is read."""
    number = 0
    while line := file.readline(MOST_LINE):
        number += 1
        if len(line) == MOST_LINE:
            what = f"a line of more than {MOST_LINE:,} characters is not read"
            raise fault(f"{told}:{number}", what)
        yield line


def _table(
    told: str, found: Generator[Record, None, None], remarks: list[str], rules: Rules
) -> Table:
    """Return a table whose header is the first row that is not empty, but for titles."""
    try:
        top = begin(found, rules)
        header = _header(told, top.header)
    except KeygenError:
        found.close()
        raise
    if top.header and top.titled:
        where = f"the columns are named in row {top.header.number}; the rows above are not read"
        remarks = [*remarks, where]
    rows = _rows(found, top.ahead, header)
    next(rows)  # begun, so that closing it closes the file even if no row is asked for
    return Table(told, header, rows, tuple(remarks))


def _header(told: str, record: Record | None) -> tuple[str, ...]:
    if record is None:
        raise fault(told, "the table is empty")
    if record.fault:
        raise fault(f"{told}:{record.line}", f"the header cannot be read: {record.fault}")
    if len(record.cells) > MOST_COLUMNS:
        what = (
            f"the header has {len(record.cells):,} columns; {MOST_COLUMNS:,} are the most that "
            "are read"
        )
        remedy = "Leave out the columns that say nothing here."
        raise fault(f"{told}:{record.line}", what, remedy)
    return tuple(cell.strip() for cell in record.cells)


def _rows(
    found: Generator[Record, None, None], ahead: list[Record], header: tuple[str, ...]
) -> Generator[Row, None, None]:
    """Yield an empty row at once, then the rows; the file is closed with them."""
    with closing(found):
        yield Row(0, ())
        for record in chain(ahead, found):
            row = checked(record, header)
            if row is not None:
                yield row


def _of_records(path: Path, name: str, rules: Rules) -> Table:
    files = [path]
    if path.is_dir():
        files = sorted(file for file in path.iterdir() if file.suffix.lower() in _RECORDS)
    if not files:
        raise fault(name, "the folder holds no specimen record", "Their names end in .yaml.")
    return Table(name, header_of(rules), record_rows(Lexicon(rules), files))
