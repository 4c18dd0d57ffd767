"""What can arrive where in the key: boxes run forward from the start along both leads.

`universe` is compiled into the rules and answers "what follows from what"; `arrivals` is what the
proofs of `keygen check` stand on.
"""

from __future__ import annotations

from collections.abc import Mapping

from keygen.core.model import Rules
from keygen.core.states import Box, merge, narrow

END = ""


def arrivals(rules: Rules) -> Mapping[str, tuple[Box, ...]]:
    """Return the boxes that arrive at each couplet, and at the end (key `""`).

    Boxes are joined only where nothing is lost. Couplets that nothing reaches have no boxes.
    """
    coming: dict[str, list[Box]] = {name: [] for name in (*rules.couplets, END)}
    coming[rules.start].append(rules.full)
    here: dict[str, tuple[Box, ...]] = {}
    for name in sorted(rules.couplets, key=rules.order.__getitem__):
        here[name] = merge(coming[name])
        for lead in rules.couplets[name].leads:
            coming[lead.go] += [
                box
                for limits in lead.leaves
                for whole in here[name]
                if (box := narrow(whole, limits)) is not None
            ]
    here[END] = merge(coming[END])
    return here


def universe(rules: Rules) -> tuple[Box, ...]:
    """Return all pieces that the key can describe, as boxes."""
    return arrivals(rules)[END]


def possible_masks(rules: Rules, attribute: int) -> frozenset[int]:
    """Return the sets of one attribute with which some path through the key can end.

    Single states only, if every path settles the attribute. Paths are followed for this attribute
    alone, so a set is listed even if other attributes would forbid its path.
    """
    coming: dict[str, set[int]] = {name: set() for name in (*rules.couplets, END)}
    coming[rules.start].add(rules.full[attribute])
    for name in sorted(rules.couplets, key=rules.order.__getitem__):
        for lead in rules.couplets[name].leads:
            for limits in lead.leaves:
                allowed = limits.get(attribute, rules.full[attribute])
                coming[lead.go] |= {m & allowed for m in coming[name] if m & allowed}
    return frozenset(coming[END])
