"""Types made ready to be held against pieces: what bears on each of them, looked up once."""

from __future__ import annotations

from math import log2
from typing import NamedTuple

from keygen.core.inverted import inverted
from keygen.core.model import Criterion, Rules, Type


class Weight(NamedTuple):
    """A criterion of a definition, taken apart for weighing.

    `flag` is that of its attribute in the packing of the index. `bits` is how much of all that
    could be it leaves out; what `lessens` only shrinks by rework.
    """

    criterion: Criterion
    flag: int
    bits: float
    lessens: bool


class Trait(NamedTuple):
    """A trait that speaks for or against a type without defining it.

    `shown` are the states of which one has to be possible for it to speak for the type; none where
    it can only speak against it.
    """

    criterion: Criterion
    flag: int
    shown: int


class Ready(NamedTuple):
    """A type made ready to be held against pieces.

    `traits` are the usual ones and then the rare ones that it would show only if it said so, such
    as a flute. `flags` are those of the attributes that define it, `within` the states that these
    allow, packed.
    """

    number: int
    kind: Type
    definition: tuple[Weight, ...]
    flags: int
    within: int
    traits: tuple[Trait, ...]


def ready_types(rules: Rules) -> tuple[Ready, ...]:
    """Return every type made ready, by its number."""
    return rules.once(_ready)


def _ready(rules: Rules) -> tuple[Ready, ...]:
    index = inverted(rules)
    return tuple(
        Ready(
            number=number,
            kind=kind,
            definition=tuple(_weight(rules, criterion) for criterion in kind.defined_by),
            flags=index.flags_of([c.attribute for c in kind.defined_by]),
            within=sum(c.allowed << index.offsets[c.attribute] for c in kind.defined_by),
            traits=_traits(rules, kind),
        )
        for number, kind in enumerate(rules.types.values())
    )


def left_out(rules: Rules, criterion: Criterion) -> float:
    """Return how much of all that could be a criterion leaves out, in bits."""
    full = rules.full[criterion.attribute]
    return log2(full.bit_count() / criterion.allowed.bit_count())


def _weight(rules: Rules, criterion: Criterion) -> Weight:
    i = criterion.attribute
    return Weight(
        criterion=criterion,
        flag=inverted(rules).flags[i],
        bits=left_out(rules, criterion),
        lessens=rules.attributes[i].lessens,
    )


def _traits(rules: Rules, kind: Type) -> tuple[Trait, ...]:
    flags = inverted(rules).flags
    said = {c.attribute for c in (*kind.defined_by, *kind.usual)}
    unsaid = [Criterion(i, m) for i, m in sorted(rules.ordinary.items()) if i not in said]
    return (
        *(Trait(c, flags[c.attribute], _shown(rules, c)) for c in kind.usual),
        *(Trait(c, flags[c.attribute], 0) for c in unsaid),
    )


def _shown(rules: Rules, trait: Criterion) -> int:
    """Return the states that a usual trait allows, less the absence of what may be there.

    A trait that a type has or lacks speaks for it only where it is seen: that a stemmed point has
    no notches does not make it the likelier a type whose notches, if any, are shallow.
    """
    none = rules.attributes[trait.attribute].bits.get("none", 0)
    return trait.allowed & ~none or trait.allowed
