"""Rows as CSV: UTF-8, comma, a line feed at the end of a row, quotes only where they are needed.

The quoting is our own: beside what `csv.writer` does it marks cells that a spreadsheet program
could take for a formula, and it is several times faster on long rows.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from keygen.collection.safety import STARTS, marked, shown

MOST = 50_000  # cells remembered
LONGEST = 100  # of a cell that is; longer ones hardly come again


def encode(rows: Iterable[Sequence[str]]) -> bytes:
    """Return rows as the bytes of a CSV file.

    A cell that could be taken for a formula is marked with an apostrophe, and a character that no
    cell can show is written out (`keygen.collection.safety`).
    """
    written = _WRITTEN.__getitem__
    return "".join([shown(",".join(map(written, row))) + "\n" for row in rows]).encode()


class _Written(dict[str, str]):
    """Cells as they are written, by their text; short ones are remembered."""

    def __missing__(self, text: str) -> str:
        found = _cell(text)
        if len(text) <= LONGEST:
            if len(self) >= MOST:
                self.clear()
            self[text] = found
        return found


_WRITTEN = _Written()


def _cell(text: str) -> str:
    """Return a cell as it is written, but for characters that no cell can show."""
    first = text[:1]
    if first in STARTS or not first.isprintable():
        text = marked(text)
    if '"' in text:
        return '"' + text.replace('"', '""') + '"'
    if "," in text or "\n" in text or "\r" in text:
        return f'"{text}"'
    return text
