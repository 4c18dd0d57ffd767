"""Walks and runs of whole tables killed at moments of chance: what is lost, and what is torn.

Run with `python -m tests.bench.faults [N] [SEED]`: N kills of a walk on a terminal of its own, and
N of `keygen table` over old outputs, half of them with two processes (300 of each if not said).
"""

from __future__ import annotations

import sys

from tests.faults import batching, walking


def main(count: int, seed: int) -> int:
    """Print both; return how many kills left what they must not."""
    return walking.main(count, seed) + batching.main(count, seed)


if __name__ == "__main__":
    given = [int(text) for text in sys.argv[1:]]
    sys.exit(main(*(given + [300, 0][len(given) :])) > 0)
