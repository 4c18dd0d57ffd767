"""Whole tables: the batch against bare rendering, two processes against one, growth and memory.

Run with `python -m tests.bench.tables [ROWS]`; `--full` adds a table of ten times as many. Every
ratio is taken within one run after a warm-up. The batch and the bare loop are timed in turns and in
time of this process, so that whatever else the machine does falls on both.
"""

from __future__ import annotations

import csv
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from itertools import islice
from pathlib import Path
from typing import Any

import jinja2

from keygen.collection import as_csv, columns
from keygen.collection.batch import TOGETHER, outcome, outcomes
from keygen.collection.entries import Reader, repeated
from keygen.collection.model import Outcome, Plan, Row
from keygen.collection.result import Results
from keygen.collection.sources import open_table
from keygen.collection.sums import Sums
from keygen.collection.work import CHUNK, Bench, Order, seldom_collected
from keygen.core.examine import Examination
from keygen.core.model import Rules
from keygen.prose import describe
from keygen.prose.facts import Own, Page
from keygen.prose.form import form_slots
from keygen.prose.indices import INDICES
from keygen.prose.render import PARAGRAPHS, environment
from keygen.prose.verdict import VERDICT
from keygen.rulebase.load import shipped
from tests.bench.figure import MICROS, Figure, table
from tests.bench.rows import SPANS, attributes_told, rows

ROWS = 100_000
WARM = 4_000  # rows before anything is timed
SAMPLE = 2_000  # descriptions rendered barely
# A small process runs the command: the peak of a process begins with that of the one it came from.
LAUNCH = """\
import resource, subprocess, sys, time
begun = time.perf_counter()
silent = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
code = subprocess.run(sys.argv[1:], **silent).returncode
print(code, time.perf_counter() - begun, resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss)
"""
Ready = list[list[tuple[jinja2.Template, dict[str, Any]]]]


def write_table(rules: Rules, file: Path, count: int) -> None:
    """Write drawn rows to a CSV table."""
    told = attributes_told(rules)
    with file.open("w", newline="", encoding="utf-8") as handle:
        writer = csv.writer(handle)
        writer.writerow(["specimen", "region", *told, *SPANS])
        for row in rows(rules, count):
            cells = [row.cells[name] for name in told]
            writer.writerow([row.number, row.region, *cells, *map(row.measures.get, SPANS)])


def bare_templates() -> jinja2.Environment:
    """Return the shipped templates in an environment without a sandbox."""
    boxed = environment()
    bare = jinja2.Environment(loader=boxed.loader, undefined=jinja2.StrictUndefined)  # noqa: S701
    bare.filters |= boxed.filters
    return bare


def ready(rules: Rules, bare: jinja2.Environment, examination: Examination) -> Ready:
    """Return the templates of a description with their values, all worked out."""
    page, own = Page(rules, examination), Own(rules, examination.piece)
    slots = {**form_slots(rules), "indices": INDICES, **VERDICT}
    return [
        [
            (bare.get_template(f"report/{fact.slot}.j2"), dict(fact.of(own)))
            for name in names
            if (grounds := slots[name].grounds(page)) is not None
            for fact in slots[name].facts(rules, grounds)
        ]
        for names in PARAGRAPHS["report"]
    ]


def rendered(piece: Ready) -> str:
    """Render a description with nothing around it."""
    return "\n\n".join(" ".join(t.render(values) for t, values in part) for part in piece)


class Clock:
    """Sums up the time of named stages."""

    def __init__(self) -> None:
        self.seconds: dict[str, float] = {}

    @contextmanager
    def __call__(self, stage: str) -> Iterator[None]:
        """Add the time of what is done within to a stage."""
        begun = time.process_time()
        yield
        self.seconds[stage] = self.seconds.get(stage, 0.0) + time.process_time() - begun


def opened(rules: Rules, table: Path) -> tuple[Plan, Iterator[Row]]:
    """Open a table; return how it is read, and its rows."""
    found = open_table(str(table), rules)
    plan = columns.plan(rules, found.header)[0]
    return plan, repeated(plan, found.rows)


def chunks(given: Iterator[Row], size: int) -> Iterator[list[Row]]:
    """Cut rows into pieces."""
    return iter(lambda: list(islice(given, size)), [])


def staged(rules: Rules, table: Path, out: Path, clock: Clock) -> int:
    """Do a table stage by stage; return how many rows it has."""
    plan, given = opened(rules, table)
    reader, results, sums = Reader(plan), Results(plan), Sums()
    cut = chunks(given, TOGETHER)
    with out.open("wb") as file, seldom_collected():
        while True:
            with clock("read the file"):
                part = next(cut, [])
            if not part:
                return sums.rows
            with clock("read the cells"):
                entries = [*map(reader.read, part)]
            with clock("call"):
                called = [outcome(reader, entry, "") for entry in entries]
            with clock("word"):
                found = worded(rules, called)
            with clock("lay out"):
                cells = [*map(results.cells, found)]
            with clock("count"):
                for each in found:
                    sums.add(rules, each)
            with clock("write"):
                file.write(as_csv.encode(cells))


