"""What a workbook would take before it is read: a small file can stand for a very large one.

A workbook is a zip archive of XML. It is read into memory whole, as a box from its first to its
last filled cell, so a few bytes can ask for all memory there is: packed tightly, by two cells far
apart, or by one long text that a great many cells share. All of it is looked through as a stream.
"""

from __future__ import annotations

import re
import zipfile
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import nullcontext
from dataclasses import dataclass, field
from pathlib import Path
from typing import IO

from keygen.errors import KeygenError, Problem

MOST_UNPACKED = 1 << 29  # bytes of XML
MOST_RATIO = 200  # of unpacked to packed bytes; tables come to 10 or 20
MOST_MEMORY = 400 << 20  # bytes
CELL, FILLED = 32, 64  # bytes that any cell, and one that holds something, takes while being read
MOST_LETTERS, MOST_DIGITS = 3, 7  # of the column and the row in the place of a cell
_BLOCK = 1 << 20
_LONGEST = 1 << 16  # of a tag
_PLACE = re.compile(rb" r *= *[\"']([A-Za-z0-9]*)[\"']")
_ROW = re.compile(rb"<(?:[\w.-]+:)?row\b")
_AFTER = (b" ", b">", b"/")  # what ends the name of a tag
_BLANKS = bytes.maketrans(b"\t\r\n", b"   ")
_DIGITS = b"0123456789"
_LETTERS = bytes({*b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz"})
_SHARED = re.compile(rb" t *= *[\"']s[\"']")
_SHARES = re.compile(rb" t *= *[\"']s[\"'][^<>]*> *<(?:[\w.-]+:)?v>(\d{1,9})<")
_ENCODING = re.compile(rb"<\?xml[^>]*encoding\s*=\s*[\"']([\w.-]+)")
# What no row and no cell is that stands where most do: by the width that the columns then have.
_ODD_ROW = re.compile(rb'<row(?! r="\d{1,5}")')
_ODD_CELL = {
    26: re.compile(rb'<c(?! r="[A-Z]\d{1,5}")'),
    78: re.compile(rb'<c(?! r="[AB]?[A-Z]\d{1,5}")'),
}
_USUAL_HEIGHT = 99_999
_SAVE = "Save the sheet as CSV, which is read row by row."


@dataclass
class Extent:
    """How far the cells of one sheet reach, and what they hold."""

    height: int = 0
    width: int = 0
    cells: int = 0
    unplaced: int = 0  # rows that do not say their number
    in_row: int = 0
    shared: int = 0
    shares: Counter[bytes] = field(default_factory=Counter)

    def add(self, xml: bytes) -> None:
        """Look through a piece of the sheet that ends before a tag."""
        xml = xml.translate(_BLANKS)
        # A sheet has hundreds of thousands of places, so they are looked at all at once.
        places = b",".join(_PLACE.findall(xml))
        letters = places.translate(None, _DIGITS).split(b",") if places else []
        placed = len(letters) - letters.count(b"")
        columns = {b"", *letters}
        numbers = {n for n in places.translate(None, _LETTERS).split(b",") if n}
        if max(map(len, columns)) > MOST_LETTERS or max(map(len, numbers), default=0) > MOST_DIGITS:
            raise ValueError("a cell stands at no place that a sheet has")
        self.width = max(self.width, *map(_column, columns))
        self.height = max(self.height, *map(int, numbers), 0)
        cells = _tags(xml, b"c")
        self.cells += cells
        self.unplaced += max(_tags(xml, b"row") - letters.count(b""), 0)
        if cells > placed:
            for begun, row in enumerate(_ROW.split(xml)):
                self.in_row = (0 if begun else self.in_row) + _tags(row, b"c")
                self.width = max(self.width, self.in_row)
        shared = len(_SHARED.findall(xml))
        self.shared += shared
        self.shares.update(_SHARES.findall(xml) if shared else ())

    def add_roughly(self, xml: bytes) -> None:
        """Look through a piece quickly where all stands where most do; never note less than `add`.

        Every other byte of a sheet belongs to a place, and reading them all takes as long as the
        workbook.
        """
        cells = xml.count(b'<c r="')
        prefixed = b":" in xml and (b":c" in xml or b":row" in xml)
        width = next((width for width, odd in _ODD_CELL.items() if not odd.search(xml)), 0)
        if not cells or not width or prefixed or _ODD_ROW.search(xml):
            self.add(xml)
            return
        self.width, self.height = max(self.width, width), max(self.height, _USUAL_HEIGHT)
        self.cells += cells
        self.in_row += cells  # as if all were of one row, which may go on
        self.shared += cells  # as if each held the longest text

    def memory(self, texts: list[int]) -> int:
        """Return how many bytes the sheet takes when it is read."""
        box = (self.height + self.unplaced) * self.width
        told = sum(self.shares.values())
        length = sum(texts[int(i)] * n for i, n in self.shares.items() if int(i) < len(texts))
        length += (self.shared - told) * max(texts, default=0)
        return box * CELL + self.cells * FILLED + length


def check_workbook(source: Path | IO[bytes], name: str) -> None:
    """Refuse what is no XLSX, or would take too much memory.

    Args:
        source: the file, or its bytes; afterwards it stands at its beginning.
        name: how messages call it.

    Raises:
        KeygenError: saying why.
        OSError: it cannot be read.
    """
    with source.open("rb") if isinstance(source, Path) else nullcontext(source) as file:
        try:
            with zipfile.ZipFile(file) as archive:
                if not _fits(archive, name, Extent.add_roughly):
                    _fits(archive, name, Extent.add, refuse=True)
        except KeygenError:
            raise
        except Exception as error:  # a damaged archive makes errors of many kinds
            what = f"not a workbook that can be read: {error}"
            remedy = "Save it as XLSX without a password, or as CSV."
            raise KeygenError(Problem(name, 0, 0, "K401", what, remedy)) from None
        file.seek(0)


def _fits(
    archive: zipfile.ZipFile,
    name: str,
    look: Callable[[Extent, bytes], None],
    refuse: bool = False,
) -> bool:
    """Tell whether a workbook can be read in the memory that there is.

    Args:
        archive: the workbook.
        name: how messages call it.
        look: how to look through a piece of XML.
        refuse: raise an error that says which sheet is too large.

    Raises:
        KeygenError: it is no workbook, or packed too tightly; too large, if that is refused.
    """
    names = {info.filename.lower() for info in archive.infolist()}
    if "xl/workbook.xml" not in names or names & {"content.xml", "xl/workbook.bin"}:
        what = "a workbook of another kind than XLSX is not read"
        raise KeygenError(Problem(name, 0, 0, "K401", what, "Save it as XLSX, or as CSV."))
    left = MOST_UNPACKED
    extents: list[Extent] = []
    texts: list[int] = []
    for info in archive.infolist():
        extent, size = Extent(), 0
        strings = info.filename.lower().endswith("sharedstrings.xml")
        for block, new in _blocks(archive, info, left):
            _refuse_other(block, info.filename, name)
            size += new
            if size > left or (size > _BLOCK and size > MOST_RATIO * info.compress_size):
                what = "the workbook is packed so tightly that it would not fit when unpacked"
                raise KeygenError(Problem(name, 0, 0, "K401", what, _SAVE))
            look(extent, block)
            if strings:
                texts += map(len, re.split(rb"</(?:[\w.-]+:)?si\s*>", block))
        left -= size
        extents.append(extent)
    worst = max(extents, key=lambda extent: extent.memory(texts))
    needed = worst.memory(texts)
    if refuse and needed > MOST_MEMORY:
        rows, columns = worst.height + worst.unplaced, worst.width
        what = (
            f"a sheet that reaches to row {rows:,} and column {columns:,} would take "
            f"{needed >> 20:,} MB of memory"
        )
        raise KeygenError(Problem(name, 0, 0, "K401", what, _SAVE))
    return needed <= MOST_MEMORY


def _blocks(
    archive: zipfile.ZipFile, info: zipfile.ZipInfo, most: int
) -> Iterator[tuple[bytes, int]]:
    """Yield a member piece by piece, cut before a tag, with the number of bytes read for each."""
    info.file_size = most + _BLOCK  # what it says of itself is not believed
    with archive.open(info) as member:
        kept = b""
        while block := member.read(_BLOCK):
            whole = kept + block
            end = whole.rfind(b"<")
            if len(whole) - end > _LONGEST:
                end = len(whole)
            kept = whole[end:]
            yield whole[:end], len(block)
        yield kept, 0


def _refuse_other(xml: bytes, member: str, name: str) -> None:
    """Refuse XML that is not read the way it is looked through here."""
    encoding = _ENCODING.match(xml)
    if member.lower().endswith(".xml") and (
        b"\0" in xml
        or b"<!DOCTYPE" in xml
        or (encoding and encoding[1].lower() not in (b"utf-8", b"us-ascii", b"ascii"))
    ):
        what = f"{member} in the workbook is not plain XML in UTF-8"
        raise KeygenError(Problem(name, 0, 0, "K401", what, "Save it anew as XLSX, or as CSV."))


def _tags(xml: bytes, name: bytes) -> int:
    """Return how many elements of a name begin here."""
    starts = (b"<", b":") if b":" + name in xml else (b"<",)
    return sum(xml.count(start + name + after) for start in starts for after in _AFTER)


def _column(letters: bytes) -> int:
    number = 0
    for letter in letters.upper():
        number = number * 26 + letter - 64
    return number
