"""A whole run: from an open table to its outputs, all of them written or none."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path
from typing import IO

from keygen.collection import outputs
from keygen.collection.as_records import check_folder, filled
from keygen.collection.batch import without_locations
from keygen.collection.entries import repeated
from keygen.collection.findings import Findings
from keygen.collection.model import Plan, Row
from keygen.collection.outputs import Sink, form_of
from keygen.collection.result import Results
from keygen.collection.work import Form, Order, done
from keygen.errors import KeygenError
from keygen.specimens.files import written_together

STDOUT = {"-": "-.csv", "-.csv": "-.csv", "-.jsonl": "-.jsonl"}


@dataclass(frozen=True)
class Targets:
    """Where results go: files by their endings, `-` for standard output, and folders."""

    outs: tuple[str, ...] = ()
    records: Path | None = None
    problems: Path | None = None
    force: bool = False

    @property
    def files(self) -> tuple[Path, ...]:
        """Return the files to be written, the list of problems last."""
        outs = tuple(Path(name) for name in self.outs if name not in STDOUT)
        return (*outs, self.problems) if self.problems else outs

    @property
    def stdout(self) -> bool:
        """Tell whether standard output is one of the targets."""
        return any(name in STDOUT for name in self.outs)

    @property
    def forms(self) -> frozenset[Form]:
        """Return the forms of a row that are needed.

        Raises:
            KeygenError: the format of a file is not known.
        """
        forms = {form_of(STDOUT.get(name, name)) for name in self.outs}
        return frozenset({*forms, "records"} if self.records else forms)


def check(targets: Targets, inputs: Sequence[Path]) -> None:
    """Refuse what cannot be written before the long work begins.

    Args:
        targets: where results are to go.
        inputs: the table and what else is read.

    Raises:
        KeygenError: a format is not known, or a file is there, is named twice, or is read.
    """
    if sum(name in STDOUT for name in targets.outs) > 1:
        raise KeygenError("only one --out can be standard output")
    for name in targets.outs:
        form_of(STDOUT.get(name, name))
    seen = {path.resolve() for path in inputs if path.exists()}
    for file in (*targets.files, *((targets.records,) if targets.records else ())):
        if file.resolve() in seen:
            raise KeygenError(f"{file} is read, or written twice; give another name")
        seen.add(file.resolve())
    for file in targets.files:
        if file.exists() and not targets.force:
            raise KeygenError(f"{file} exists and is left as it is; give another name, or --force")
    if targets.records:
        check_folder(targets.records, targets.force)


def run(
    plan: Plan,
    order: Order,
    targets: Targets,
    rows: Iterable[Row],
    stdout: IO[bytes],
    jobs: int = 1,
    remark: Callable[[str], None] = lambda _: None,
    advance: Callable[[Row], None] = lambda _: None,
) -> Findings:
    """Do all rows, and give every output its name only when the last row is done.

    Args:
        plan: how the rows are read.
        order: what is wanted of each row.
        targets: where it goes.
        rows: all rows, in their order.
        stdout: where standard output goes.
        jobs: how many processes work on it; the result is the same for any number.
        remark: takes what is to be told of an output.
        advance: is given the last row that is done, now and then.

    Raises:
        KeygenError: a target or a template cannot be used, or a format cannot hold the table.
        OSError: something cannot be written.
    """
    findings = Findings(plan.rules)
    numbered = repeated(plan, rows)
    given = numbered if order.locations else without_locations(plan, numbered)
    with written_together(targets.files, targets.force) as partials, ExitStack() as open_sinks:
        sinks = [findings, *_sinks(open_sinks, plan, order, targets, partials, stdout, remark)]
        for part in done(plan, order, given, jobs):
            for sink in sinks:
                sink(part)
            advance(part.last)
    return findings


def _sinks(
    stack: ExitStack,
    plan: Plan,
    order: Order,
    targets: Targets,
    partials: tuple[Path, ...],
    stdout: IO[bytes],
    remark: Callable[[str], None],
) -> list[Sink]:
    """Open every output, to be closed in turn before any of them gets its name."""
    places = iter(partials)
    sinks: list[Sink] = []
    if targets.records:
        folder = stack.enter_context(filled(targets.records, targets.force))
        sinks.append(lambda done: folder.add(done.records))
    for name in targets.outs:
        form = form_of(STDOUT.get(name, name))
        results = Results(plan, order.register, order.templates, order.locations)
        place = None if name in STDOUT else next(places)
        if form == "cells" and place:
            sinks.append(stack.enter_context(outputs.xlsx_to(place, results, remark)))
        elif form == "outcomes" and place:
            suffix = Path(name).suffix.lower()
            sinks.append(stack.enter_context(outputs.report_to(place, plan, order, suffix)))
        else:
            file = stack.enter_context(place.open("wb")) if place else stdout
            writer = outputs.csv_to(file, results) if form == "csv" else outputs.jsonl_to(file)
            sinks.append(stack.enter_context(writer))
    if targets.problems:
        file = stack.enter_context(next(places).open("wb"))
        sinks.append(stack.enter_context(outputs.problems_to(file)))
    return sinks
