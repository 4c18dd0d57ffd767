"""Types made ready to be held against pieces: what bears on each of them, looked up once."""

from __future__ import annotations

from collections.abc import Sequence
from math import log2
from typing import NamedTuple

from keygen.core.inverted import inverted
from keygen.core.model import Criterion, Rules, Type


class Weight(NamedTuple):
    """A criterion taken apart for weighing.

    `flag` is that of its attribute in the packing of the index. `bits` is how much of all that
    could be it leaves out; what `lessens` only shrinks by rework.
    """

    criterion: Criterion
    flag: int
    bits: float
    lessens: bool


class Traits(NamedTuple):
    """Some criteria on different attributes, to be held against a piece all at once.

    Attributes:
        weights: the criteria one by one.
        flags: those of their attributes.
        within: the states that they allow, packed; `beyond` are those that they do not.
    """

    weights: tuple[Weight, ...]
    flags: int
    within: int
    beyond: int

    def of(self, flags: int) -> tuple[Criterion, ...]:
        """Return the criteria on the attributes with some flags."""
        return tuple([w.criterion for w in self.weights if w.flag & flags]) if flags else ()


class Ready(NamedTuple):
    """A type made ready to be held against pieces.

    `traits` are the usual ones and then the rare ones that it would show only if it said so, such
    as a flute; `usual` are the flags of the first, `shown` the states of which one has to be
    possible for a usual trait to speak for the type. `specificity` is how much of all that could be
    the whole definition leaves out, in bits.
    """

    number: int
    kind: Type
    definition: Traits
    traits: Traits
    usual: int
    shown: int
    specificity: float


def ready_types(rules: Rules) -> tuple[Ready, ...]:
    """Return every type made ready, by its number."""
    return rules.once(_ready)


def _ready(rules: Rules) -> tuple[Ready, ...]:
    ready = []
    for number, kind in enumerate(rules.types.values()):
        said = {c.attribute for c in (*kind.defined_by, *kind.usual)}
        unsaid = [Criterion(i, m) for i, m in sorted(rules.ordinary.items()) if i not in said]
        definition = _traits(rules, kind.defined_by)
        ready.append(
            Ready(
                number=number,
                kind=kind,
                definition=definition,
                traits=_traits(rules, (*kind.usual, *unsaid)),
                usual=inverted(rules).flags_of([c.attribute for c in kind.usual]),
                shown=_shown(rules, kind.usual),
                specificity=sum([w.bits for w in definition.weights]),
            )
        )
    return tuple(ready)


def _shown(rules: Rules, usual: Sequence[Criterion]) -> int:
    """Return the states that usual traits allow, packed, less the absence of what may be there.

    A trait that a type has or lacks speaks for it only where it is seen: that a stemmed point has
    no notches does not make it the likelier a type whose notches, if any, are shallow.
    """
    found = 0
    for trait in usual:
        none = rules.attributes[trait.attribute].bits.get("none", 0)
        there = trait.allowed & ~none or trait.allowed
        found |= there << inverted(rules).offsets[trait.attribute]
    return found


def _traits(rules: Rules, criteria: Sequence[Criterion]) -> Traits:
    full, index = rules.full, inverted(rules)
    return Traits(
        weights=tuple(
            Weight(
                criterion=c,
                flag=index.flags[c.attribute],
                bits=log2(full[c.attribute].bit_count() / c.allowed.bit_count()),
                lessens=rules.attributes[c.attribute].lessens,
            )
            for c in criteria
        ),
        flags=index.flags_of([c.attribute for c in criteria]),
        within=sum(c.allowed << index.offsets[c.attribute] for c in criteria),
        beyond=sum(
            (full[c.attribute] & ~c.allowed) << index.offsets[c.attribute] for c in criteria
        ),
    )
