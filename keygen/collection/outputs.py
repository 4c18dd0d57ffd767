"""Where finished rows go: one sink a file, each for one format."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import IO, Protocol

from keygen.collection import as_csv
from keygen.collection.model import Fault, Outcome, Plan
from keygen.collection.result import Results
from keygen.collection.work import Done, Form, Order
from keygen.errors import KeygenError, Problem, nearest

FORMS: dict[str, Form] = {
    ".csv": "csv",
    ".xlsx": "cells",
    ".jsonl": "jsonl",
    ".ndjson": "jsonl",
    ".md": "outcomes",
    ".html": "outcomes",
    ".docx": "outcomes",
}
PROBLEM_HEADINGS = ("row", "column", "found", "what is wrong", "what to do", "grade")


class Sink(Protocol):
    """Takes what was done, some rows at a time."""

    def __call__(self, done: Done) -> None:
        """Take what came of some rows."""


def form_of(name: str) -> Form:
    """Return the form that a file of this name needs.

    Raises:
        KeygenError: there is no such format.
    """
    suffix = Path(name).suffix.lower()
    if suffix not in FORMS:
        what = f"--out {name}: no format has the ending {suffix!r}"
        remedy = nearest(suffix, FORMS) or f"Endings: {', '.join(FORMS)}."
        raise KeygenError(Problem("", 0, 0, "K452", what, remedy))
    return FORMS[suffix]


@contextmanager
def csv_to(file: IO[bytes], results: Results) -> Iterator[Sink]:
    """Write a CSV table, its header first."""
    file.write(as_csv.encode([results.headings]))
    yield lambda done: _write(file, done.csv)


@contextmanager
def jsonl_to(file: IO[bytes]) -> Iterator[Sink]:
    """Write JSON Lines."""
    yield lambda done: _write(file, done.jsonl)


def _write(file: IO[bytes], data: bytes) -> None:
    file.write(data)


@contextmanager
def xlsx_to(file: Path, results: Results, remark: Callable[[str], None]) -> Iterator[Sink]:
    """Write a workbook, and remark on the cells that were too long for it."""
    from keygen.collection.as_xlsx import LONGEST, Workbook

    with Workbook(file, results.headings) as book:
        yield lambda done: book.add(done.cells)
    for row, column in book.cut:
        remark(
            f"row {row} of the workbook: {column!r} is cut, since a cell of XLSX holds {LONGEST:,} "
            "characters; CSV and JSON Lines have it whole"
        )


@contextmanager
def report_to(file: Path, plan: Plan, order: Order, suffix: str) -> Iterator[Sink]:
    """Write a report once all rows are there; they are all held in memory until then."""
    from keygen.collection.report import write_report

    found: list[Outcome] = []
    yield lambda done: found.extend(done.outcomes)
    data = write_report(
        plan.rules,
        found,
        suffix,
        templates=order.templates,
        columns=plan.columns,
        pictures=order.pictures,
    )
    file.write_bytes(data)


@contextmanager
def problems_to(file: IO[bytes]) -> Iterator[Sink]:
    """Write every fault of every row as a CSV table."""
    file.write(as_csv.encode([PROBLEM_HEADINGS]))
    yield lambda done: _write(file, as_csv.encode(map(_line, done.faults)))


def _line(fault: Fault) -> Sequence[str]:
    return (str(fault.row), fault.column, fault.found, fault.what, fault.remedy, fault.grade)
