"""Types made ready to be held against pieces: what bears on each of them, looked up once."""

from __future__ import annotations

from collections.abc import Iterable
from math import log2
from typing import NamedTuple

from keygen.core.model import Criterion, Rules, Type


class Weight(NamedTuple):
    """A criterion taken apart for weighing.

    `bits` is how much of all that could be it leaves out; what `lessens` only shrinks by rework.
    """

    criterion: Criterion
    attribute: int
    allowed: int
    bits: float
    lessens: bool


class Ready(NamedTuple):
    """A type made ready to be held against pieces.

    `unsaid` are the rare traits that it would show only if it said so, such as a flute.
    """

    number: int
    kind: Type
    defined_by: tuple[Weight, ...]
    usual: tuple[Weight, ...]
    unsaid: tuple[Weight, ...]


def ready_types(rules: Rules) -> tuple[Ready, ...]:
    """Return every type made ready, by its number."""
    return rules.once(_ready)


def _ready(rules: Rules) -> tuple[Ready, ...]:
    ready = []
    for number, kind in enumerate(rules.types.values()):
        said = {c.attribute for c in (*kind.defined_by, *kind.usual)}
        unsaid = [Criterion(i, m) for i, m in sorted(rules.ordinary.items()) if i not in said]
        ready.append(
            Ready(
                number=number,
                kind=kind,
                defined_by=_weights(rules, kind.defined_by),
                usual=_weights(rules, kind.usual),
                unsaid=_weights(rules, unsaid),
            )
        )
    return tuple(ready)


def _weights(rules: Rules, criteria: Iterable[Criterion]) -> tuple[Weight, ...]:
    return tuple(
        Weight(
            criterion=c,
            attribute=c.attribute,
            allowed=c.allowed,
            bits=log2(rules.full[c.attribute].bit_count() / c.allowed.bit_count()),
            lessens=rules.attributes[c.attribute].lessens,
        )
        for c in criteria
    )
