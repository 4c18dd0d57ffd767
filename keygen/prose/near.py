"""Near misses: which types come nearest to a piece that none fits, and what parts them from it."""

from __future__ import annotations

from typing import NamedTuple

from keygen.core.call import Call
from keygen.core.examine import Examination
from keygen.core.memo import Memo
from keygen.core.model import Attribute, Rules
from keygen.prose import words
from keygen.prose.grammar import article, plain
from keygen.prose.seen import stated

MOST_NEAR = 3
# A type against one of these is of another class of haft, and nothing like the piece.
CLASS = ("haft_style",)
# These change the look of a haft more than the others do.
LARGE = ("notch_position", "stem_shape", "fluting", "size_class")
VERBS = {"flute_length": "runs", "barb_reach": "end"}
# What a type is, rather than what a part of it is: "which is side-notched".
_IS = ("haft_style", "notch_position", "fluting", "size_class")


class Contrast(NamedTuple):
    """A near miss: a type, and what it allows of the one attribute that speaks against it."""

    type: str
    attribute: int
    allowed: int


def nearest(rules: Rules, examination: Examination, call: Call) -> tuple[Contrast, ...]:
    """Return the near misses worth naming, the least gross first.

    Types of another class of haft are left out. Those go first whose one criterion against them is
    the fewest grades away from what was seen and touches a small thing (grinding) rather than a
    large one (the place of the notches); then those with more usual traits met.
    """
    known, classed = examination.observations, rules.once(_classed)
    found = []
    for judgement in call.near_misses:
        (against,) = judgement.against
        i, allowed = against.attribute, against.allowed
        if i not in classed:
            away = rules.once(_away)[i, known[i].mask, allowed]
            found.append((away, judgement.rank, Contrast(judgement.type, i, allowed)))
    return tuple(contrast for _, _, contrast in sorted(found)[:MOST_NEAR])


def _classed(rules: Rules) -> frozenset[int]:
    return frozenset(i for i, attribute in enumerate(rules.attributes) if attribute.id in CLASS)


def _away(rules: Rules) -> Memo[tuple[int, int, int], int]:
    """Return how far what was seen of an attribute is from what a type allows."""

    def away(of: tuple[int, int, int]) -> int:
        i, seen, allowed = of
        attribute = rules.attributes[i]
        return steps(attribute, seen, allowed) + (attribute.id in LARGE)

    return Memo(away)


def steps(attribute: Attribute, one: int, other: int) -> int:
    """Return how many grades apart two sets of states are.

    It is 1 where an attribute has no grades, and 2 for a state that stands outside them.
    """
    grades = words.GRADES.get(attribute.id, ())
    distances = [
        abs(grade.index(a) - grade.index(b))
        for grade in grades
        for a in attribute.ids(one)
        for b in attribute.ids(other)
        if a in grade and b in grade
    ]
    return min(distances, default=2 if grades else 1)


def contrast(rules: Rules, near: Contrast) -> dict[str, str]:
    """Name a near miss with the trait that it has and the piece has not.

    `which` is a relative clause, `whose haft is ground`; `brief` the same in few words.
    """
    attribute = rules.attributes[near.attribute]
    subject = words.SUBJECTS.get(attribute.id, plain(attribute.label))
    plural = subject in words.PLURAL_SUBJECTS
    is_ = stated(attribute, near.allowed)
    bare = attribute.id in words.BARE
    if attribute.ids(near.allowed) == ("none",) and is_ == "absent":
        which, brief = f"which has no {subject}", f"no {subject}"
    elif is_ == "present":
        which = f"which has {subject if plural else article(subject)}"
        brief = f"with {subject if plural else article(subject)}"
    elif attribute.id in words.TAILS and bare:
        which, brief = f"which has {is_}", is_
    elif attribute.id in _IS:
        which, brief = f"which is {is_}", is_
    else:
        verb = VERBS.get(attribute.id, "are" if plural else "is")
        which = f"whose {subject} {verb} {is_}"
        brief = f"{subject} {is_}"
    return {"name": rules.types[near.type].name, "which": which, "brief": brief}
