"""Workbooks (XLSX) as rows of text."""

from __future__ import annotations

import datetime
from collections.abc import Generator
from pathlib import Path
from typing import IO, TYPE_CHECKING

from keygen.collection.delimited import Record
from keygen.collection.unpacking import check_workbook
from keygen.errors import KeygenError, Problem, nearest
from keygen.specimens.terms import one_of

if TYPE_CHECKING:
    from python_calamine import CalamineSheet

NEEDED = "Install it with: pip install 'keygen[tables]'"


def fault(name: str, what: str, remedy: str = "") -> KeygenError:
    """Return the error that a table cannot be used."""
    return KeygenError(Problem(name, 0, 0, "K401", what, remedy))


def open_sheet(
    source: Path | IO[bytes], name: str, sheet: str
) -> tuple[Generator[Record, None, None], list[str]]:
    """Open a sheet of a workbook.

    Args:
        source: the file, or its bytes.
        name: how messages call it.
        sheet: the sheet; the first one with rows if not given.

    Returns:
        Its records, those above the first filled row too; the name of the sheet, then those of
        the others.

    Raises:
        KeygenError: it is no workbook that can be read, or has no such sheet, or no rows.
    """
    try:
        from python_calamine import CalamineError, CalamineWorkbook
    except ImportError:
        raise fault(name, "reading workbooks needs the extra 'tables'", NEEDED) from None
    check_workbook(source, name)
    try:
        book = CalamineWorkbook.from_object(source)
        names = book.sheet_names
        if sheet and sheet not in names:
            remedy = nearest(sheet, names) or one_of(names)
            raise fault(name, f"there is no sheet {sheet!r}", remedy)
        for one in [sheet] if sheet else names:
            found = book.get_sheet_by_name(one)
            if found.height:
                return _records(found), [one, *(other for other in names if other != one)]
    except CalamineError as error:
        remedy = "Save it as XLSX without a password, or as CSV."
        raise fault(name, f"not a workbook that can be read: {error}", remedy) from None
    raise fault(name, f"the sheet {sheet!r} has no rows" if sheet else "no sheet has rows")


def _records(sheet: CalamineSheet) -> Generator[Record, None, None]:
    """Yield rows as text, with the empty columns at the left that the reader leaves out."""
    left = [""] * (sheet.start[1] if sheet.start else 0)
    for number, values in enumerate(sheet.iter_rows(), 1):
        yield Record(number, 0, left + [v if type(v) is str else as_text(v) for v in values])


def as_text(value: object) -> str:
    """Return a value as one would type it: `34`, `34.2`, `2026-05-02`, `TRUE`.

    A workbook keeps 34.0 as 34, and what a formula gave with more digits than anybody measured.
    """
    if isinstance(value, float):
        if value.is_integer() and abs(value) < 1e15:
            return str(int(value))
        text = repr(value)
        return text if len(text) < 14 else format(value, ".10g")
    if isinstance(value, bool):
        return str(value).upper()
    if isinstance(value, datetime.datetime):
        whole = value.time() == datetime.time()
        return value.date().isoformat() if whole else value.isoformat(" ", "seconds")
    if isinstance(value, datetime.date | datetime.time):
        return value.isoformat()
    return "" if value is None else str(value)
