"""Walking the key, as pure functions: a walk is its steps, a position what follows from them.

An answer is a claim about the piece. It narrows every branch, and the branches that stand before
the couplet move on; *unsure* and *cannot be seen* claim nothing and follow both leads. One doubt
is respected: who is unsure whether a haft is stemmed or notched and then places the notches at the
corners has not said that it is notched. So a claim leaves a branch alone where it only meets what
came along as a consequence of another answer (no notches, in the stemmed branch).

A branch holds the pieces that are still possible on its way, as boxes out of the rules' universe
(see `keygen.core.states`), so that whatever follows from an answer is known at once. Branches that
stand before the same couplet are joined, and it is asked once. A couplet whose answer already
follows is passed without asking, and so is one whose part of the piece is gone.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

from keygen.core.model import Couplet, Rules
from keygen.core.states import Box, Fit, compare, is_single, merge, narrow, spread

Choice = Literal["a", "b", "?", "-"]
How = Literal["seen", "unsure", "missing", "measured", "implied", "not_asked"]


@dataclass(frozen=True)
class Answer:
    """A lead taken at a couplet, or `?` (unsure), or `-` (cannot be seen)."""

    couplet: str
    choice: Choice


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
class Branch:
    """One way through the key that is still open: the couplet it stands before, and its pieces.

    `boxes` are the part of the rules' universe that is still possible on this way, so what follows
    from an answer is known at once.
    """

    at: str
    boxes: tuple[Box, ...]


@dataclass(frozen=True)
class Position:
    """Where a walk stands. `branches` all stand at or after the next couplet."""

    steps: tuple[Step, ...]
    branches: tuple[Branch, ...]
    trail: tuple[Passed, ...]

    @cached_property
    def known(self) -> Box:
        """Return, attribute by attribute, the states still possible."""
        return spread(box for branch in self.branches for box in branch.boxes)


@dataclass(frozen=True)
class Observation:
    """The states still possible for one attribute, how they came about, and at which couplets."""

    mask: int
    how: How
    at: tuple[str, ...] = ()


class Contradiction(ValueError):
    """An answer that leaves nothing possible. The walk before it still stands."""


def gone_parts(rules: Rules, known: Sequence[int]) -> frozenset[str]:
    """Return the parts of the piece that are certainly gone, from portion and damage."""
    gone: set[str] = set()
    for loss in rules.losses:
        met = all(compare(known[i], mask) is Fit.MET for i, mask in loss.when.items())
        spared = not loss.unless or any(
            compare(known[i], mask) is Fit.AGAINST for i, mask in loss.unless.items()
        )
        if met and spared:
            gone.update(loss.parts)
    return frozenset(gone)


@dataclass(frozen=True)
class _Guard:
    """A lead that was doubted, or taken in doubt: its limits, and which of them only follow."""

    limits: Mapping[int, int]
    followed: frozenset[int]

    def spares(self, claim: Mapping[int, int]) -> bool:
        """Tell whether a claim contradicts, on this lead, what only follows from the lead."""
        return any(i in self.followed and not self.limits[i] & mask for i, mask in claim.items())


def _guards(rules: Rules, steps: Iterable[Step]) -> tuple[_Guard, ...]:
    """Return the leads since the first doubt, whose consequences later answers leave alone."""
    guards: list[_Guard] = []
    doubted = False
    for step in steps:
        if isinstance(step, Term):
            continue
        couplet = rules.couplets[step.couplet]
        doubted = doubted or step.choice == "?"
        for lead in couplet.leads if doubted else ():
            followed = frozenset(lead.leaves[0]) - couplet.decides
            if followed and step.choice in (lead.letter, "?"):
                guards.append(_Guard(lead.leaves[0], followed))
    return tuple(guards)


def _claim(
    boxes: Iterable[Box],
    alternatives: Sequence[Mapping[int, int]],
    guards: Iterable[_Guard] = (),
) -> tuple[Box, ...]:
    """Narrow pieces to what an answer leaves of them, and to what the guards spare."""
    sparing = [guard for guard in guards if all(guard.spares(claim) for claim in alternatives)]
    options = (*alternatives, *(guard.limits for guard in sparing))
    return tuple(
        narrowed
        for box in boxes
        for limits in options
        if (narrowed := narrow(box, limits)) is not None
    )


def _joined(
    rules: Rules, branches: Iterable[Branch], trail: Iterable[Passed]
) -> tuple[Branch, ...]:
    """Join branches that stand before the same couplet: theirs are pieces that it does not part.

    Pieces were set apart only in what the couplets passed without a choice speak of.
    """
    together: dict[str, list[tuple[Box, ...]]] = {}
    for branch in branches:
        together.setdefault(branch.at, []).append(branch.boxes)
    over: set[int] = set()
    if any(len(parts) > 1 for parts in together.values()):
        for passed in trail:
            if passed.choice in ("?", "-"):
                over |= rules.couplets[passed.couplet].attributes
    return tuple(
        Branch(at, parts[0] if len(parts) == 1 else merge((b for p in parts for b in p), over))
        for at, parts in together.items()
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
                boxes = _claim(branch.boxes, lead.leaves)
                if boxes:
                    moved.append(Branch(lead.go, boxes))
    return moved


def _settle(rules: Rules, position: Position) -> Position:
    """Pass every couplet that needs no asking, up to the next one that does."""
    while name := _next_id(rules, position.branches):
        couplet = rules.couplets[name]
        here = [branch for branch in position.branches if branch.at == name]
        open_leads = [
            lead for lead in couplet.leads if any(_claim(b.boxes, lead.leaves) for b in here)
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
    return _settle(rules, Position((), (Branch(rules.start, rules.universe),), ()))


def next_couplet(rules: Rules, position: Position) -> Couplet | None:
    """Return the couplet to ask now, or None at the end of the key."""
    name = _next_id(rules, position.branches)
    return rules.couplets[name] if name else None


def take(rules: Rules, position: Position, step: Step) -> Position:
    """Return the position after one more step.

    Raises:
        Contradiction: the step leaves nothing possible, or answers a couplet that is not the next.
    """
    guards = _guards(rules, position.steps)
    trail = position.trail
    if isinstance(step, Term):
        claims: Sequence[Mapping[int, int]] = ({step.attribute: step.mask},)
        branches = _claimed(position.branches, claims)
    else:
        couplet = next_couplet(rules, position)
        if couplet is None or couplet.id != step.couplet:
            raise Contradiction(f"couplet {step.couplet!r} is not the one being asked")
        trail = (*trail, Passed(step.couplet, step.choice, "asked"))
        branches = list(position.branches)
        if step.choice in ("a", "b"):
            leaves = couplet.lead(step.choice).leaves
            rest = [branch for branch in branches if branch.at != couplet.id]
            here = [branch for branch in branches if branch.at == couplet.id]
            branches = [*_claimed(here, leaves), *_claimed(rest, leaves, guards)]
        branches = _pass(branches, couplet, step.choice)
    if not branches:
        raise Contradiction("nothing is left that fits this and what was answered before")
    return _settle(rules, Position((*position.steps, step), _joined(rules, branches, trail), trail))


def _claimed(
    branches: Iterable[Branch],
    alternatives: Sequence[Mapping[int, int]],
    guards: Iterable[_Guard] = (),
) -> list[Branch]:
    narrowed = ((b.at, _claim(b.boxes, alternatives, guards)) for b in branches)
    return [Branch(at, boxes) for at, boxes in narrowed if boxes]


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


def close(rules: Rules, known: Sequence[int]) -> Box:
    """Return what follows, attribute by attribute, from sets of states known in any order.

    This is the key run to its end with every other couplet left open, read off the compiled
    `Rules.universe` of pieces that the key can describe.

    Raises:
        Contradiction: no piece that the key can describe has these states together.
    """
    limits = {i: m for i, m in enumerate(known) if m != rules.full[i]}
    boxes = [box for whole in rules.universe if (box := narrow(whole, limits)) is not None]
    if not boxes:
        raise Contradiction("no piece can have these states together")
    return spread(boxes)


def conflict(rules: Rules, known: Sequence[int]) -> tuple[int, ...]:
    """Return the attributes (by index) of a smallest-by-removal set that cannot stand together.

    Empty if what is known does not contradict itself.
    """
    limits = {i: m for i, m in enumerate(known) if m != rules.full[i]}

    def possible(some: Mapping[int, int]) -> bool:
        return any(narrow(box, some) is not None for box in rules.universe)

    if possible(limits):
        return ()
    for index in list(limits):
        without = {i: m for i, m in limits.items() if i != index}
        if not possible(without):
            limits = without
    return tuple(limits)


def left_at_most(rules: Rules, position: Position) -> int:
    """Return how many couplets can still be asked if each is answered a or b.

    With one branch this is the longest way to the end along leads that are still possible; with
    several, no more than the sum of theirs, nor than all the couplets that they can reach.
    """
    known = position.known
    gone = gone_parts(rules, known)
    longest: dict[str, int] = {"": 0}
    reach: dict[str, frozenset[str]] = {"": frozenset()}
    for name in sorted(rules.couplets, key=rules.order.__getitem__, reverse=True):
        couplet = rules.couplets[name]
        ways = [
            lead
            for lead in couplet.leads
            if any(narrow(known, limits) is not None for limits in lead.leaves)
        ] or list(couplet.leads)
        asked = len(ways) == 2 and couplet.part not in gone
        longest[name] = asked + max(longest[lead.go] for lead in ways)
        reach[name] = frozenset({name} if asked else ()).union(*(reach[lead.go] for lead in ways))
    places = {branch.at for branch in position.branches}
    together = frozenset[str]().union(*(reach[at] for at in places))
    return min(len(together), sum(longest[at] for at in places))


def left_if_plain(rules: Rules, position: Position) -> int:
    """Return how many couplets will be asked if every answer is lead a, the commoner one."""
    asked = 0
    while couplet := next_couplet(rules, position):
        try:
            position = take(rules, position, Answer(couplet.id, "a"))
        except Contradiction:  # lead a fits no branch that is left
            position = take(rules, position, Answer(couplet.id, "b"))
        asked += 1
    return asked


def observations(rules: Rules, position: Position) -> tuple[Observation, ...]:
    """Return what a walk so far says of every attribute, and how it came to say it."""
    known = position.known
    gone = gone_parts(rules, known)
    terms = {step.attribute: step for step in position.steps if isinstance(step, Term)}
    asked: dict[int, list[Passed]] = {}
    for passed in position.trail:
        if passed.why == "asked":
            for i in _spoken_of(rules.couplets[passed.couplet], passed.choice):
                asked.setdefault(i, []).append(passed)
    return tuple(
        _observation(
            known[i], attribute.full, asked.get(i, ()), terms.get(i), attribute.part in gone
        )
        for i, attribute in enumerate(rules.attributes)
    )


def _spoken_of(couplet: Couplet, choice: Choice) -> frozenset[int]:
    if choice in ("a", "b"):
        return frozenset(i for limits in couplet.lead(choice).leaves for i in limits)
    return couplet.attributes


def _observation(
    mask: int, full: int, asked: Sequence[Passed], term: Term | None, part_gone: bool
) -> Observation:
    choices = {passed.choice for passed in asked}
    how: How
    if term is not None:
        how = term.how if term.how == "measured" or is_single(mask) else "unsure"
    elif choices & {"a", "b"} and mask != full:
        how = "seen" if is_single(mask) else "unsure"
    elif is_single(mask):
        how = "implied"
    elif "-" in choices or part_gone:
        how = "missing"
    elif "?" in choices:
        how = "unsure"
    else:
        how = "not_asked" if mask == full else "implied"
    return Observation(mask, how, tuple(passed.couplet for passed in asked))
