"""Figures about a set of rules: how long the key is, and how much stands on which basis."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from statistics import mean

from keygen.core.infer import close
from keygen.core.model import Rules, Type
from keygen.core.states import Box, narrow
from keygen.core.walk import Answer, Position, next_couplet, start, take


@dataclass(frozen=True)
class Figures:
    """Counts over one edition; walk lengths are couplets asked, not couplets passed.

    `mean_notched` is 0 where no type is defined by notches.
    """

    couplets: int
    longest: int
    mean_whole: float
    mean_notched: float
    mean_base: float
    types: int
    records: int
    by_basis: Mapping[str, int]
    by_region: Mapping[str, int]


def figures(rules: Rules) -> Figures:
    """Return the figures of compiled rules.

    A walk is made for every type on its own definition, as a complete undamaged piece and as a base
    fragment; where the definition leaves both leads open the first, commoner one is taken.
    """
    whole = {kind.id: asked(walk_of(rules, kind, complete(rules))) for kind in _all(rules)}
    base = [asked(walk_of(rules, kind, base_fragment(rules))) for kind in _all(rules)]
    notched = [
        whole[kind.id]
        for kind in _all(rules)
        if _certain(rules, definition(rules, kind), "haft_style", "notched")
    ]
    return Figures(
        couplets=len(rules.couplets),
        longest=longest(rules),
        mean_whole=mean(whole.values()),
        mean_notched=mean(notched) if notched else 0.0,
        mean_base=mean(base),
        types=len(rules.types),
        records=sum(len(kind.records) for kind in _all(rules)),
        by_basis=Counter(record.basis for kind in _all(rules) for record in kind.records),
        by_region={region: len(rules.in_region(region)) for region in rules.regions},
    )


def _all(rules: Rules) -> tuple[Type, ...]:
    return tuple(rules.types.values())


def longest(rules: Rules) -> int:
    """Return the number of couplets on the longest path from the start to the end."""
    depth: dict[str, int] = {"": 0}
    for name in sorted(rules.couplets, key=rules.order.__getitem__, reverse=True):
        depth[name] = 1 + max(depth[lead.go] for lead in rules.couplets[name].leads)
    return depth[rules.start]


def complete(rules: Rules) -> Mapping[int, int]:
    """Return the states of a complete, undamaged piece."""
    damage = {i: 1 for i, a in enumerate(rules.attributes) if a.item_of == "damage"}
    return {**_portion(rules, "complete"), **damage}


def base_fragment(rules: Rules) -> Mapping[int, int]:
    """Return the states of a base left by a snap at the haft."""
    damage = {
        i: 2 if a.id == "damage.haft_snap" else 1
        for i, a in enumerate(rules.attributes)
        if a.item_of == "damage"
    }
    return {**_portion(rules, "proximal"), **damage}


def _portion(rules: Rules, state: str) -> Mapping[int, int]:
    """Return the portion present, as far as the vocabulary can say so."""
    i = rules.index.get("portion")
    mask = rules.attributes[i].bits.get(state, 0) if i is not None else 0
    return {i: mask} if i is not None and mask else {}


def _certain(rules: Rules, box: Box, attribute: str, state: str) -> bool:
    """Tell whether a box leaves one state of an attribute; false if these rules have no such."""
    i = rules.index.get(attribute)
    return i is not None and box[i] == rules.attributes[i].bits.get(state)


def definition(rules: Rules, kind: Type) -> Box:
    """Return what a type's own definition leaves of every attribute."""
    masks = list(rules.full)
    for criterion in kind.defined_by:
        masks[criterion.attribute] &= criterion.allowed
    return close(rules, masks)


def walk_of(rules: Rules, kind: Type, condition: Mapping[int, int]) -> Position:
    """Walk the key to its end on a type's definition, usual traits and a condition of the piece."""
    wanted: Box = definition(rules, kind)
    for criterion in kind.usual:
        wanted = narrow(wanted, {criterion.attribute: criterion.allowed}) or wanted
    wanted = narrow(wanted, condition) or wanted
    limits = limits_from(rules, wanted)
    position = start(rules)
    while couplet := next_couplet(rules, position):
        first = couplet.leads[0].leaves[0]
        fits = any(
            narrow(meant, first) is not None
            for branch in position.branches
            if branch.at == couplet.id
            for box in branch.boxes
            if (meant := narrow(box, limits)) is not None
        )
        position = take(rules, position, Answer(couplet.id, "a" if fits else "b"))
    return position


def limits_from(rules: Rules, box: Box) -> dict[int, int]:
    """Return the masks of a box that say anything, by attribute index."""
    return {i: mask for i, mask in enumerate(box) if mask != rules.full[i]}


def asked(position: Position) -> int:
    """Return how many couplets a walk asked."""
    return sum(passed.why == "asked" for passed in position.trail)
