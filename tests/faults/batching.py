"""`keygen table` killed at a moment of chance, in one process or two, and what is left of it."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from tests.cli.conftest import ENVIRONMENT, PROGRAM, SMALL
from tests.collection import finds

OLD = b"an older output\n"
NAMES = ("out.csv", "out.jsonl")
GRACE = 10.0  # seconds in which processes that lost the first one end


@dataclass(frozen=True)
class Job:
    """A table, what a run that nobody kills makes of it, and how many seconds that takes."""

    table: Path
    outputs: tuple[bytes, ...]
    seconds: float


@dataclass(frozen=True)
class Left:
    """What is left of a run that was killed.

    Attributes:
        done: how many of the outputs are the new ones; the others are the old ones.
        torn: the names of outputs that are neither.
        stray: how many half files lie beside them, under names of their own.
        alive: how many of its processes went on.
    """

    done: int
    torn: tuple[str, ...]
    stray: int
    alive: int


def started(table: Path, folder: Path, jobs: int) -> subprocess.Popen[str]:
    """Begin a run over a folder of old outputs, in a session of its own."""
    outs = [word for name in NAMES for word in ("--out", str(folder / name))]
    words = ["table", str(table), "--region", "hills", "--force", "--jobs", str(jobs), *outs]
    return subprocess.Popen(
        [*PROGRAM, *words, *SMALL],
        env=ENVIRONMENT,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
    )


@contextmanager
def job(rows: int) -> Iterator[Job]:
    """Give a table, and run it once to its end."""
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        table = finds.file(folder, finds.many(rows))
        begun = time.monotonic()
        started(table, folder, 1).communicate()
        took = time.monotonic() - begun
        yield Job(table, tuple((folder / name).read_bytes() for name in NAMES), took)


def killed(job: Job, folder: Path, delay: float, jobs: int) -> Left:
    """Kill a run over old outputs after some seconds."""
    for name in NAMES:
        (folder / name).write_bytes(OLD)
    process = started(job.table, folder, jobs)
    try:
        process.wait(delay)
    except subprocess.TimeoutExpired:
        process.send_signal(signal.SIGKILL)
    going = alive(process.pid)
    process.communicate()  # not before: it waits for all that hold the other end
    there = [(folder / name).read_bytes() for name in NAMES]
    pairs = list(zip(NAMES, there, job.outputs, strict=True))
    return Left(
        done=sum(found == new for _, found, new in pairs),
        torn=tuple(name for name, found, new in pairs if found not in (OLD, new)),
        stray=len(list(folder.iterdir())) - len(NAMES),
        alive=going,
    )


def alive(session: int) -> int:
    """Return how many processes of a session go on, given time to end."""
    end = time.monotonic() + GRACE
    while (left := processes(session)) and time.monotonic() < end:
        time.sleep(0.05)
    for number in left:
        os.kill(number, signal.SIGKILL)
    return len(left)


def processes(session: int) -> list[int]:
    """Return the processes of a session."""
    found = []
    for place in Path("/proc").glob("[0-9]*/stat"):
        try:
            state, _, _, own = place.read_text().rpartition(")")[2].split()[:4]
        except OSError:  # it ended meanwhile
            continue
        if int(own) == session and state != "Z":
            found.append(int(place.parent.name))
    return found


def next_run(job: Job, folder: Path) -> tuple[bool, int]:
    """Run once more; return whether all outputs are whole, and how many strays that run names."""
    _, told = started(job.table, folder, 2).communicate()
    there = tuple((folder / name).read_bytes() for name in NAMES)
    return there == job.outputs, told.count(".part was left by a run that was cut off")


def main(count: int, seed: int, rows: int = 10_000) -> int:
    """Kill so many runs and print what was left; return how many left what they must not."""
    chance, bad = random.Random(seed), 0
    print(
        f"{'runs of table':15} {'kills':>6} {'old kept':>9} {'new there':>10} {'torn':>5}"
        f" {'half files':>11} {'processes left':>15}"
    )
    with job(rows) as given, tempfile.TemporaryDirectory() as place:
        for jobs in (1, 2):
            folder = Path(place) / str(jobs)
            folder.mkdir()
            ends: Counter[str] = Counter()
            kills = count // 2 + (count % 2) * (jobs == 1)
            for _ in range(kills):
                left = killed(given, folder, chance.uniform(0.0, 1.1 * given.seconds), jobs)
                ends["old"] += left.done < len(NAMES)
                ends["new"] += left.done == len(NAMES)
                ends["torn"] += len(left.torn)
                ends["alive"] += left.alive
                stray = left.stray
            whole, named = next_run(given, folder)
            print(
                f"{f'--jobs {jobs}':15} {kills:6} {ends['old']:9} {ends['new']:10}"
                f" {ends['torn']:5} {stray:11} {ends['alive']:15}"
            )
            print(f"{'':15} the next run: {'whole' if whole else 'NOT WHOLE'}, names {named}")
            bad += ends["torn"] + ends["alive"] + (not whole) + (named != stray)
    return bad
