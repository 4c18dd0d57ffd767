"""Rows to finished pieces of output, in one process or several, in order and in little memory."""

from __future__ import annotations

import gc
import multiprocessing
import os
import signal
import threading
from collections import deque
from collections.abc import Iterable, Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from itertools import islice
from pathlib import Path
from typing import Literal

from keygen.collection import as_csv, as_jsonl
from keygen.collection.as_records import as_record
from keygen.collection.batch import TOGETHER, outcomes
from keygen.collection.entries import Reader
from keygen.collection.model import Fault, Outcome, Plan, Row
from keygen.collection.parcel import packed, unpacked
from keygen.collection.result import Results
from keygen.collection.sums import Sums
from keygen.errors import KeygenError, Problem

Form = Literal["csv", "jsonl", "cells", "outcomes", "records"]
CHUNK = TOGETHER  # rows that go to a process at once
AHEAD = 3  # chunks waiting for each process; more would only take up memory


@dataclass(frozen=True)
class Order:
    """What is wanted of every row: in which forms, and how it is told."""

    forms: frozenset[Form]
    register: str = "report"
    templates: Path | None = None
    locations: bool = False
    pictures: bool = True  # in reports


@dataclass(frozen=True)
class Done:
    """What came of some rows, in the forms that were ordered; the others stay empty."""

    last: Row
    sums: Sums = field(default_factory=Sums)
    faults: tuple[Fault, ...] = ()
    csv: bytes = b""
    jsonl: bytes = b""
    cells: Sequence[tuple[str, ...]] = ()
    outcomes: Sequence[Outcome] = ()
    parcel: bytes = b""  # the outcomes on their way from another process
    records: Sequence[tuple[str, str]] = ()
    problems: tuple[Problem, ...] = ()


class Bench:
    """Where rows are worked on: one in every process, with the plan and what was learned of it."""

    def __init__(self, plan: Plan, order: Order) -> None:
        self.order, self.reader = order, Reader(plan)
        self.results = Results(plan, order.register, order.templates, order.locations)

    def __call__(self, rows: Sequence[Row]) -> Done:
        """Return what comes of some rows."""
        try:
            return self._done(rows)
        except KeygenError as error:  # an error would not come whole out of another process
            return Done(rows[-1], problems=error.problems)

    def _done(self, rows: Sequence[Row]) -> Done:
        reader, forms, results, order = self.reader, self.order.forms, self.results, self.order
        laid_out = bool(forms & {"csv", "cells"})
        register = order.register if laid_out else ""
        found = [*outcomes(reader, rows, register, order.templates)]
        sums = Sums()
        for outcome in found:
            sums.add(reader.rules, outcome)
        cells = [*map(results.cells, found)] if laid_out else []
        lines = map(as_jsonl.encode, map(results.entry, found)) if "jsonl" in forms else ()
        named = [one for one in found if one.entry.specimen] if "records" in forms else ()
        return Done(
            last=rows[-1],
            sums=sums,
            faults=tuple([fault for outcome in found for fault in outcome.entry.faults]),
            csv=as_csv.encode(cells) if "csv" in forms else b"",
            jsonl=b"".join(lines),
            cells=cells if "cells" in forms else (),
            outcomes=found if "outcomes" in forms else (),
            records=[as_record(reader.plan, outcome) for outcome in named],
        )


def _collect_seldom() -> None:
    gc.freeze()
    gc.set_threshold(1_000_000, 50, 50)


@contextmanager
def seldom_collected() -> Iterator[None]:
    """Let Python look for circles of references less often: rows leave none, and it takes long."""
    before = gc.get_threshold()
    _collect_seldom()
    try:
        yield
    finally:
        gc.set_threshold(*before)
        gc.unfreeze()


def done(plan: Plan, order: Order, rows: Iterable[Row], jobs: int = 1) -> Iterator[Done]:
    """Yield what comes of rows, some at a time and in their order; the same for any `jobs`.

    Raises:
        KeygenError: a template cannot be used, or a process was ended from outside.
    """
    given = iter(rows)
    chunks = iter(lambda: tuple(islice(given, CHUNK)), ())
    with seldom_collected():
        one = jobs < 2
        found = map(Bench(plan, order), chunks) if one else _shared_out(plan, order, chunks, jobs)
        for part in found:
            if part.problems:
                raise KeygenError(part.problems)
            yield part


def _shared_out(
    plan: Plan, order: Order, chunks: Iterator[tuple[Row, ...]], jobs: int
) -> Iterator[Done]:
    with ProcessPoolExecutor(jobs, initializer=_begin, initargs=(plan, order)) as pool:
        waiting: deque[Future[Done]] = deque()
        try:
            for chunk in chunks:
                waiting.append(pool.submit(_work, chunk))
                if len(waiting) > AHEAD * jobs:
                    yield _opened(plan, waiting.popleft().result())
            while waiting:
                yield _opened(plan, waiting.popleft().result())
        except BrokenProcessPool:
            raise KeygenError("a process was ended from outside; is there enough memory?") from None
        finally:
            pool.shutdown(wait=False, cancel_futures=True)


_BENCH: list[Bench] = []  # of this process, made when it begins


def _begin(plan: Plan, order: Order) -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the first process ends the others
    signal.signal(signal.SIGTERM, signal.SIG_DFL)
    threading.Thread(target=_end_with_the_first, daemon=True).start()
    _BENCH[:] = [Bench(plan, order)]
    _collect_seldom()


def _end_with_the_first() -> None:
    """End this process when the one that began it is gone: killed, it could not end the others."""
    first = multiprocessing.parent_process()
    if first:
        first.join()
        os._exit(1)


def _work(rows: tuple[Row, ...]) -> Done:
    (bench,) = _BENCH
    found = bench(rows)
    if not found.outcomes:
        return found
    return replace(found, outcomes=(), parcel=packed(bench.reader.rules, found.outcomes))


def _opened(plan: Plan, found: Done) -> Done:
    if not found.parcel:
        return found
    return replace(found, outcomes=unpacked(plan.rules, found.parcel), parcel=b"")
