"""From the text of one cell to what it says. Pure: no file, no row, no other column.

Cells repeat a great deal (the same few terms a million times), so what a text says is worked out
once for a column and remembered.
"""

from __future__ import annotations

import re
from collections.abc import Callable

from keygen.collection.dates import iso_date
from keygen.collection.figures import FigureCells
from keygen.collection.model import Column
from keygen.collection.said import NOTHING, Memo, Remark, Said, refused
from keygen.collection.stated import StatedCells
from keygen.core.model import Rules
from keygen.specimens.provenience import CONTEXT, colour_remark, is_exact, site_remark
from keygen.specimens.regions import region_of, regions_near
from keygen.specimens.terms import Lexicon

WITHHOLD = "Put it into a column of its own and map that as 'location', and it is withheld."

# A number that a spreadsheet took for a date and turned into one cannot be told from its text.
_LOOKS_LIKE_DATE = re.compile(r"\d{4}-\d{2}-\d{2}|\d{1,2}-[A-Z][a-z]{2}(?:-\d{2})?")


def cells_of(lexicon: Lexicon, column: Column) -> Memo:
    """Return what the cells of a column say, by their text.

    A column of kind `location` or `unread` says nothing.
    """
    readers: dict[str, Callable[[str], Said]] = {
        "number": _number,
        "region": lambda text: _region(lexicon.rules, text),
        "detail": _date(column) if column.target == "date" else _detail(column.target),
        "call": _date(column) if column.target == "date" else _squeezed,
        "notes": _notes,
    }
    if column.kind == "attribute":
        return Memo(StatedCells(lexicon, column).read)
    if column.kind == "measurement":
        return Memo(FigureCells(lexicon.rules, column).read)
    read = _decoded(column, readers.get(column.kind, lambda _: NOTHING))
    return Memo(read, 0) if column.kind in ("number", "notes") else Memo(read)


def _decoded(column: Column, read: Callable[[str], Said]) -> Callable[[str], Said]:
    """Return a reader that first puts the word that a code of the house stands for."""
    if not column.codes:
        return read
    words = {code: " ".join(told.get(column.target, ())) for code, told in column.codes.items()}
    return lambda text: read(words.get(text, text))


def _words(text: str) -> Said:
    return Said(text=text) if text else NOTHING


def _squeezed(text: str) -> Said:
    return _words(" ".join(text.split()))


def _notes(text: str) -> Said:
    """Return notes as they stand, with a warning if they give an exact place away."""
    if not is_exact(text):
        return _words(text)
    what = "the notes seem to hold an exact place"
    return Said(text=text, remarks=(Remark(what, WITHHOLD, "warning"),))


def _detail(name: str) -> Callable[[str], Said]:
    """Return what reads a detail: an exact place is left out of it, an odd form is doubted."""
    doubt = {"site": site_remark, "colour": colour_remark}.get(name)

    def read(text: str) -> Said:
        words = " ".join(text.split())
        if name in CONTEXT and is_exact(words):
            what = f"the {name} holds an exact place and is not read"
            return Said(remarks=(Remark(what, WITHHOLD, "warning"),))
        what = doubt(words) if doubt and words else ""
        return Said(text=words, remarks=(Remark(what, "", "warning"),)) if what else _words(words)

    return read


def _number(text: str) -> Said:
    """Return a specimen number, with a warning if it looks like a date."""
    if not _LOOKS_LIKE_DATE.fullmatch(text):
        return _squeezed(text)
    what = f"the specimen number {text!r} looks like a date"
    remedy = "Spreadsheet programs turn numbers such as 3-4 into dates."
    return Said(text=text, remarks=(Remark(what, remedy, "warning"),))


def _date(column: Column) -> Callable[[str], Said]:
    def read(text: str) -> Said:
        try:
            return _words(iso_date(text, column.order) if text else "")
        except ValueError as error:
            two = str(error).endswith("two dates")
            remedy = f"Write it as in 2026-05-02{', or give the order in a mapping' * two}."
            return refused(str(error).partition(";")[0], remedy)

    return read


def _region(rules: Rules, text: str) -> Said:
    """Return a region's id; its label is understood too."""
    if not text:
        return NOTHING
    found = region_of(rules, text)
    if found:
        return Said(text=found)
    return refused(f"the region {text!r} is not known", regions_near(rules, text))
