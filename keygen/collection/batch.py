"""The batch: from rows to what follows from them, one row at a time and each for itself.

What comes of a row depends on that row and the plan alone, so a table can be cut anywhere and its
parts done in any number of processes or on any number of machines; put together again, the result
is the same to the byte.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import chain, islice
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from keygen.collection import columns, mapping
from keygen.collection.entries import Reader, contradicted
from keygen.collection.model import Entry, Fault, Outcome, Plan, Row
from keygen.collection.result import Results
from keygen.core.examine import examine
from keygen.core.infer import Contradiction
from keygen.core.model import Rules
from keygen.errors import KeygenError, Problem, nearest
from keygen.prose import describe, describe_all
from keygen.rulebase.load import shipped
from keygen.specimens.places import INSTEAD, withheld

if TYPE_CHECKING:
    from pyarrow import RecordBatch, Table

Batch = TypeVar("Batch", bound="RecordBatch | Table")
TOGETHER = 1000  # rows that go through each stage together, which is quicker than one by one
FIRST_ROW = 2  # the header is row 1, as a spreadsheet program counts
FREE = ("notes", "detail", "call", "unread")  # columns in which people write as they like
SHORTEST = 7  # characters; no coordinate or legal description is shorter
HALF = re.compile(
    r"[-+\u2212]?(\d{5,7}(\.\d+)?|\d{1,3}\.\d{3,})"
)  # of a coordinate, as a bare number
IN_TEXT = "this cell holds an exact location, which is withheld"
TO_KEEP = "Put it into a column of its own; --include-locations hands it on."
WITHHELD = "its cells may be in the wrong columns, and are withheld with the exact locations"


def outcomes(
    reader: Reader, rows: Iterable[Row], register: str = "report", templates: Path | None = None
) -> Iterator[Outcome]:
    """Return what follows from each row, in their order; an error in one does not stop the others.

    A row that contradicts itself, or of which nothing could be read, is not examined.

    Args:
        reader: reads the rows; what it has learned of cells serves for the next rows too.
        register: the register of the descriptions; nothing for none.
        templates: a folder of the user's own templates.

    Raises:
        KeygenError: there is no such register, or a template cannot be used.
    """
    given = iter(rows)
    while entries := [reader.read(row) for row in islice(given, TOGETHER)]:
        some = [outcome(reader, entry, "") for entry in entries]
        yield from _worded(reader, some, register, templates) if register else some


def _worded(
    reader: Reader, found: Sequence[Outcome], register: str, templates: Path | None = None
) -> Iterator[Outcome]:
    """Add the descriptions to what followed from some rows."""
    pieces = [one.examination for one in found if one.examination]
    texts = iter(describe_all(reader.rules, pieces, register, templates))
    for one in found:
        yield Outcome(one.entry, one.examination, next(texts)) if one.examination else one


def outcome(
    reader: Reader, entry: Entry, register: str = "report", templates: Path | None = None
) -> Outcome:
    """Return what follows from one row that was read; see `outcomes`."""
    if not entry.specimen or not any(entry.row.cells):
        return Outcome(entry, None)
    try:
        found = examine(reader.rules, entry.piece, entry.region)
    except Contradiction:
        return Outcome(contradicted(reader.plan, entry), None)
    if not register:
        return Outcome(entry, found)
    return Outcome(entry, found, describe(reader.rules, found, register, templates))


def without_locations(plan: Plan, rows: Iterable[Row]) -> Iterator[Row]:
    """Pass rows on without exact locations, so that no output can hold them.

    The cells of columns for them are emptied; in cells of free text a place is replaced by words
    that say so, which draws a warning. In a table with such columns, a row whose cells may stand in
    the wrong ones is emptied as a whole, which is added to what is wrong with it, and a row that is
    too short (so that they may have moved to the left) loses what could be half of a coordinate.
    """
    hidden = frozenset(i for i, column in enumerate(plan.columns) if column.kind == "location")
    free = tuple(i for i, column in enumerate(plan.columns) if column.kind in FREE)
    names = {plan.columns[i].name for i in hidden}
    for row in rows:
        faults = row.faults
        if hidden and faults:
            faults = tuple(
                replace(fault, found="") if fault.column in names or not fault.column else fault
                for fault in faults
            )
        if not any(row.cells):  # nothing in it, as of a record that cannot be read
            yield row
        elif hidden and any(fault.grade == "error" and not fault.column for fault in faults):
            faults += (Fault(row.number, "", "", WITHHELD, "Correct the row.", "warning"),)
            yield row._replace(cells=("",) * len(row.cells), faults=faults)
        else:
            cells, found = _withheld(plan, row, hidden, free)
            yield row._replace(cells=cells, faults=(*faults, *found)) if cells else row


def _withheld(
    plan: Plan, row: Row, hidden: frozenset[int], free: Sequence[int]
) -> tuple[tuple[str, ...], list[Fault]]:
    """Return the cells of a row without exact locations, and a warning on each in free text.

    No cells if there is nothing to withhold.
    """
    cells, faults = [*row.cells], []
    for i in free:
        text = withheld(cells[i]) if len(cells[i]) >= SHORTEST else cells[i]
        if hidden and row.short and HALF.fullmatch(cells[i].strip()):
            text = INSTEAD
        if text != cells[i]:
            cells[i] = text
            faults.append(
                Fault(row.number, plan.columns[i].name, "", IN_TEXT, TO_KEEP, grade="warning")
            )
    for i in hidden:
        cells[i] = ""
    return (tuple(cells) if hidden or faults else ()), faults


def describe_rows(
    rows: Iterable[Mapping[str, str]],
    region: str = "",
    *,
    register: str = "report",
    house: Path | None = None,
    rules: Rules | None = None,
    templates: Path | None = None,
    locations: bool = False,
) -> Iterator[dict[str, str]]:
    """Yield an output row for each row of a table, as `keygen table` writes them.

    Args:
        rows: the cells by column, as `csv.DictReader` gives them; all with the keys of the first.
        region: the id of the region, for rows that name none.
        register: note, report, catalogue or account.
        house: a mapping file for the columns and codes of a house.
        rules: the rules; those that ship with keygen if not given.
        templates: a folder of the user's own templates.
        locations: whether columns of exact locations are handed on. They are withheld otherwise
            (16 U.S.C. 470hh, 54 U.S.C. 307103).

    Yields:
        The input's cells, then those of `keygen.collection.result.OWN`. A cell that could not be
        read is told under `faults`; the rest of its row is done.

    Raises:
        KeygenError: the columns, the mapping, the region or a template cannot be used.
    """
    given = iter(rows)
    first = next(given, None)
    if first is None:
        return
    header = tuple(first)
    plan = plan_table(header, region, house, rules)
    found = (
        Row(number, tuple([row.get(name) or "" for name in header]))
        for number, row in enumerate(chain([first], given), FIRST_ROW)
    )
    results = Results(plan, register, templates, locations)
    for cells in described(plan, results, found):
        yield dict(zip(results.headings, cells, strict=True))


def described(plan: Plan, results: Results, rows: Iterable[Row]) -> Iterator[tuple[str, ...]]:
    """Yield an output row, under the results' headings, for each row."""
    open_rows = rows if results.locations else without_locations(plan, rows)
    found = outcomes(Reader(plan), open_rows, results.register, results.templates)
    yield from map(results.cells, found)


