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

from keygen.core.brief import Brief, Cells
from keygen.core.examine import Piece, examine
from keygen.core.infer import Contradiction
from keygen.core.model import Rules
from keygen.rulebase.load import shipped
from tests.bench.engine import Engine
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

ROUNDS = 7
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


def main() -> None:
    """Check that the answers are the same, and print the ratios."""
    rules = shipped()
    table = list(rows(rules, int(sys.argv[1]) if len(sys.argv) > 1 else 20_000))
    names = attributes_told(rules)
    cells = Cells(rules, [CellReader(rules, name) for name in names])
    loops, engine = Loops(rules), Engine(rules, names)

    def lines(some: Sequence[BenchRow]) -> list[tuple[list[str], str]]:
        return [([row.cells[name] for name in names], row.region) for row in some]

    few = table[: SLOW * ROUNDS]
    whole = [row for row in few if not made_over(row)]
    for row, line in zip(few, lines(few), strict=True):
        found = ours(cells, *line)
        if not agree(found, loops.call(row)):
            raise SystemExit(f"row {row.number}: the loops give another call")
        listed = {*found.consistent, *found.possible} if found else set()
        if row in whole and engine.types(row) != listed:
            raise SystemExit(f"row {row.number}: the engine names other types")
    distinct = len({(tuple(row.cells.values()), row.region) for row in table})
    print(f"{len(table)} rows, {distinct} of them distinct; {len(names)} columns")
    print(f"same calls on {len(few)} rows: index and loops")
    print(f"same types on {len(whole)} rows not made over: index and {engine.rules} engine rules")

    call = partial(ours, cells)
    each(call, lines(list(rows(rules, len(table), SEED + 1))))  # other rows: a warm-up
    every, those = lines(table), lines([row for row in table if not made_over(row)])
    fast, fast_whole, slow, slower, examined, full = [], [], [], [], [], []
    for turn in range(ROUNDS):
        some = few[turn * SLOW : (turn + 1) * SLOW]
        shared = [row for row in some if not made_over(row)]
        pieces = [(piece_of(rules, row), row.region) for row in some]
        pieces = [(piece, region) for piece, region in pieces if stands(rules, piece)]
        fast.append(micros(partial(each, call, every), len(every)))
        fast_whole.append(micros(partial(each, call, those), len(those)))
        slow.append(micros(partial(each, loops.call, zip(some)), len(some)))
        slower.append(micros(partial(each, engine.types, zip(shared)), len(shared)))
        examined.append(micros(partial(each, partial(examine, rules), pieces), len(pieces)))
        full.append(micros(partial(each, partial(in_full, rules), pieces), len(pieces)))
    base, base_whole = median(fast), median(fast_whole)
    print(f"index: {base:.1f} microseconds a row; {base_whole:.1f} if not made over")
    print(f"plain loops: {median(slow) / base:.1f} times that ({median(slow):.0f})")
    print(f"rule engine: {median(slower) / base_whole:.1f} times that ({median(slower):.0f})")
    print(f"examine: {median(examined) / base:.1f} times that ({median(examined):.0f})")
    print(f"with near misses, elsewhere, looks: {median(full) / base:.1f} ({median(full):.0f})")


if __name__ == "__main__":
    main()
