"""All benchmarks in one run, as one Markdown table of ratios.

Run with `python -m tests.bench`; `--full` adds a table of a million rows, `--out FILE` writes a
page with the date, the Python version and the number of cores. A figure comes from one run, and a
ratio from two sides timed in turn: only ratios can be compared between machines.
"""

from __future__ import annotations

import argparse
import datetime
import os
import platform
import sys
from collections.abc import Callable
from pathlib import Path

from keygen.core.model import Rules
from keygen.rulebase.load import shipped
from tests.bench import calls, sheets, start, tables, wording
from tests.bench.figure import Figure, table

PAGE = """\
# Benchmarks

Written by `{command}` on {date}, {python}, {cores} cores; {edition}.
Ratios come from one run in which both sides are timed in turn; times in ms or microseconds are this
machine's, and only tell of which size things are. "hello" is a bare typer program that shows its
help. A reader who takes a quarter of a second is assumed before each Enter. No test asserts a time.

{table}"""


def parts(rules: Rules, rows: int, full: bool) -> list[tuple[str, Callable[[], list[Figure]]]]:
    """Return the benchmarks in their order, each with what it is about."""
    return [
        ("start-up and answers", start.figures),
        ("calls", lambda: calls.figures(rules, min(rows, 20_000))),
        ("tables", lambda: tables.figures(rules, rows, full)),
        ("wording", lambda: wording.figures(rules, min(rows, 10_000))),
        ("workbooks", lambda: sheets.figures(rules, min(rows, 20_000))),
    ]


def arguments() -> argparse.Namespace:
    """Return what was asked for."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench", description=__doc__)
    parser.add_argument(
        "--rows", type=int, default=100_000, help="rows of the largest table, 10,000 or more"
    )
    parser.add_argument("--full", action="store_true", help="ten times as many rows as well")
    parser.add_argument("--out", type=Path, help="a page to write")
    return parser.parse_args()


def main() -> None:
    """Measure, and print or write the table."""
    asked, rules = arguments(), shipped()
    found = []
    for what, measure in parts(rules, asked.rows, asked.full):
        print(f"{what} ...", file=sys.stderr, flush=True)
        found += measure()
    printed = table(found)
    print(printed, end="")
    if asked.out:
        page = PAGE.format(
            command=" ".join(["python -m tests.bench", *sys.argv[1:]]),
            date=datetime.date.today().isoformat(),
            python=f"Python {platform.python_version()}",
            cores=os.cpu_count(),
            edition=f"{len(rules.types)} types, {len(rules.couplets)} couplets",
            table=printed,
        )
        asked.out.write_text(page, encoding="utf-8")


if __name__ == "__main__":
    main()
