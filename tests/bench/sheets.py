"""Reading tables: workbooks against openpyxl's read-only mode, and rows into pieces.

Run with `python -m tests.bench.sheets`. Each ratio comes from one run, the two sides in turn.
"""

from __future__ import annotations

import csv
import random
import tempfile
import time
from collections import deque
from collections.abc import Callable, Iterable
from pathlib import Path
from statistics import median

import openpyxl

from keygen.collection.columns import plan
from keygen.collection.entries import Reader, repeated
from keygen.collection.model import Table
from keygen.collection.sources import open_table
from keygen.core.model import Rules
from keygen.rulebase.load import shipped
from tests.bench.figure import MICROS, Figure, table

ROWS, RUNS = 20_000, 3
STATES = (
    *("haft_style", "stem_shape", "stem_length", "base_shape", "blade_shape", "blade_edge"),
    *("blade_retouch", "shoulder_shape", "shoulder_strength", "haft_grinding", "basal_thinning"),
    *("fluting", "cross_section"),
)
FIGURES = {"length": 1.0, "width": 0.5, "thickness": 0.15, "neck_width": 0.3, "weight": 0.2}
TEXTS = ("portion", "damage", "material", "site", "level", "notes")


def header() -> list[str]:
    """Return 25 columns."""
    return ["specimen", *STATES, *FIGURES, *TEXTS]


def row(rules: Rules, number: int, chance: random.Random) -> list[str | float]:
    """Return an invented row: terms, doubts, gaps and figures as in a usual table."""
    cells: list[str | float] = [f"T-{number}"]
    for name in STATES:
        states = rules.attributes[rules.index[name]].states
        one, other = chance.choice(states), chance.choice(states)
        choices = (one.term, one.id, f"{one.id}/{other.id}", "?", "missing", "")
        cells.append(chance.choices(choices, (10, 10, 2, 1, 1, 3))[0])
    length = chance.uniform(25, 90)
    cells += [round(length * share, 1) for share in FIGURES.values()]
    cells += ["complete", chance.choice(("none", "heat damage", "edge nicks; potlids"))]
    cells += [chance.choice(("chert", "rhyolite", "quartz")), f"S-{number % 40}", number % 9, ""]
    return cells


def write(rules: Rules, folder: Path, count: int) -> tuple[Path, Path]:
    """Write the same rows as a workbook and as a CSV."""
    chance = random.Random(5)
    book = openpyxl.Workbook(write_only=True)
    sheet = book.create_sheet("finds")
    sheet.append(header())
    text, workbook = folder / "t.csv", folder / "t.xlsx"
    with text.open("w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file)
        writer.writerow(header())
        for number in range(count):
            cells = row(rules, number, chance)
            writer.writerow(cells)
            sheet.append(cells)
    book.save(workbook)
    return workbook, text


def seconds(work: Callable[[], Iterable[object]]) -> float:
    """Return the processor time that it takes to draw everything that some work yields."""
    begun = time.process_time()
    deque(work(), 0)
    return time.process_time() - begun


def by_openpyxl(path: Path) -> Iterable[object]:
    """Yield the rows as openpyxl's read-only mode gives them, without anything done to them."""
    book = openpyxl.load_workbook(path, read_only=True)
    yield from book["finds"].iter_rows(values_only=True)
    book.close()


def figures(rules: Rules, count: int = ROWS) -> list[Figure]:
    """Return all figures of a run."""
    with tempfile.TemporaryDirectory() as name:
        workbook, text = write(rules, Path(name), count)

        def opened(path: Path) -> Table:
            return open_table(str(path), rules)

        def each(work: Callable[[], Iterable[object]]) -> float:
            return 1e6 * seconds(work) / count

        pairs = [
            (seconds(lambda: by_openpyxl(workbook)), seconds(lambda: opened(workbook).rows))
            for _ in range(RUNS)
        ]
        ratio = median(other / ours for other, ours in pairs)
        found, _ = plan(rules, opened(text).header)
        reader = Reader(found)
        rows = list(repeated(found, opened(text).rows))
        deque(map(reader.read, rows), 0)  # a warm-up
        return [
            Figure(
                f"XLSX of {count:,} rows and {len(header())} columns into rows: openpyxl read-only",
                ratio,
                "times ours",
                least=8,
            ),
            Figure("CSV into rows", each(lambda: opened(text).rows), MICROS),
            Figure("repeated numbers found", each(lambda: repeated(found, rows)), MICROS),
            Figure("rows into pieces", each(lambda: map(reader.read, rows)), MICROS),
        ]


def main() -> None:
    """Print the figures."""
    print(table(figures(shipped())), end="")


if __name__ == "__main__":
    main()
