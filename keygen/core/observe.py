"""What a walk says of every attribute, and how it came to say it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from keygen.core.infer import gone_parts
from keygen.core.model import Couplet, Rules
from keygen.core.states import is_single
from keygen.core.walk import Choice, Passed, Position, Term

How = Literal["seen", "unsure", "missing", "measured", "implied", "not_asked"]


@dataclass(frozen=True)
class Observation:
    """The states still possible for one attribute, how they came about, and at which couplets."""

    mask: int
    how: How
    at: tuple[str, ...] = ()


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
    """Return what an answer is about: all that a lead says, or what could not be decided."""
    if choice in ("a", "b"):
        return frozenset(i for limits in couplet.lead(choice).leaves for i in limits)
    return couplet.decides


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
