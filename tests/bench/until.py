"""How many couplets settle a call: in the order of the next look, and in the key's order.

Run with `python -m tests.bench.until [N]`; N walks out of all types in all their regions, drawn
with a fixed seed, or all of them. Each walk answers for a complete, undamaged piece of a type: by
its definition and usual traits, and with lead a, the commoner one, where both leads are left free.
The couplets on sampling, portion and damage, which always come first, are not counted.
"""

from __future__ import annotations

import random
import sys
from collections.abc import Callable
from statistics import mean, median

from keygen.core.call import call
from keygen.core.model import Couplet, Rules, Type
from keygen.core.states import narrow
from keygen.core.until import beyond, couplet_until_call, on_record, settled
from keygen.core.walk import Answer, Position, next_couplet, start, take
from keygen.rulebase.figures import complete, definition, limits_from
from keygen.rulebase.load import shipped

Chooser = Callable[[Rules, str, Position], Couplet | None]


def in_order(rules: Rules, region: str, position: Position) -> Couplet | None:
    """Return the next couplet of the key, or None if the call is settled."""
    coming = next_couplet(rules, position)
    if coming is None or on_record(rules, coming):
        return coming
    return None if settled(rules, region, position.known, beyond(rules, position)) else coming


def answered(rules: Rules, region: str, kind: Type, choose: Chooser) -> list[int]:
    """Walk for a piece of a type; return the number of candidates after each counted answer."""
    wanted = definition(rules, kind)
    for criterion in kind.usual:
        wanted = narrow(wanted, {criterion.attribute: criterion.allowed}) or wanted
    limits = limits_from(rules, narrow(wanted, complete(rules)) or wanted)
    position = start(rules)
    counts: list[int] = []
    while couplet := choose(rules, region, position):
        meant = [
            box
            for branch in position.branches
            for whole in branch.boxes
            if (box := narrow(whole, limits))
        ]
        first = couplet.leads[0].leaves[0]
        fits = any(narrow(box, first) for box in meant)
        ahead = couplet != next_couplet(rules, position)
        position = take(rules, position, Answer(couplet.id, "a" if fits else "b", ahead))
        if not on_record(rules, couplet):
            counts.append(len(call(rules, region, position.known).candidates))
    return counts


def to_the_last(counts: list[int]) -> int:
    """Return after how many answers the candidates were as few as they get."""
    return next((n for n, count in enumerate(counts, 1) if count == counts[-1]), 0)


def main() -> None:
    """Print the table."""
    rules = shipped()
    walks = [(region, kind) for region in rules.regions for kind in rules.in_region(region)]
    every = len(walks)
    if len(sys.argv) > 1:
        walks = random.Random(7).sample(walks, int(sys.argv[1]))
    print(f"{len(walks)} of {every} walks: every type in each of its regions")
    print(f"{'couplets asked':<44} median  90th  mean  most")
    for label, choose in (("next look", couplet_until_call), ("the key's order", in_order)):
        found = [answered(rules, region, kind, choose) for region, kind in walks]
        for what, figures in (
            ("until the call is settled", [len(counts) for counts in found]),
            ("until no candidate falls out", [to_the_last(counts) for counts in found]),
        ):
            ninth = sorted(figures)[int(0.9 * (len(figures) - 1))]
            print(
                f"{label + ', ' + what:<44} {median(figures):6g} {ninth:5} "
                f"{mean(figures):5.1f} {max(figures):5}"
            )


if __name__ == "__main__":
    main()
