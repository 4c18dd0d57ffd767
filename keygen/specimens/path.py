"""Path notation: a walk as a line of text, `12a 14b 20? 31- base_shape=rounded`.

Couplet number and lead; `?` unsure, `-` cannot be seen; a term as attribute and states. A couplet
asked ahead of its turn in the key's order has a `+` in front: `+45a`. An edition may stand in
front: `2026.1: 12a 14b`.

What is written beside a printed key also names couplets that a walk would not ask. They are read
past where they say what follows anyway, and where they stand on a way that an earlier answer has
closed: paper cannot know either. After a doubt an answer can say otherwise than what followed on
one of the ways; then it is taken for what it is, and closes that way.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import get_args

from keygen.core.infer import Contradiction
from keygen.core.model import Rules
from keygen.core.walk import (
    Answer,
    Choice,
    Passed,
    Position,
    Step,
    Term,
    may_be_asked,
    next_couplet,
    start,
    take,
)
from keygen.errors import KeygenError, Problem
from keygen.specimens.terms import Lexicon, alternatives, fault

_ANSWER = re.compile(r"(\+?)([0-9]{1,9})([abAB?\-\u2013\u2212])")
_EDITION = re.compile(r"\s*([\w.-]+(?: \+ [^:]{1,60})?):(?=\s|$)")


@dataclass(frozen=True)
class ReadPath:
    """The position that a path leads to, and remarks on how it was read."""

    position: Position
    remarks: tuple[str, ...] = ()


def write_step(rules: Rules, step: Step) -> str:
    """Return one step in path notation."""
    if isinstance(step, Answer):
        return f"{'+' * step.ahead}{rules.couplets[step.couplet].number}{step.choice}"
    attribute = rules.attributes[step.attribute]
    return f"{attribute.id}={'/'.join(attribute.ids(step.mask))}"


def write(rules: Rules, steps: Iterable[Step]) -> str:
    """Return steps in path notation."""
    return " ".join(write_step(rules, step) for step in steps)


def read_steps(lexicon: Lexicon, token: str) -> tuple[Step, ...]:
    """Read one token: one step, or for `damage=none` one step an item.

    Raises:
        KeygenError: the token is not in path notation, or names what these rules do not have.
    """
    rules = lexicon.rules
    match = _ANSWER.fullmatch(token)
    if match:
        couplet = rules.by_number.get(int(match[2]))
        if couplet is None:
            last = max(rules.by_number)
            raise fault("K321", f"there is no couplet {match[2]}", f"Numbers run to {last}.")
        letter = match[3].lower()
        choice: Choice = "-"
        for known in get_args(Choice):
            if letter == known:
                choice = known
        return (Answer(couplet.id, choice, bool(match[1])),)
    if re.fullmatch(r"[Rr]\d+[ab?\-]?", token):
        remedy = (
            "Numbers with R belong to the key to one region; "
            "a path holds those of the descriptive key."
        )
        raise fault("K320", f"{token!r} is not a step of a path", remedy)
    if "=" not in token:
        example = "Write a couplet and its lead (12a, 12b, 12?, 12-) or attribute=state."
        raise fault("K320", f"{token!r} is not a step of a path", example)
    left, _, right = token.partition("=")
    name = lexicon.attribute(left)
    limits = lexicon.states(name, alternatives(right) or ("",))
    return tuple(Term(i, mask) for i, mask in limits.items())


def read(lexicon: Lexicon, text: str, name: str = "path") -> ReadPath:
    """Follow a path from the start of the key.

    Args:
        lexicon: the words of the rules that the path is read with.
        text: steps separated by spaces, commas or semicolons.
        name: how messages call the text.

    Raises:
        KeygenError: a step cannot be read or does not fit; with its column in the text.
    """
    rules, position = lexicon.rules, start(lexicon.rules)
    remarks = []
    begin = 0
    edition = _EDITION.match(text)
    if edition:
        begin = edition.end()
        if edition[1] != rules.edition:
            remarks.append(
                f"the path was written with edition {edition[1]} and is read with {rules.edition}"
            )
    answers: dict[str, Choice] = {}
    closed: list[str] = []
    for match in re.finditer(r"[^\s,;]+", text[begin:]):
        try:
            for step in read_steps(lexicon, match[0]):
                if _is_closed(rules, position, step, answers):
                    closed.append(match[0])
                else:
                    position = follow(rules, position, step)
                if isinstance(step, Answer):
                    answers[step.couplet] = step.choice
        except KeygenError as error:
            column = begin + match.start() + 1
            raise KeygenError(
                Problem(name, 1, column, p.code, _at(match[0], p.what), p.remedy)
                for p in error.problems
            ) from None
    if closed:
        remarks.append(f"not followed, as earlier steps had ruled them out: {', '.join(closed)}")
    return ReadPath(position, tuple(remarks))


def _at(token: str, what: str) -> str:
    """Return what is wrong with a step, naming the step unless that does already."""
    return what if repr(token) in what else f"at {token!r}: {what}"


def _is_closed(rules: Rules, position: Position, step: Step, answers: Mapping[str, Choice]) -> bool:
    """Tell whether a couplet stands open to a reader on paper, on a way that the walk has closed.

    Args:
        answers: what was written before, by couplet.
    """
    if not isinstance(step, Answer) or step.ahead or step.couplet in answers:
        return False
    taken: dict[str, Choice] = {passed.couplet: passed.choice for passed in position.trail}
    if step.couplet in taken or step.couplet in {branch.at for branch in position.branches}:
        return False
    taken |= answers
    waiting, reached = [rules.start], {""}
    while waiting:
        name = waiting.pop()
        if name not in reached and name in taken:
            leads = rules.couplets[name].leads
            waiting += [lead.go for lead in leads if taken[name] in (lead.letter, "?", "-")]
        reached.add(name)
    return step.couplet in reached


def follow(rules: Rules, position: Position, step: Step) -> Position:
    """Take one step; an answer that follows anyway changes nothing.

    Raises:
        KeygenError: the step does not fit the ones before it.
    """
    if isinstance(step, Answer):
        coming = next_couplet(rules, position)
        if coming is None or coming.id != step.couplet:
            passed = next((p for p in position.trail if p.couplet == step.couplet), None)
            early = step.ahead and rules.couplets[step.couplet] in may_be_asked(rules, position)
            if passed is not None or not early:
                return _read_past(rules, position, step, passed)
    try:
        return take(rules, position, step)
    except Contradiction as error:
        raise fault("K323", str(error)) from None


def _read_past(rules: Rules, position: Position, step: Answer, passed: Passed | None) -> Position:
    """Accept an answer to a couplet that was passed and says the same; refuse any other.

    What followed on one way only, after a doubt, may be denied: the denial is a term.
    """
    number = rules.couplets[step.couplet].number
    coming = next_couplet(rules, position)
    where = f"Couplet {coming.number} comes next." if coming else "The key has ended."
    if passed is None:
        raise fault("K322", f"couplet {number} is not reached here", where)
    if passed.why == "asked":
        raise fault("K322", f"couplet {number} has been answered already", where)
    if passed.choice == step.choice or step.choice in ("?", "-"):
        return position
    if passed.why == "gone":
        part = rules.parts[rules.couplets[step.couplet].part]
        raise fault("K322", f"couplet {number} asks about the {part}, which is gone", where)
    try:
        for term in _denial(rules, step):
            position = take(rules, position, term)
    except Contradiction:
        what = f"{number}{passed.choice} follows from the steps before"
        raise fault("K323", what, where) from None
    return position


def _denial(rules: Rules, step: Answer) -> Iterable[Term]:
    """Return an answer as terms: what decides its couplet.

    Raises:
        Contradiction: the lead leaves more than one alternative, which no term can say.
    """
    couplet = rules.couplets[step.couplet]
    limits, *others = couplet.lead(step.choice).leaves
    if others:
        raise Contradiction
    return [Term(i, limits[i]) for i in sorted(couplet.decides)]
