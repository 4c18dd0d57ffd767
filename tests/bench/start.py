"""Start-up and answering time, as ratios to a bare typer program measured in the same run.

Run with `python -m tests.bench.start`. Whole processes are timed in turn, so that a change in the
machine's speed falls on both; the walk is driven through a pseudo-terminal.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
from pathlib import Path
from statistics import median

import pexpect

HELLO = """\
import typer
app = typer.Typer(rich_markup_mode=None, pretty_exceptions_enable=False, add_completion=False)
@app.command()
def hello(name: str = "you") -> None:
    typer.echo(name)
app()
"""
RUNS = 15


def wall(command: list[str]) -> float:
    """Return the seconds a whole process takes."""
    begun = time.perf_counter()
    subprocess.run(command, check=True, capture_output=True)
    return time.perf_counter() - begun


def walk_times(folder: Path, number: int) -> tuple[float, list[float]]:
    """Return the seconds to the first question, and from Enter to each next question."""
    record = folder / f"bench-{number}.yaml"
    arguments = ["-m", "keygen", "walk", str(record), "--region", "carolina_piedmont"]
    begun = time.perf_counter()
    child = pexpect.spawn(sys.executable, arguments, encoding="utf-8", timeout=30)
    child.setecho(False)
    child.delaybeforesend = None  # or every answer waits 50 ms
    child.expect("\n> ")
    first = time.perf_counter() - begun
    gaps = []
    for answer in "abaaaaaaaaaaaaa":
        begun = time.perf_counter()
        child.sendline(answer)
        child.expect("\n> ")
        gaps.append(time.perf_counter() - begun)
    child.close(force=True)
    return first, gaps


def main() -> None:
    """Print the table of ratios."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        hello = folder / "hello.py"
        hello.write_text(HELLO, encoding="utf-8")
        bare_run = [sys.executable, str(hello), "--help"]
        help_run = [str(Path(sys.executable).with_name("keygen")), "--help"]
        for command in (bare_run, help_run):
            wall(command)
        walk_times(folder, 0)
        bare, shown, firsts, gaps = [], [], [], []
        for number in range(1, RUNS + 1):
            bare.append(wall(bare_run))
            shown.append(wall(help_run))
            first, answers = walk_times(folder, number)
            firsts.append(first)
            gaps += answers
    base = median(bare)
    print(f"bare typer hello --help: {1000 * base:.0f} ms, the median of {RUNS}")
    print(f"keygen --help: {median(shown) / base:.2f} times")
    print(f"walk, start to first question: {median(firsts) / base:.2f} times")
    print(
        f"walk, Enter to next question: median {1000 * median(gaps):.1f} ms, "
        f"worst {1000 * max(gaps):.1f} ms of {len(gaps)}"
    )


if __name__ == "__main__":
    main()
