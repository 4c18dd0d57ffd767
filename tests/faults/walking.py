"""A walk on a terminal of its own, killed at a moment of chance, and what is left of it.

Run with `python -m tests.faults.walking [N] [SEED]`: N walks (300 if not said) are killed with
SIGKILL; prints how many, where, and what was lost.
"""

from __future__ import annotations

import random
import signal
import sys
import tempfile
import threading
import time
from collections import Counter
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pexpect
from typer.testing import CliRunner

from keygen.cli import app
from keygen.specimens.journal import Journal, journal_file
from tests.cli.conftest import ENVIRONMENT, PROGRAM, SMALL

FIRST = "Is the piece whole?"
LINES = (
    *("a", "a", "contracting", "a", "b", "back", "b", "48.20+", "", "30", "", "", "chert", ""),
    *("Site A", "done"),
)
QUESTIONS = (  # what is put after each of the lines but the last
    *("any damage", "set off from", "base a straight", "blade edges straight", "Maximum length"),
    *("blade edges straight", "Maximum length", "Maximum width", "Neck width", "Basal width"),
    *("Weight", "Material", "Munsell", "Site:", "Unit:"),
)


@dataclass(frozen=True)
class Left:
    """What is left of a killed walk.

    Attributes:
        sent: how many lines were typed.
        answered: how many of them were seen to be followed by the next question.
        kept: how many are in the journal; all of them if the record was written.
        whole: whether going on with the rest gave the record of a walk that was not killed.
    """

    sent: int
    answered: int
    kept: int
    whole: bool


def finished(target: Path, lines: tuple[str, ...]) -> str:
    """Walk, or go on with a walk, to its end; return the record."""
    words = ["walk", str(target), "--specimen", "T-1", *SMALL]
    options = [] if journal_file(target).exists() else ["-r", "hills"]
    typed = "".join(f"{line}\n" for line in lines)
    result = CliRunner().invoke(app, [*words, *options], input=typed, prog_name="keygen")
    assert result.exit_code == 0, result.output
    return target.read_text(encoding="utf-8")


@cache
def undisturbed() -> str:
    """Return the record of a walk that nobody killed."""
    with tempfile.TemporaryDirectory() as folder:
        return finished(Path(folder) / "x.yaml", LINES)


@cache
def duration() -> float:
    """Return how long a walk on a terminal takes from its first question to its last."""
    with tempfile.TemporaryDirectory() as folder:
        child = _terminal(Path(folder) / "x.yaml")
        child.expect_exact(FIRST)
        begun = time.monotonic()
        for line, awaited in zip(LINES, QUESTIONS, strict=False):
            child.sendline(line)
            child.expect_exact(awaited)
        took = time.monotonic() - begun
        child.close(force=True)
        return took


def _terminal(target: Path) -> pexpect.spawn[str]:
    words = [*PROGRAM[1:], "walk", str(target), "--specimen", "T-1", "-r", "hills", *SMALL]
    child: pexpect.spawn[str] = pexpect.spawn(
        PROGRAM[0], words, env=ENVIRONMENT, encoding="utf-8", timeout=60, echo=False
    )
    child.delaybeforesend = None
    return child


def _typed(target: Path, delay: float, at_once: bool, ahead: bool) -> tuple[int, str]:
    """Type the lines and kill the walk after some seconds.

    Args:
        target: where the record goes.
        delay: the seconds, from the first question on.
        at_once: whether they count from the start of the program.
        ahead: whether lines are typed all at once and not each after its question.

    Returns:
        How many lines were typed, and all that was shown.
    """
    child = _terminal(target)
    timer = threading.Timer(delay, lambda: child.kill(signal.SIGKILL))
    sent, shown = 0, ""
    try:
        if at_once:
            timer.start()
        child.expect_exact(FIRST)
        if not at_once:
            timer.start()
        for line, awaited in zip(LINES, (*QUESTIONS, ""), strict=True):
            child.sendline(line)
            sent += 1
            if awaited and not ahead:
                child.expect_exact(awaited)
                shown += f"{child.before}{child.after}"
        child.expect_exact(pexpect.EOF)
    except (pexpect.EOF, OSError):
        pass
    finally:
        shown += child.before if isinstance(child.before, str) else ""
        timer.cancel()
        child.close(force=True)
    return sent, shown


def killed(target: Path, chance: random.Random) -> Left:
    """Kill a walk at a moment of chance, and go on with what is left of it."""
    delay = chance.uniform(0.0, 1.3 * duration())  # the record is written at the end
    sent, shown = _typed(target, delay, chance.random() < 0.1, chance.random() < 0.2)
    at = answered = 0
    for question in QUESTIONS:
        at = shown.find(question, at) + 1
        if not at:
            break
        answered += 1
    journal, kept = journal_file(target), 0
    if journal.exists():
        with Journal(journal, {"region": "hills", "specimen": "T-1"}) as left:
            kept = min(len(left.answers), len(LINES) - 1)  # the last line says several things
    elif target.exists():
        kept = len(LINES)
        return Left(sent, answered, kept, target.read_text(encoding="utf-8") == undisturbed())
    return Left(sent, answered, kept, finished(target, LINES[kept:]) == undisturbed())


def main(count: int, seed: int) -> int:
    """Kill so many walks and print what was lost; return how many lost what they must not."""
    chance = random.Random(seed)
    with tempfile.TemporaryDirectory() as folder:
        found = [killed(Path(folder) / f"{number}.yaml", chance) for number in range(count)]
    bad = [one for one in found if not one.answered <= one.kept <= one.sent or not one.whole]
    print(f"{count} walks killed; lines answered when killed, and how often:")
    print(", ".join(f"{k}: {n}" for k, n in sorted(Counter(o.answered for o in found).items())))
    lost = Counter(o.sent - o.kept for o in found if o.sent - o.answered <= 1)
    print(f"typed one by one, lost on the way: {dict(sorted(lost.items()))}")
    print(f"an answered line lost, or another record made: {len(bad)}", *bad, sep="\n")
    return len(bad)


if __name__ == "__main__":
    given = [int(text) for text in sys.argv[1:]]
    sys.exit(main(*(given + [300, 0][len(given) :])) > 0)
