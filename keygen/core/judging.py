"""One type held against one piece: how each criterion fits, and how the type stands.

A type is *consistent* if all that defines it is met, *possible* if nothing speaks against it but
something is open, *excluded* if anything speaks against it. Nothing here is a probability.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from enum import IntEnum
from functools import reduce
from operator import and_
from typing import NamedTuple

from keygen.core.inverted import Inverted, inverted, members, numbers
from keygen.core.lanes import Lanes, lanes
from keygen.core.measure import Reading
from keygen.core.model import Criterion, MeasureRange, Rules, Type
from keygen.core.ready import Ready
from keygen.core.sorting import Sorted
from keygen.core.states import Box

Ranges = tuple[MeasureRange, ...]


class Standing(IntEnum):
    """How a type stands to a piece; lower is better."""

    CONSISTENT = 0
    POSSIBLE = 1
    EXCLUDED = 2


CONSISTENT, POSSIBLE, EXCLUDED = Standing  # an enumeration is slow to look things up in


class Judgement:
    """One type held against one piece: its criteria sorted by how they fit.

    Of the pieces of a long table few judgements are read in full. So the criteria are named when
    somebody asks for them; until then they are the flags of their attributes. Two judgements are
    equal if all that they say is.

    Attributes:
        type: its id.
        standing: how it stands to the piece.
        rank: a key by which better candidates sort first: standing; then usual traits and
            measurements that agree less those that do not; then specificity.
        shared: the flags of the attributes whose criteria are met.
        specificity: how much of all that could be the criteria that are met leave out, in bits.
        measures_in: the ranges in which its measurements can lie.
        measures_out: those in which they cannot.
    """

    __slots__ = (
        *("type", "standing", "rank", "shared", "specificity", "measures_in", "measures_out"),
        *("_ready", "_lane", "_flags", "_weighed", "_against"),
    )

    def __init__(self, lanes: Lanes, number: int, piece: Held) -> None:
        ready, self.type, flags, met, at, whole, definition, shown, lacking = lanes.types[number]
        self._lane = bits = piece.shown >> at & whole
        shared, self.specificity = met[bits & definition]
        support = (bits & shown).bit_count() - (bits & lacking).bit_count()
        self.measures_in: Ranges = ()
        self.measures_out: Ranges = ()
        if piece.readings:
            self.measures_in, self.measures_out = _ranges(ready.kind, piece.readings)
            support += len(self.measures_in) - len(self.measures_out)
        self._ready, self._flags = ready, piece.flags
        weighed, against = flags & piece.flags, 0
        if piece.found.fitting >> number & 1:
            standing = CONSISTENT if shared == weighed else POSSIBLE
        else:
            standing = EXCLUDED
            outgrown = _outgrown(ready, piece) if piece.aside else 0
            against = outgrown | _against(lanes.index, ready, piece)
            against = against or _clash(lanes.index, ready, piece)
            weighed |= outgrown
            shared &= ~against
        self.shared, self.standing = shared, standing
        self._weighed, self._against = weighed, against
        self.rank: tuple[float, ...] = (standing, -support, -self.specificity)

    @property
    def met(self) -> tuple[Criterion, ...]:
        """Return the criteria of the definition that the piece meets."""
        return self._of(self.shared)

    @property
    def open(self) -> tuple[Criterion, ...]:
        """Return those that it may or may not meet."""
        return self._of(self._weighed & ~self.shared & ~self._against)

    @property
    def against(self) -> tuple[Criterion, ...]:
        """Return those that it does not meet, or not together with the others."""
        return self._of(self._against)

    @property
    def usual_met(self) -> tuple[Criterion, ...]:
        """Return the usual traits that the piece shows."""
        return self._traits(0)

    @property
    def usual_against(self) -> tuple[Criterion, ...]:
        """Return the usual traits that it does not show, and rare ones that the type lacks."""
        return self._traits(1)

    @property
    def set_aside(self) -> tuple[Criterion, ...]:
        """Return the criteria on the blade of a piece that was reworked or heavily resharpened."""
        usual = [t.criterion for t in self._ready.traits if t.shown and not t.flag & self._flags]
        return (*self._of(~self._weighed), *usual)

    def _of(self, flags: int) -> tuple[Criterion, ...]:
        """Return the criteria of the definition on attributes with some flags."""
        return tuple([w.criterion for w in self._ready.definition if w.flag & flags])

    def _traits(self, which: int) -> tuple[Criterion, ...]:
        """Return the traits of which the first or the second bit is set."""
        bits, ready = self._lane >> len(self._ready.definition) + which, self._ready
        return tuple([t.criterion for n, t in enumerate(ready.traits) if bits >> 2 * n & 1])

    def _said(self) -> tuple[object, ...]:
        return (
            *(self.type, self.rank, self.met, self.open, self.against, self.set_aside),
            *(self.usual_met, self.usual_against, self.measures_in, self.measures_out),
        )

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Judgement) and self._said() == other._said()

    def __hash__(self) -> int:
        return hash(self._said())

    def __repr__(self) -> str:
        return f"Judgement({self.type!r}, {self.standing.name.lower()})"


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
    piece = held(rules, known, readings, aside)
    return Judgement(lanes(rules), numbers(rules)[kind.id], piece)


class Held(NamedTuple):
    """A piece that types are held against.

    Attributes:
        known: the states still possible, one mask an attribute.
        readings: measurements by id (mm, g or degrees).
        aside: attributes not weighed.
        found: how all types stand to it.
        flags: the flags of what is weighed.
        shown: what it shows of the criteria of all types, see `keygen.core.lanes`.
    """

    known: Box
    readings: Mapping[str, Reading]
    aside: frozenset[int]
    found: Sorted
    flags: int
    shown: int


def held(
    rules: Rules,
    known: Sequence[int],
    readings: Mapping[str, Reading] | None,
    aside: frozenset[int],
    found: Sorted | None = None,
) -> Held:
    """Return a piece that types are to be held against.

    Args:
        known: the states still possible, one mask an attribute.
        readings: measurements by id (mm, g or degrees).
        aside: attributes not weighed.
        found: how all types stand to it, if that is known already.
    """
    known, index = tuple(known), inverted(rules)
    return Held(
        known,
        readings or {},
        aside,
        found or index.sort(known, aside),
        index.every_flag & ~index.flags_of(aside),
        lanes(rules).of(known, aside),
    )


def ranked(rules: Rules, types: int, piece: Held) -> tuple[Judgement, ...]:
    """Hold a set of types against a piece, best first."""
    every = lanes(rules)
    judged = [Judgement(every, number, piece) for number in members(types)]
    if len(judged) > 1:
        judged.sort(key=_order)
    return tuple(judged)


def _order(judgement: Judgement) -> tuple[tuple[float, ...], str]:
    return judgement.rank, judgement.type


def _ranges(kind: Type, readings: Mapping[str, Reading]) -> tuple[Ranges, Ranges]:
    """Return the ranges of a type in which measurements can lie, and those in which they cannot."""
    inside: list[MeasureRange] = []
    outside: list[MeasureRange] = []
    for m in kind.measures:
        if reading := readings.get(m.measurement):
            (inside if reading.may_lie(m.low, m.high) else outside).append(m)
    return tuple(inside), tuple(outside)


def _outgrown(ready: Ready, piece: Held) -> int:
    """Return the flags of what is set aside and yet speaks against: the piece is too large."""
    return sum(
        weight.flag
        for weight in ready.definition
        if (i := weight.criterion.attribute) in piece.aside
        and weight.lessens
        and weight.criterion.allowed < (piece.known[i] & -piece.known[i])
    )


def _against(index: Inverted, ready: Ready, piece: Held) -> int:
    """Return the flags of what is weighed and speaks against a type by itself."""
    return ready.flags & piece.flags & ~index.flagged(piece.found.weighed & ready.within)


def _clash(index: Inverted, ready: Ready, piece: Held) -> int:
    """Return the flags of a smallest-by-removal set of criteria that cannot be met together.

    Criteria can fit one by one and still not together: a haft that is stemmed or notched, with a
    straight stem, is no side-notched one.
    """
    known = index.boxes(index.word(piece.known))
    ways = {
        weight.flag: index.having[i][piece.known[i] & weight.criterion.allowed]
        for weight in ready.definition
        if (i := weight.criterion.attribute) not in piece.aside
    }
    for flag in tuple(ways):
        if not reduce(and_, [boxes for other, boxes in ways.items() if other != flag], known):
            del ways[flag]
    return sum(ways)
