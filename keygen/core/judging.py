"""One type held against one piece: how each criterion fits, and how the type stands.

A type is *consistent* if all that defines it is met, *possible* if nothing speaks against it but
something is open, *excluded* if anything speaks against it. Nothing here is a probability.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import IntEnum
from typing import NamedTuple

from keygen.core.inverted import Sorted, inverted, members, numbers
from keygen.core.measure import Reading
from keygen.core.model import Criterion, MeasureRange, Rules, Type
from keygen.core.ready import Ready, ready_types
from keygen.core.states import Box


class Standing(IntEnum):
    """How a type stands to a piece; lower is better."""

    CONSISTENT = 0
    POSSIBLE = 1
    EXCLUDED = 2


@dataclass(frozen=True)
class Judgement:
    """One type held against one piece: its criteria sorted by how they fit.

    `set_aside` are criteria on the blade of a piece that was reworked or heavily resharpened.
    """

    type: str
    standing: Standing
    met: tuple[Criterion, ...]
    open: tuple[Criterion, ...]
    against: tuple[Criterion, ...]
    usual_met: tuple[Criterion, ...]
    usual_against: tuple[Criterion, ...]
    measures_in: tuple[MeasureRange, ...]
    measures_out: tuple[MeasureRange, ...]
    set_aside: tuple[Criterion, ...]
    specificity: float

    @property
    def rank(self) -> tuple[float, ...]:
        """Return a key by which better candidates sort first.

        Standing; then usual traits and measurements that agree less those that do not; then how
        much of all that could be the definition leaves out (in bits).
        """
        support = (
            len(self.usual_met)
            - len(self.usual_against)
            + len(self.measures_in)
            - len(self.measures_out)
        )
        return (self.standing, -support, -self.specificity)


def judge(
    rules: Rules,
    kind: Type,
    known: Sequence[int],
    readings: Mapping[str, Reading] | None = None,
    aside: frozenset[int] = frozenset(),
) -> Judgement:
    """Hold one type against one piece.

    Args:
        known: the states still possible, one mask an attribute.
        readings: measurements by id (mm, g or degrees); support only, they never exclude a type.
        aside: attributes not weighed.
    """
    known = tuple(known)
    piece = Held(known, readings or {}, aside, inverted(rules).sort(known, aside))
    return _judge(rules, ready_types(rules)[numbers(rules)[kind.id]], piece)


class Held(NamedTuple):
    """A piece that types are held against.

    Attributes:
        known: the states still possible, one mask an attribute.
        readings: measurements by id (mm, g or degrees).
        aside: attributes not weighed.
        found: how all types stand to it.
    """

    known: Box
    readings: Mapping[str, Reading]
    aside: frozenset[int]
    found: Sorted


def ranked(rules: Rules, types: int, piece: Held) -> tuple[Judgement, ...]:
    """Hold a set of types against a piece, best first."""
    ready = ready_types(rules)
    judged = [_judge(rules, ready[t], piece) for t in members(types)]
    judged.sort(key=lambda judgement: (judgement.rank, judgement.type))
    return tuple(judged)


def _judge(rules: Rules, ready: Ready, piece: Held) -> Judgement:
    clash = _clash(rules, ready, piece) if piece.found.clashing >> ready.number & 1 else frozenset()
    known, aside = piece.known, piece.aside
    met, open_, against, left_out = [], [], [], []
    specificity: float = 0
    for criterion, i, allowed, bits, lessens in ready.defined_by:
        mask = known[i]
        if i in aside and not (lessens and allowed < (mask & -mask)):
            left_out.append(criterion)
        elif not mask & allowed or i in clash:
            against.append(criterion)
        elif mask & ~allowed:
            open_.append(criterion)
        else:
            met.append(criterion)
            specificity += bits
    usual = [w for w in ready.usual if w.attribute not in aside]
    odd = (w for w in (*usual, *ready.unsaid) if not known[w.attribute] & w.allowed)
    standing = Standing.POSSIBLE if open_ else Standing.CONSISTENT
    taken = [m for m in ready.kind.measures if m.measurement in piece.readings]
    inside = [m for m in taken if piece.readings[m.measurement].may_lie(m.low, m.high)]
    return Judgement(
        type=ready.kind.id,
        standing=Standing.EXCLUDED if against else standing,
        met=tuple(met),
        open=tuple(open_),
        against=tuple(against),
        usual_met=tuple([w.criterion for w in usual if not known[w.attribute] & ~w.allowed]),
        usual_against=tuple([w.criterion for w in odd if w.attribute not in aside]),
        measures_in=tuple(inside),
        measures_out=tuple([m for m in taken if m not in inside]),
        set_aside=(*left_out, *(w.criterion for w in ready.usual if w.attribute in aside)),
        specificity=specificity,
    )


def _clash(rules: Rules, ready: Ready, piece: Held) -> frozenset[int]:
    """Return the attributes of a smallest-by-removal set of criteria that cannot be met together.

    Criteria can fit one by one and still not together: a haft that is stemmed or notched, with a
    straight stem, is no side-notched one.
    """
    index = inverted(rules)
    weighed = [c for c in ready.kind.defined_by if c.attribute not in piece.aside]
    left = list(weighed)

    def possible(criteria: Sequence[Criterion]) -> bool:
        masks = list(piece.known)
        for c in criteria:
            masks[c.attribute] &= c.allowed
        return index.boxes(index.word(masks)) != 0

    for criterion in weighed:
        rest = [c for c in left if c != criterion]
        if not possible(rest):
            left = rest
    return frozenset(c.attribute for c in left)
