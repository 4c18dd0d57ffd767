"""Which pairs of types are how hard to tell apart, recorded in `separation.yaml`.

`python -m tests.rulebase.separation` records the figures of the shipped rules anew.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import yaml

from keygen.core.model import Rules
from keygen.core.separate import Kind, Pair, pairs
from keygen.rulebase.load import shipped

FILE = Path(__file__).with_name("separation.yaml")
HEAD = """\
# How many pairs of types of a region are hard to tell apart, and which (keygen/core/separate.py).
# Written by: python -m tests.rulebase.separation. A test fails when there are more.
"""
HARD: tuple[Kind, ...] = tuple(
    kind for kind in Kind if kind is not Kind.PARTED
)  # the hardest first
Names = frozenset[str]


@dataclass(frozen=True)
class Recorded:
    """Counts by region and kind, and for every pair of ids the hardest kind it has anywhere."""

    counts: Mapping[str, Mapping[Kind, int]]
    kinds: Mapping[Names, Kind]


def hard_pairs(rules: Rules) -> dict[str, list[Pair]]:
    """Return the pairs of every region that are not always parted by the haft."""
    return {
        region: [pair for pair in pairs(rules, region) if pair.kind is not Kind.PARTED]
        for region in rules.regions
    }


def record(found: Mapping[str, list[Pair]]) -> Recorded:
    """Return what is to be recorded of the pairs of all regions."""
    kinds: dict[Names, Kind] = {}
    for pair in (pair for listed in found.values() for pair in listed):
        names = frozenset((pair.first, pair.second))
        kinds[names] = min(pair.kind, kinds.get(names, pair.kind), key=HARD.index)
    counts = {
        region: {kind: sum(pair.kind is kind for pair in listed) for kind in HARD}
        for region, listed in found.items()
    }
    return Recorded(counts, kinds)


def written(recorded: Recorded) -> str:
    """Return the record as the text of its file."""
    lines = [HEAD + "counts:"]
    for region, by_kind in recorded.counts.items():
        row = ", ".join(f"{kind.value}: {count}" for kind, count in by_kind.items())
        lines.append(f"  {region}: {{{row}}}")
    lines.append("pairs:")
    for kind in HARD:
        others: dict[str, list[str]] = {}
        for first, second in sorted(
            tuple(sorted(names)) for names, k in recorded.kinds.items() if k is kind
        ):
            others.setdefault(first, []).append(second)
        lines.append(f"  {kind.value}:" + ("" if others else " {}"))
        lines += [f"    {first}: [{', '.join(rest)}]" for first, rest in others.items()]
    return "\n".join(lines) + "\n"


def read() -> Recorded:
    """Return what stands in the file."""
    data = yaml.safe_load(FILE.read_text(encoding="utf-8"))
    counts = {
        region: {Kind(kind): count for kind, count in row.items()}
        for region, row in data["counts"].items()
    }
    kinds = {
        frozenset((first, second)): Kind(kind)
        for kind, others in data["pairs"].items()
        for first, rest in others.items()
        for second in rest
    }
    return Recorded(counts, kinds)


def growth(before: Recorded, found: Mapping[str, list[Pair]]) -> list[str]:
    """Say where there are more pairs of a kind or a harder one than recorded, and which are new.

    Kinds are summed from the hardest, so that a pair that became easier to part never counts.
    """
    grown = []
    for region, listed in found.items():
        allowed = 0
        for i, kind in enumerate(HARD):
            allowed += before.counts.get(region, {}).get(kind, 0)
            now = [pair for pair in listed if HARD.index(pair.kind) <= i]
            if len(now) > allowed:
                new = [f"{p.first}/{p.second}" for p in now if _harder(before, p, i)]
                names = ", ".join(new) or "known ones, new in this region"
                what = f"{kind.value} or harder"
                grown.append(f"{region}: {len(now)} pairs {what}, not {allowed}: {names}")
    return grown


def _harder(before: Recorded, pair: Pair, limit: int) -> bool:
    known = before.kinds.get(frozenset((pair.first, pair.second)))
    return known is None or HARD.index(known) > limit


if __name__ == "__main__":
    FILE.write_text(written(record(hard_pairs(shipped()))), encoding="utf-8")
