"""Rows as an XLSX workbook: one sheet, every cell text, written row by row in little memory.

No cell is ever live, since each is typed as text; one that looks like a formula is also marked as
quoted, so that it stays text when somebody edits it. Excel's limits are kept: a longer table is
refused, a longer cell is cut where that can be seen.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Sequence
from pathlib import Path
from types import TracebackType

from keygen.collection.safety import live, shown
from keygen.errors import KeygenError, Problem

MOST_ROWS = 1_048_576  # with the header
LONGEST = 32_767  # UTF-16 units in a cell
CUT = " [cut: longer than a cell can be]"
WIDE = {"description": 80, "elsewhere": 40, "near misses": 40, "faults": 40, "key types": 24}
# The file holds no date of its own making, so that the same rows give the same bytes.
_MADE = datetime.datetime(2000, 1, 1, tzinfo=datetime.UTC)


class Workbook:
    """A workbook that is being written; closed at the end of a `with`.

    Raises:
        KeygenError: XlsxWriter is not installed.
    """

    def __init__(self, file: Path, headings: Sequence[str]) -> None:
        try:
            from xlsxwriter import Workbook as Book
        except ImportError:
            remedy = "Install it with: pip install 'keygen[tables]'"
            what = "XLSX needs the package XlsxWriter, which is not installed"
            raise KeygenError(Problem("", 0, 0, "K450", what, remedy)) from None
        self.headings = tuple(headings)
        self.cut: list[tuple[int, str]] = []  # cells that were too long: row and column
        self._book = Book(str(file), {"constant_memory": True, "strings_to_urls": False})
        self._book.set_properties({"created": _MADE})
        self._quoted = self._book.add_format({"quote_prefix": True})
        self._sheet = self._book.add_worksheet("points")
        self._sheet.freeze_panes(1, 0)
        bold = self._book.add_format({"bold": True})
        for i, name in enumerate(self.headings):
            self._sheet.set_column(i, i, WIDE.get(name, 14))
            self._sheet.write_string(0, i, self._fit(name, 0, i), bold)
        self._rows = 1

    def __enter__(self) -> Workbook:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._book.close()

    def add(self, rows: Iterable[Sequence[str]]) -> None:
        """Write rows.

        Raises:
            KeygenError: there are more than a sheet can hold.
        """
        write, quoted = self._sheet.write_string, self._quoted
        for row in rows:
            if self._rows >= MOST_ROWS:
                what = f"a sheet of XLSX holds {MOST_ROWS - 1:,} rows, and there are more"
                remedy = "Write CSV or JSON Lines, or cut the table."
                raise KeygenError(Problem("", 0, 0, "K451", what, remedy))
            for i, text in enumerate(row):
                if text:
                    fit = (
                        text
                        if text.isprintable() and len(text) < 9999
                        else self._fit(text, self._rows, i)
                    )
                    if live(fit):
                        write(self._rows, i, fit, quoted)
                    else:
                        write(self._rows, i, fit)
            self._rows += 1

    def _fit(self, text: str, row: int, column: int) -> str:
        """Return a text as a cell can hold it; the line breaks become those of a workbook."""
        text = shown(text.replace("\r\n", "\n").replace("\r", "\n"))
        units = text.encode("utf-16-le")
        if len(units) // 2 <= LONGEST:
            return text
        self.cut.append((row + 1, self.headings[column]))
        whole = units[: 2 * (LONGEST - len(CUT))]
        return whole.decode("utf-16-le", "ignore") + CUT
