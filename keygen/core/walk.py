"""Walking the key, as pure functions: a walk is its steps, a position what follows from them.

An answer is a claim about the piece. It narrows every branch, and the branches that stand before
the couplet move on; *unsure* and *cannot be seen* claim nothing and follow both leads. One doubt
is respected: who is unsure whether a haft is stemmed or notched and then places the notches at the
corners has not said that it is notched. So a claim leaves a branch alone where it only meets what
came along as a consequence of another answer (no notches, in the stemmed branch).

Branches are boxes (see `keygen.core.states`), and those that differ in one attribute only are
joined without loss, so that a couplet is asked once however many branches reach it. A couplet
whose answer already follows is passed without asking, and so is one whose part of the piece is
gone.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from keygen.core.model import Couplet, Lead, Rules
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
    """One way through the key that is still open: the couplet it stands before, and its box.

    `followed` are the attributes that were settled in this branch as a consequence only.
    """

    at: str
    box: Box
    followed: frozenset[int] = frozenset()


@dataclass(frozen=True)
class Position:
    """Where a walk stands. `branches` all stand at or after the next couplet."""

    steps: tuple[Step, ...]
    branches: tuple[Branch, ...]
    trail: tuple[Passed, ...]

    @property
    def known(self) -> Box:
        """Return, attribute by attribute, the states still possible."""
        return spread(branch.box for branch in self.branches)


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


def _claim(branch: Branch, alternatives: Sequence[Mapping[int, int]]) -> list[Branch]:
    """Narrow a branch to what an answer leaves of it; nothing, if they contradict each other."""
    return [
        Branch(branch.at, box, branch.followed)
        for limits in alternatives
        if (box := narrow(branch.box, limits)) is not None
    ]


def _only_followed(branch: Branch, alternatives: Sequence[Mapping[int, int]]) -> bool:
    """Tell whether an answer contradicts nothing but consequences in a branch."""
    return any(
        all(branch.box[i] & mask or i in branch.followed for i, mask in limits.items())
        for limits in alternatives
    )


def _follow(
    branches: Iterable[Branch], couplet: Couplet, lead: Lead, doubted: bool
) -> list[Branch]:
    """Move branches along a lead. What it says beside the point was not seen, but follows."""
    moved = [narrowed for branch in branches for narrowed in _claim(branch, lead.leaves)]
    followed = frozenset(lead.leaves[0]) - couplet.decides if doubted else frozenset[int]()
    return [Branch(lead.go, branch.box, branch.followed | followed) for branch in moved]


def _joined(branches: Iterable[Branch]) -> tuple[Branch, ...]:
    alike: dict[tuple[str, frozenset[int]], list[Box]] = {}
    for branch in branches:
        alike.setdefault((branch.at, branch.followed), []).append(branch.box)
    return tuple(
        Branch(at, box, followed) for (at, followed), boxes in alike.items() for box in merge(boxes)
    )


def _next_id(rules: Rules, branches: Iterable[Branch]) -> str:
    places = {branch.at for branch in branches if branch.at}
    return min(places, key=rules.order.__getitem__, default="")


def _pass(branches: Iterable[Branch], couplet: Couplet, choice: Choice) -> list[Branch]:
    """Move the branches that stand before a couplet along the leads that a choice leaves.

    Where the piece cannot show it, nothing was doubted, and what is seen later counts in full.
    """
    here = [branch for branch in branches if branch.at == couplet.id]
    rest = [branch for branch in branches if branch.at != couplet.id]
    for lead in couplet.leads:
        if choice in (lead.letter, "?", "-"):
            rest += _follow(here, couplet, lead, choice != "-")
    return rest


def _settle(rules: Rules, position: Position) -> Position:
    """Pass every couplet that needs no asking, up to the next one that does."""
    while name := _next_id(rules, position.branches):
        couplet = rules.couplets[name]
        here = [branch for branch in position.branches if branch.at == name]
        open_leads = [
            lead for lead in couplet.leads if any(_claim(branch, lead.leaves) for branch in here)
        ]
        choice: Choice
        why: Literal["implied", "gone"]
        if len(open_leads) == 1:
            choice, why = open_leads[0].letter, "implied"
        elif couplet.part in gone_parts(rules, position.known):
            choice, why = "-", "gone"
        else:
            break
        position = Position(
            position.steps,
            _joined(_pass(position.branches, couplet, choice)),
            (*position.trail, Passed(name, choice, why)),
        )
    return position


def start(rules: Rules) -> Position:
    """Return the position before the first couplet."""
    return _settle(rules, Position((), (Branch(rules.start, rules.full),), ()))


def next_couplet(rules: Rules, position: Position) -> Couplet | None:
    """Return the couplet to ask now, or None at the end of the key."""
    name = _next_id(rules, position.branches)
    return rules.couplets[name] if name else None


def take(rules: Rules, position: Position, step: Step) -> Position:
    """Return the position after one more step.

    Raises:
        Contradiction: the step leaves nothing possible, or answers a couplet that is not the next.
    """
    branches: list[Branch] = []
    if isinstance(step, Term):
        for branch in position.branches:
            branches += _claim(branch, ({step.attribute: step.mask},))
        trail = position.trail
    else:
        couplet = next_couplet(rules, position)
        if couplet is None or couplet.id != step.couplet:
            raise Contradiction(f"couplet {step.couplet!r} is not the one being asked")
        trail = (*position.trail, Passed(step.couplet, step.choice, "asked"))
        claimed = list(position.branches)
        if step.choice in ("a", "b"):
            leaves = couplet.lead(step.choice).leaves
            claimed = []
            for branch in position.branches:
                narrowed = _claim(branch, leaves)
                if not narrowed and branch.at != couplet.id and _only_followed(branch, leaves):
                    narrowed = [branch]
                claimed += narrowed
        branches = _pass(claimed, couplet, step.choice)
    if not branches:
        raise Contradiction("nothing is left that fits this and what was answered before")
    return _settle(rules, Position((*position.steps, step), _joined(branches), trail))


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
