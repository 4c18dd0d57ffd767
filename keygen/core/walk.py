"""Walking the key, as pure functions: a walk is its steps, a position what follows from them.

An answer is a claim about the piece. It narrows every branch, and the branches that stand before
the couplet move on; *unsure* and *cannot be seen* claim nothing and follow both leads. One doubt
is respected: who is unsure whether a haft is stemmed or notched and then places the notches at the
corners has not said that it is notched. So a claim leaves a branch alone where it only meets what
came along as a consequence of another answer (no notches, in the stemmed branch).

A branch holds the pieces that are still possible on its way, as boxes out of the rules' universe
(see `keygen.core.branches`); so whatever follows from an answer is known at once. Branches that
stand before the same couplet are joined, and it is asked once. A couplet whose answer already
follows is passed without asking, and so is one whose part of the piece is gone. A couplet can be
asked ahead of its turn if the key would come to it on every way that is still open; when its turn
comes, it is passed with the answer given.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, reduce
from operator import or_
from typing import Literal

from keygen.core.branches import Branch, Guard, one_of, options
from keygen.core.infer import Contradiction, gone_parts, is_open
from keygen.core.model import Couplet, Rules
from keygen.core.packing import Packing
from keygen.core.states import Box

Choice = Literal["a", "b", "?", "-"]


@dataclass(frozen=True)
class Answer:
    """A lead taken at a couplet, or `?` (unsure), or `-` (cannot be seen).

    `ahead` marks a couplet that was asked before its turn in the key's order.
    """

    couplet: str
    choice: Choice
    ahead: bool = False


@dataclass(frozen=True)
class Term:
    """States named outright for one attribute (by index), at any time in a walk."""

    attribute: int
    mask: int
    how: Literal["seen", "measured"] = "seen"


Step = Answer | Term


@dataclass(frozen=True)
class Passed:
    """A couplet gone by: with which choice, and whether it was asked, implied, or its part gone."""

    couplet: str
    choice: Choice
    why: Literal["asked", "implied", "gone"]


@dataclass(frozen=True)
class Position:
    """Where a walk stands. `branches` all stand at or after the next couplet."""

    steps: tuple[Step, ...]
    branches: tuple[Branch, ...]
    trail: tuple[Passed, ...]

    @cached_property
    def known(self) -> Box:
        """Return, attribute by attribute, the states still possible."""
        united = reduce(or_, (piece for branch in self.branches for piece in branch.pieces))
        return self.branches[0].packing.unpack(united)


def _guards(rules: Rules, steps: Iterable[Step]) -> tuple[Guard, ...]:
    """Return the leads since the first doubt, whose consequences later answers leave alone."""
    guards: list[Guard] = []
    doubted = False
    for step in steps:
        if isinstance(step, Term):
            continue
        couplet = rules.couplets[step.couplet]
        doubted = doubted or step.choice == "?"
        for lead in couplet.leads if doubted else ():
            followed = frozenset(lead.leaves[0]) - couplet.decides
            if followed and step.choice in (lead.letter, "?"):
                guards.append(Guard(lead.leaves[0], followed))
    return tuple(guards)


def _joined(
    rules: Rules, branches: Iterable[Branch], trail: Iterable[Passed]
) -> tuple[Branch, ...]:
    """Join branches that stand before the same couplet: theirs are pieces that it does not part.

    Pieces were set apart only in what the couplets passed without a choice speak of.
    """
    together: dict[str, list[Branch]] = {}
    for branch in branches:
        together.setdefault(branch.at, []).append(branch)
    over: set[int] = set()
    if any(len(parts) > 1 for parts in together.values()):
        for passed in trail:
            if passed.choice in ("?", "-"):
                over |= rules.couplets[passed.couplet].attributes
    return tuple(
        parts[0] if len(parts) == 1 else one_of(parts, sorted(over)) for parts in together.values()
    )


def _next_id(rules: Rules, branches: Iterable[Branch]) -> str:
    places = {branch.at for branch in branches if branch.at}
    return min(places, key=rules.order.__getitem__, default="")


def _pass(branches: Iterable[Branch], couplet: Couplet, choice: Choice) -> list[Branch]:
    """Move the branches that stand before a couplet along the leads that a choice leaves."""
    here = [branch for branch in branches if branch.at == couplet.id]
    moved = [branch for branch in branches if branch.at != couplet.id]
    for lead in couplet.leads:
        if choice in (lead.letter, "?", "-"):
            for branch in here:
                pieces = branch.left_by(options(branch.packing, lead.leaves))
                if pieces:
                    moved.append(replace(branch, at=lead.go, pieces=pieces))
    return moved


def _settle(rules: Rules, position: Position) -> Position:
    """Pass every couplet that needs no asking, up to the next one that does."""
    asked = {passed.couplet: passed.choice for passed in position.trail if passed.why == "asked"}
    while name := _next_id(rules, position.branches):
        couplet = rules.couplets[name]
        if name in asked:
            onward = _pass(position.branches, couplet, asked[name])
            joined = _joined(rules, onward, position.trail)
            position = Position(position.steps, joined, position.trail)
            continue
        here = [branch for branch in position.branches if branch.at == name]
        open_leads = [
            lead
            for lead in couplet.leads
            if any(branch.fits(options(branch.packing, lead.leaves)) for branch in here)
        ]
        choice: Choice
        why: Literal["implied", "gone"]
        if len(open_leads) == 1:
            choice, why = open_leads[0].letter, "implied"
        elif couplet.part in gone_parts(rules, position.known):
            choice, why = "-", "gone"
        else:
            break
        trail = (*position.trail, Passed(name, choice, why))
        branches = _pass(position.branches, couplet, choice)
        position = Position(position.steps, _joined(rules, branches, trail), trail)
    return position


def start(rules: Rules) -> Position:
    """Return the position before the first couplet."""
    packing = rules.once(_packing)
    pieces = tuple(map(packing.pack, rules.universe))
    return _settle(rules, Position((), (Branch(rules.start, pieces, packing),), ()))


def _packing(rules: Rules) -> Packing:
    return Packing(rules.full)


def next_couplet(rules: Rules, position: Position) -> Couplet | None:
    """Return the couplet to ask now, or None at the end of the key."""
    name = _next_id(rules, position.branches)
    return rules.couplets[name] if name else None


def may_be_asked(rules: Rules, position: Position) -> tuple[Couplet, ...]:
    """Return the couplets that can be asked now: the next one, and others ahead of their turn.

    Those are the couplets that stand on every way to the end that is still open, so that what they
    ask makes sense of every piece still possible; with both leads open, and about a part that is
    still there.
    """
    coming = next_couplet(rules, position)
    if coming is None:
        return ()
    known = position.known
    gone = gone_parts(rules, known)
    passed = {p.couplet for p in position.trail}
    on_every_way: dict[str, frozenset[str]] = {"": frozenset()}
    for name in sorted(rules.couplets, key=rules.order.__getitem__, reverse=True):
        leads = rules.couplets[name].leads
        ways = [on_every_way[lead.go] for lead in leads if is_open(lead, known)]
        on_every_way[name] = frozenset.intersection(*ways or [frozenset()]) | {name}
    sure = frozenset.intersection(*(on_every_way[branch.at] for branch in position.branches))
    ahead = (
        couplet
        for name in sorted(sure - passed, key=rules.order.__getitem__)
        if (couplet := rules.couplets[name]) != coming
        and couplet.part not in gone
        and all(is_open(lead, known) for lead in couplet.leads)
    )
    return (coming, *ahead)


def take(rules: Rules, position: Position, step: Step) -> Position:
    """Return the position after one more step.

    Raises:
        Contradiction: the step leaves nothing possible, or answers a couplet that is not the next
            and cannot be asked ahead of it.
    """
    guards = _guards(rules, position.steps)
    trail = position.trail
    if isinstance(step, Term):
        claims: Sequence[Mapping[int, int]] = ({step.attribute: step.mask},)
        branches = _claimed(position.branches, claims)
    else:
        couplet = rules.couplets.get(step.couplet)
        in_turn = step.couplet == _next_id(rules, position.branches)
        early = step.ahead and couplet in may_be_asked(rules, position)
        if couplet is None or not (in_turn or early):
            raise Contradiction(f"couplet {step.couplet!r} is not the one being asked")
        trail = (*trail, Passed(step.couplet, step.choice, "asked"))
        branches = list(position.branches)
        if step.choice in ("a", "b"):
            leaves = couplet.lead(step.choice).leaves
            # Ahead of its turn every branch is still to come to it, and has to follow the lead.
            here = [b for b in branches if b.at == couplet.id or not in_turn]
            past = [b for b in branches if b.at != couplet.id and in_turn]
            branches = [*_claimed(here, leaves), *_claimed(past, leaves, guards)]
        branches = _pass(branches, couplet, step.choice)
    if not branches:
        raise Contradiction("nothing is left that fits this and what was answered before")
    joined = _joined(rules, branches, trail)
    return _settle(rules, Position((*position.steps, step), joined, trail))


def _claimed(
    branches: Iterable[Branch],
    alternatives: Sequence[Mapping[int, int]],
    guards: Iterable[Guard] = (),
) -> list[Branch]:
    guards = tuple(guards)
    narrowed = (
        replace(branch, pieces=branch.left_by(options(branch.packing, alternatives, guards)))
        for branch in branches
    )
    return [branch for branch in narrowed if branch.pieces]


def replay(rules: Rules, steps: Iterable[Step]) -> Position:
    """Return the position after all steps, from the start.

    Raises:
        Contradiction: a step does not fit the ones before it.
    """
    position = start(rules)
    for step in steps:
        position = take(rules, position, step)
    return position


def back(rules: Rules, position: Position) -> Position:
    """Return the position before the last step; at the start, the start itself."""
    return replay(rules, position.steps[:-1])
