"""Hostile inputs by the thousand: no traceback, no hang, no memory gone.

Run with `python -m tests.bench.fuzz [N] [SEED]`: N inputs (20,000 if not said) of all kinds in
turn, those that take long seldom, in this process. Prints what was tried and every fault with the
seed that makes it again; interrupted it prints what was tried so far.
"""

from __future__ import annotations

import collections
import random
import resource
import signal
import sys
import tempfile
import time
import traceback
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from keygen.core.chronology import _calibrated
from keygen.errors import KeygenError
from keygen.rulebase.load import shipped
from tests.faults.tried import KINDS, Bench

SECONDS = 2.0  # of processor time, for one input
MEGABYTES = 500
SELDOM = {"main rules": 10}  # one for so many of every other kind


class Hung(Exception):
    """An input took too long."""


@contextmanager
def watched() -> Iterator[None]:
    """Stop what takes too long."""

    def stop(*_: object) -> None:
        raise Hung(f"more than {SECONDS:g} s")

    before = signal.signal(signal.SIGVTALRM, stop)
    signal.setitimer(signal.ITIMER_VIRTUAL, SECONDS)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_VIRTUAL, 0)
        signal.signal(signal.SIGVTALRM, before)


def attempt(bench: Bench, kind: str, seed: str) -> str:
    """Try one input; return how it ended: `read`, `refused`, or the traceback of a fault."""
    try:
        with watched():
            KINDS[kind](bench, random.Random(seed))
    except KeygenError as error:
        return "refused" if str(error).strip() else "refused without a word"
    except (Exception, RecursionError, MemoryError):
        return traceback.format_exc(limit=-6)
    return "read"


def peak() -> int:
    """Return the most memory that this process ever had, in megabytes."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024


def turns() -> list[str]:
    """Return the kinds in the order in which they are tried again and again."""
    often = [kind for kind in KINDS if kind not in SELDOM] * max(SELDOM.values())
    return often + [
        kind for kind, most in SELDOM.items() for _ in range(max(SELDOM.values()) // most)
    ]


def main(count: int, first: int) -> int:
    """Try so many inputs and print what came of them; return the number of faults."""
    ends: dict[str, collections.Counter[str]] = {kind: collections.Counter() for kind in KINDS}
    slowest = dict.fromkeys(KINDS, 0.0)
    faults, tried, order = 0, 0, turns()
    with suppress(KeyboardInterrupt), tempfile.TemporaryDirectory() as folder:
        bench = Bench(shipped(), Path(folder))
        for number in range(first, first + count):
            kind = order[number % len(order)]
            begun = time.process_time()
            end = attempt(bench, kind, f"{kind} {number}")
            slowest[kind] = max(slowest[kind], time.process_time() - begun)
            if end not in ("read", "refused"):
                faults += 1
                print(f"--- {kind} {number}\n{end}", flush=True)
                end = "fault"
            ends[kind][end] += 1
            tried += 1
            if tried % 500 == 0:  # it keeps the curves of all rules tried; a user has one or two
                _calibrated.cache_clear()
    print(f"{'kind':14} {'read':>7} {'refused':>8} {'faults':>7} {'slowest':>9}")
    for kind, counted in ends.items():
        told = f"{counted['read']:7} {counted['refused']:8} {counted['fault']:7}"
        print(f"{kind:14} {told} {slowest[kind]:7.2f} s")
    print(f"{tried} inputs, {faults} faults, at most {peak()} MB of memory (limit {MEGABYTES})")
    return faults + (peak() > MEGABYTES)


if __name__ == "__main__":
    given = [int(text) for text in sys.argv[1:]]
    sys.exit(main(*(given + [20_000, 0][len(given) :])) > 0)