def worded(rules: Rules, found: Sequence[Outcome]) -> list[Outcome]:
    """Describe what was called."""
    return [o._replace(text=describe(rules, o.examination)) if o.examination else o for o in found]


def command(table: Path, out: Path, jobs: int) -> tuple[float, float]:
    """Run the command as a process of its own; return its seconds and the peak of it in MB."""
    words = ["-m", "keygen", "table", str(table), "--out", str(out), "--force"]
    launch = [sys.executable, "-c", LAUNCH, sys.executable, *words, "--jobs", str(jobs)]
    told = subprocess.run(launch, check=True, capture_output=True, text=True).stdout.split()
    if told[0] not in ("0", "1"):
        raise SystemExit(f"the command ended with {told[0]}")
    return float(told[1]), int(told[2]) / 1024


def against_bare(rules: Rules, folder: Path, count: int) -> list[Figure]:
    """Return the time of the batch against bare rendering, in turns of a tenth of the table.

    The batch reads its rows from the file.
    """
    plan, given = opened(rules, folder / "rows.csv")
    bench, bare, clock = Bench(plan, Order(frozenset({"csv"}))), bare_templates(), Clock()
    first = [*islice(given, WARM)]
    told = [o for o in outcomes(Reader(plan), first) if o.examination]
    pieces = [ready(rules, bare, o.examination) for o in told[:SAMPLE] if o.examination]
    for piece in pieces:
        rendered(piece)  # values that are worked out when first used
    bench(first)
    cut, share = chunks(given, CHUNK), max(1, count // CHUNK // 10)
    turns = range(WARM, count, CHUNK * share)
    with (folder / "out.csv").open("wb") as file:
        for _ in turns:
            with clock("batch"), seldom_collected():
                for part in islice(cut, share):
                    file.write(bench(part).csv)
            with clock("bare"), seldom_collected():
                for piece in pieces:
                    rendered(piece)
    words = sum(len(o.text.split()) for o in told) / len(told)
    batch = 1e6 * clock.seconds["batch"] / (count - WARM)
    alone = 1e6 * clock.seconds["bare"] / (len(turns) * len(pieces))
    return [
        Figure(f"the batch, {count:,} rows of {words:.0f} words", batch, MICROS),
        Figure("bare Jinja2 rendering of the same templates", alone, MICROS),
        Figure("the batch", batch / alone, "times bare rendering", most=2.1),
    ]


def stages(rules: Rules, folder: Path) -> None:
    """Print the share of each stage, after a warm-up."""
    clock = Clock()
    count = staged(rules, folder / "some.csv", folder / "out.csv", clock)
    whole = sum(clock.seconds.values())
    for stage, seconds in clock.seconds.items():
        print(f"  {stage}: {100 * seconds / whole:.0f} %, {1e6 * seconds / count:.1f} microseconds")


def processes(folder: Path, count: int) -> list[Figure]:
    """Return what a second process brings.

    Raises:
        SystemExit: it gives other bytes.
    """
    table, outs = folder / "rows.csv", [folder / f"out{jobs}.csv" for jobs in (1, 2)]
    seconds = {jobs: command(table, out, jobs)[0] for jobs, out in zip((1, 2), outs, strict=True)}
    if outs[0].read_bytes() != outs[1].read_bytes():
        raise SystemExit("two processes give other bytes than one")
    return [
        Figure(f"`keygen table`, {count:,} rows", count / seconds[1], "rows a second"),
        Figure("two processes, same bytes", seconds[1] / seconds[2], "times one", least=1.6),
    ]


def growth(rules: Rules, folder: Path, sizes: Sequence[int]) -> list[Figure]:
    """Return time and peak memory of tables of several sizes, each ten times the one before."""
    found: list[Figure] = []
    before = None
    for size in sizes:
        table = folder / "grown.csv"
        write_table(rules, table, size)
        seconds, peak = command(table, folder / "out.csv", 1)
        found += [
            Figure(f"`keygen table`, {size:,} rows", 1e6 * seconds / size, MICROS),
            Figure("its peak", peak, "MB"),
        ]
        if before:
            aim = 1.25 if size > ROWS else None  # by then memory is to grow no more
            found.append(Figure("its peak", peak / before, "times that before", most=aim))
        before = peak
    return found


def figures(rules: Rules, count: int = ROWS, full: bool = False) -> list[Figure]:
    """Return all figures of a run; `full` adds a table ten times as long."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        write_table(rules, folder / "rows.csv", count)
        sizes = (count // 10, count, 10 * count)
        return [
            *against_bare(rules, folder, count),
            *processes(folder, count),
            *growth(rules, folder, sizes if full else sizes[:2]),
        ]


def main() -> None:
    """Print all figures, and the share of each stage."""
    numbers = [word for word in sys.argv[1:] if word.isdigit()]
    count = int(numbers[0]) if numbers else ROWS
    rules = shipped()
    print(table(figures(rules, count, "--full" in sys.argv)), end="")
    with tempfile.TemporaryDirectory() as name:
        write_table(rules, Path(name) / "some.csv", count // 5)
        stages(rules, Path(name))


if __name__ == "__main__":
    main()
