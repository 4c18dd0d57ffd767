"""Calls from the raw cells of a table: the inverted index beside plain loops and a rule engine.

Run with `python -m tests.bench.calls [N]`; N rows, 20,000 if not given. All are timed in turn on
the same rows, after a warm-up on other rows, so that a change in the machine's speed falls on all
of them; figures are medians of the rounds. First it is checked that they give the same answers:

- plain loops (`tests/core/plain.py`): status, and the standing of every candidate, for all rows;
- the rule engine (`tests/bench/engine.py`): the candidates, for rows of pieces not made over.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterable, Sequence
from functools import partial
from statistics import median
from typing import Any

from keygen.core.brief import Brief, Cells
from keygen.core.examine import Piece, examine
from keygen.core.infer import Contradiction
from keygen.core.model import Rules
from keygen.rulebase.load import shipped
from tests.bench.engine import Engine
from tests.bench.figure import MICROS, Figure
from tests.bench.figure import table as table_of
from tests.bench.rows import (
    SEED,
    BenchRow,
    CellReader,
    attributes_told,
    made_over,
    piece_of,
    rows,
)
from tests.core.plain import Called, Plain

ROWS = 20_000
ROUNDS = 7
TIMES = "times the calls"
SLOW = 400  # rows a round for what is slow


class Loops:
    """Calls by plain loops; each text of a column is read once, as the index does it."""

    def __init__(self, rules: Rules) -> None:
        self._plain = Plain(rules)
        self._read: dict[str, frozenset[str]] = {}

    def call(self, row: BenchRow) -> Called | None:
        """Return the call of a row; None if it contradicts itself."""
        observed = {}
        for name, text in row.cells.items():
            if text not in ("", "?"):
                if text not in self._read:
                    self._read[text] = frozenset(text.split("/"))
                observed[name] = self._read[text]
        known = self._plain.close(observed)
        return None if known is None else self._plain.call(row.region, known)


def ours(cells: Cells, line: Sequence[str], region: str) -> Brief | None:
    """Return the call of a row of cells; None if it contradicts itself."""
    try:
        return cells.call(line, region)
    except Contradiction:
        return None


def agree(found: Brief | None, wanted: Called | None) -> bool:
    """Tell whether a call in brief is what the plain loops say."""
    if found is None or wanted is None:
        return found is None and wanted is None
    standings = dict.fromkeys(found.consistent, "consistent")
    standings |= dict.fromkeys(found.possible, "possible")
    return (found.status, found.reason, standings) == (
        wanted.status,
        wanted.reason,
        dict(wanted.candidates),
    )


def each(work: Callable[..., object], items: Iterable[tuple[object, ...]]) -> None:
    """Do a piece of work on every item."""
    for item in items:
        work(*item)


def in_full(rules: Rules, piece: Piece, region: str) -> int:
    """Examine a piece, and read what is worked out later; return how much of that there is."""
    found = examine(rules, piece, region)
    assert found.call is not None
    return len(found.call.near_misses) + len(found.elsewhere) + len(found.looks)


def stands(rules: Rules, piece: Piece) -> bool:
    """Tell whether a piece does not contradict itself."""
    try:
        return bool(examine(rules, piece))
    except Contradiction:
        return False


def micros(work: Callable[[], object], count: int) -> float:
    """Return the microseconds of processor time that a piece of work takes for one row."""
    begun = time.process_time()
    work()
    return (time.process_time() - begun) / count * 1e6


def same(rules: Rules, some: Sequence[BenchRow], cells: Cells, engine: Engine | None) -> None:
    """Make sure that index, loops and engine say the same of some rows."""
    loops, names = Loops(rules), attributes_told(rules)
    for row in some:
        found = ours(cells, [row.cells[name] for name in names], row.region)
        if not agree(found, loops.call(row)):
            raise SystemExit(f"row {row.number}: the loops give another call")
        listed = {*found.consistent, *found.possible} if found else set()
        if engine and not made_over(row) and engine.types(row) != listed:
            raise SystemExit(f"row {row.number}: the engine names other types")


def figures(rules: Rules, count: int = ROWS) -> list[Figure]:
    """Check that the answers are the same, and return all figures of a run."""
    table = list(rows(rules, count))
    names = attributes_told(rules)
    cells = Cells(rules, [CellReader(rules, name) for name in names])
    loops, engine = Loops(rules), engine_of(rules)

    def lines(some: Sequence[BenchRow]) -> list[tuple[list[str], str]]:
        return [([row.cells[name] for name in names], row.region) for row in some]

    few = table[: SLOW * ROUNDS]
    same(rules, few, cells, engine)
    call = partial(ours, cells)
    each(call, lines(list(rows(rules, count, SEED + 1))))  # other rows: a warm-up
    every, those = lines(table), lines([row for row in table if not made_over(row)])
    took: dict[str, list[float]] = {}

    def time_of(what: str, work: Callable[..., object], items: Sequence[tuple[Any, ...]]) -> None:
        took.setdefault(what, []).append(micros(partial(each, work, items), len(items)))

    for turn in range(ROUNDS):
        some = few[turn * SLOW : (turn + 1) * SLOW]
        pieces = [(piece_of(rules, row), row.region) for row in some]
        pieces = [(piece, region) for piece, region in pieces if stands(rules, piece)]
        time_of("index", call, every)
        time_of("index, whole", call, those)
        time_of("loops", loops.call, [(row,) for row in some])
        if engine:
            time_of("engine", engine.types, [(row,) for row in some if not made_over(row)])
        time_of("examine", partial(examine, rules), pieces)
        time_of("in full", partial(in_full, rules), pieces)
    base, whole = median(took["index"]), median(took["index, whole"])
    found = [
        Figure(f"calls from raw cells, {count:,} rows", base, MICROS),
        Figure("plain loops of dicts and sets", median(took["loops"]) / base, TIMES, least=15),
        Figure("`examine`, one piece", median(took["examine"]), "microseconds"),
        Figure("`examine` with near misses, elsewhere, looks", median(took["in full"]), MICROS),
    ]
    if engine:
        ratio = median(took["engine"]) / whole
        what = f"the rule engine, {engine.rules} rules, rows not made over"
        found.insert(2, Figure(what, ratio, TIMES, least=40))
    return found


def engine_of(rules: Rules) -> Engine | None:
    """Return the rule engine; None, and a word, where it is not installed."""
    try:
        return Engine(rules, attributes_told(rules))
    except ModuleNotFoundError:
        print("The rule engine is left out: install the extra `bench`.", file=sys.stderr)
        return None


def main() -> None:
    """Print the figures."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else ROWS
    print(table_of(figures(shipped(), count)), end="")


if __name__ == "__main__":
    main()
