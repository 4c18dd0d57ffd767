"""Start-up and answering time, beside a bare typer program measured in the same run.

Run with `python -m tests.bench.start`. Whole processes are timed in turn, so that a change in the
machine's speed falls on both; a ratio is the median of the ratios of the turns. Modules are
compiled and rules cached beforehand, as they are after the first run of an installed program. The
walk is driven through a pseudo-terminal by somebody who reads for a quarter of a second.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from statistics import median

import pexpect

from tests.bench.figure import Figure, table

HELLO = """\
import typer
app = typer.Typer(rich_markup_mode=None, pretty_exceptions_enable=False, add_completion=False)
@app.command()
def hello(name: str = "you") -> None:
    typer.echo(name)
app()
"""
LOAD = "from keygen.rulebase.load import shipped; shipped()"
RUNS = 11
READING = 0.25  # seconds: nobody answers a question sooner
COMMON = "abaaaaaaaaaaaaa"
UNSURE = "u" * 25


class Place:
    """A folder to work in, with its own caches."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.rules = folder / "cache"
        self.hello = folder / "hello.py"
        self.hello.write_text(HELLO, encoding="utf-8")
        kept = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
        self.environment = {
            **kept,
            "PYTHONPYCACHEPREFIX": str(folder / "compiled"),
            "XDG_CACHE_HOME": str(self.rules),
            "TERM": "xterm-256color",
        }

    def wall(self, *words: str) -> float:
        """Return the seconds that Python takes as a whole process."""
        command = [sys.executable, *words]
        begun = time.perf_counter()
        subprocess.run(command, check=True, capture_output=True, env=self.environment)
        return time.perf_counter() - begun

    def bare(self) -> float:
        """Return the seconds of the bare program."""
        return self.wall(str(self.hello), "--help")

    def walk(self, answers: str) -> tuple[float, list[float]]:
        """Return the seconds to the first question, and from Enter to each next question."""
        record = Path(tempfile.mkdtemp(dir=self.folder)) / "bench.yaml"
        words = ["-m", "keygen", "walk", str(record), "--region", "carolina_piedmont"]
        begun = time.perf_counter()
        child = pexpect.spawn(
            sys.executable, words, encoding="utf-8", timeout=30, env=self.environment
        )
        child.setecho(False)
        child.delaybeforesend = None  # or every answer waits 50 ms
        child.expect("\n> ")
        first = time.perf_counter() - begun
        gaps = []
        for answer in answers:
            time.sleep(READING)
            begun = time.perf_counter()
            child.sendline(answer)
            child.expect("\n> ")
            gaps.append(time.perf_counter() - begun)
        child.close(force=True)
        return first, gaps


def starts(place: Place, runs: int) -> list[Figure]:
    """Return what it takes to show the help, to put the first question, and to load the rules."""
    turns = [_turn(place) for _ in range(runs + 1)][1:]  # the first one compiled the modules
    bare = [turn[0] for turn in turns]
    ratios = [[seconds / turn[0] for seconds in turn[1:]] for turn in turns]
    shown, asked, cached, cold = zip(*ratios, strict=True)
    return [
        Figure("a bare typer program shows its help (hello)", 1000 * median(bare), "ms"),
        Figure("`keygen --help`", median(shown), "times hello", most=1.3),
        Figure("`keygen walk` to its first question", median(asked), "times hello", most=2),
        Figure("rules loaded from the cache", median(cached), "times hello"),
        Figure("rules loaded from their folder", median(cold), "times hello"),
    ]


def _turn(place: Place) -> tuple[float, ...]:
    """Return the seconds of the bare program, the help, a first question, rules cached and not."""
    bare, shown = place.bare(), place.wall("-m", "keygen", "--help")
    asked, cached = place.walk("")[0], place.wall("-c", LOAD)
    shutil.rmtree(place.rules)
    return bare, shown, asked, cached, place.wall("-c", LOAD)


def answers(place: Place, runs: int) -> list[Figure]:
    """Return what it takes from Enter to the next question."""
    found = []
    for label, keys in (("a or b", COMMON), ("all unsure", UNSURE)):
        gaps = [1000 * gap for _ in range(runs) for gap in place.walk(keys)[1]]
        ninth = sorted(gaps)[int(0.9 * (len(gaps) - 1))]
        what = f"Enter to next question, {label}"
        found += [
            Figure(f"{what}: median", median(gaps), "ms", most=20),
            Figure(f"{what}: 90th percentile", ninth, "ms"),
            Figure(f"{what}: worst of {len(gaps)}", max(gaps), "ms"),
        ]
    return found


def figures(runs: int = RUNS) -> list[Figure]:
    """Return all figures of a run."""
    with tempfile.TemporaryDirectory() as name:
        place = Place(Path(name))
        return [*starts(place, runs), *answers(place, max(1, runs // 3))]


def main() -> None:
    """Print the figures."""
    print(table(figures()), end="")


if __name__ == "__main__":
    main()