def plan_table(
    header: Sequence[str], region: str = "", house: Path | None = None, rules: Rules | None = None
) -> Plan:
    """Return how a table with this header is read; arguments as in `describe_rows`.

    Raises:
        KeygenError: the columns, the mapping or the region cannot be used.
    """
    rules = rules or shipped()
    if region and region not in rules.regions:
        what = f"the region {region!r} is not known"
        raise KeygenError(Problem("", 0, 0, "K005", what, nearest(region, rules.regions)))
    known = mapping.load(rules, house) if house else None
    return columns.plan(rules, header, known, region)[0]


def describe_batch(
    batch: Batch,
    plan: Plan,
    *,
    register: str = "report",
    templates: Path | None = None,
    locations: bool = False,
) -> Batch:
    """Return the output rows of an Arrow record batch, or table, as one with all columns text.

    For engines that work on columns; needs the extra `distributed`. Numbers are read as Arrow
    writes them, so read tables as text where the digits as entered matter.

    Args:
        batch: the rows, with the columns of the plan.
        plan: how they are read, from `plan_table`; it can be sent to other processes.
        register: as in `describe_rows`; so are the others.

    Raises:
        KeygenError: a template cannot be used.
    """
    import pyarrow

    results = Results(plan, register, templates, locations)
    texts = [column.cast(pyarrow.string()).fill_null("").to_pylist() for column in batch.columns]
    rows = (Row(number, cells) for number, cells in enumerate(zip(*texts, strict=True), FIRST_ROW))
    told = [*described(plan, results, rows)]
    arrays = [
        pyarrow.array([row[i] for row in told], pyarrow.string())
        for i in range(len(results.headings))
    ]
    found: Batch = type(batch).from_arrays(arrays, names=list(results.headings))
    return found
