"""The nouns of a table on its way through. Nothing here reads a file."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Literal, NamedTuple

from keygen.core.examine import Examination, Piece
from keygen.core.model import Rules

Kind = Literal[
    "number",  # the specimen's number; becomes the piece's label
    "attribute",  # states of an attribute, or items of one of kind `many`
    "measurement",
    "detail",  # material, colour, context and the like, as text
    "region",
    "call",  # the analyst's own call, its reason, maker and date, by target
    "notes",
    "location",  # coordinates, legal descriptions, site maps: withheld
    "unread",  # kept and handed on, but not used
]


@dataclass(frozen=True)
class Column:
    """What one column of a table holds.

    Attributes:
        name: the header as found.
        target: id of the attribute (or item, `damage.heat`) or measurement, or the name of the
            field. Empty for an attribute column of which only the codes say what they speak of.
        unit: the unit of the figures of a measurement (mm, cm, in, g, oz, deg), if one is said.
        codes: what each code of the house means: words by target, so that one code can speak of
            several attributes. The word is a state, `?` or `missing`; no word at all: not recorded.
        split: what stands between several codes in one cell, if the mapping says so.
        order: which comes first in dates written in figures (`day` or `month`), if it is said.
    """

    name: str
    kind: Kind
    target: str = ""
    unit: str = ""
    codes: Mapping[str, Mapping[str, tuple[str, ...]]] = field(default_factory=dict)
    split: str = ""
    order: str = ""


@dataclass(frozen=True, eq=False)
class Plan:
    """How a table is read: its columns in their order, and the region where no row says one.

    `always` is what holds for every row: words for states by attribute id.
    """

    rules: Rules
    columns: tuple[Column, ...]
    region: str = ""
    always: Mapping[str, tuple[str, ...]] = field(default_factory=dict)


@dataclass(frozen=True)
class Fault:
    """One thing that is wrong or doubtful in a row.

    An `error` says that a cell could not be read (its row is marked, the rest of it is done); a
    `warning` that it was read but is to be looked at again.
    """

    row: int
    column: str
    found: str
    what: str
    remedy: str = ""
    grade: Literal["error", "warning"] = "error"


class Row(NamedTuple):
    """One row as found.

    Attributes:
        number: its number as the user's program shows it; the first row below the header is 2.
        cells: its cells as text, as many as the header has.
        line: the line of the file where it begins, for tables that are text; else 0.
        faults: what was wrong with the row before anybody read its cells: a cell too many, letters
            that cannot be decoded, a quotation mark never closed, a specimen number met before.
        short: whether it had fewer cells than the header; empty ones were added at its end.
    """

    number: int
    cells: tuple[str, ...]
    line: int = 0
    faults: tuple[Fault, ...] = ()
    short: bool = False


@dataclass(frozen=True)
class Table:
    """A table that is being read.

    Attributes:
        name: how messages call it.
        header: the names of its columns, as found; a column without a name has an empty one.
        rows: its rows, each read when it is asked for; empty rows are left out but counted.
        remarks: what was decided while opening it and may be wrong: encoding, sheet.
        sheets: the other sheets of a workbook of which none was asked for, so many as are named.
    """

    name: str
    header: tuple[str, ...]
    rows: Iterator[Row]
    remarks: tuple[str, ...] = ()
    sheets: tuple[str, ...] = ()


class Entry(NamedTuple):
    """A row as read: the piece, its region, and what is wrong with the row.

    `specimen` is false of a row that sums up others.
    """

    row: Row
    piece: Piece
    region: str
    faults: tuple[Fault, ...] = ()
    specimen: bool = True


class Outcome(NamedTuple):
    """A row with all that follows from it; no examination if the row contradicts itself."""

    entry: Entry
    examination: Examination | None
    text: str = ""
