"""One piece under one set of rules in one region: everything that follows, in one frozen result.

This joins the other core modules: what was observed is closed over the key, measurements fill in
what nobody judged by eye, and the outcome is held against the types. Visual coding is never
overruled by a measurement; where the two disagree the disagreement is part of the result.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from operator import getitem
from typing import NamedTuple

from keygen.core.call import Call, Elsewhere, call_of, elsewhere_of
from keygen.core.complete import surviving
from keygen.core.infer import Contradiction, closed, gone_parts
from keygen.core.inverted import inverted
from keygen.core.judging import Held, held
from keygen.core.later import Later
from keygen.core.measure import Reading, derive
from keygen.core.memo import Memo
from keygen.core.model import Derivation, Rules
from keygen.core.nextlook import NextLook, looks, lost_look, next_look
from keygen.core.observe import How, Observation
from keygen.core.rework import set_aside
from keygen.core.sorting import Closed
from keygen.core.states import Box, is_single


@dataclass(frozen=True)
class AnalystCall:
    """An analyst's own call of a type (or other wording), with the reason for it."""

    call: str
    reason: str
    by: str = ""
    date: str = ""


@dataclass(frozen=True)
class Change:
    """One entry in the history of a record: what was changed, when, by whom and why."""

    date: str
    by: str
    what: str
    why: str = ""


@dataclass(frozen=True)
class Piece:
    """What was recorded of one piece. Only attributes that somebody looked at have an observation.

    `details` are material, colour, context and the like, as text by field name; `history` is what
    was changed since the piece was recorded, oldest first.
    """

    label: str = ""
    observations: Mapping[int, Observation] = field(default_factory=dict)
    readings: Mapping[str, Reading] = field(default_factory=dict)
    details: Mapping[str, str] = field(default_factory=dict)
    analyst: AnalystCall | None = None
    notes: str = ""
    history: tuple[Change, ...] = ()


@dataclass(frozen=True)
class Disagreement:
    """A state that a measurement does not bear out: both masks, and the rule used.

    `seen` was judged by eye, or follows from what was.
    """

    attribute: int
    seen: int
    measured: int
    derivation: Derivation


@dataclass(frozen=True)
class Examination:
    """A piece with all that follows from it.

    Attributes:
        observations: one entry an attribute.
        elsewhere: the types that it would be consistent with in every other region.
        looks: the further observations that would cut the candidates, best first.
    """

    piece: Piece
    region: str
    observations: tuple[Observation, ...]
    gone: frozenset[str]
    derived: Mapping[int, Derivation]
    disagreements: tuple[Disagreement, ...]
    call: Call | None
    elsewhere: Sequence[Elsewhere] = ()
    looks: Sequence[NextLook] = ()

    @property
    def known(self) -> Box:
        """Return the states still possible, one mask an attribute."""
        return tuple([observation.mask for observation in self.observations])

    @property
    def next_look(self) -> NextLook | None:
        """Return the further observation that would cut the candidates most, if any would."""
        return next_look(self.looks)

    @property
    def lost_look(self) -> NextLook | None:
        """Return one that would cut them more, if this piece could still show it."""
        return lost_look(self.looks)


class Settled(NamedTuple):
    """What is known of a piece from the eye and from measurements.

    Attributes:
        known: the states still possible, one mask an attribute.
        derived: the states that were measured, with the rule used.
        disagreements: the measured states that the rest does not bear out.
        found: what is known, as it follows from what was observed.
    """

    known: Box
    derived: Mapping[int, tuple[int, Derivation]]
    disagreements: tuple[Disagreement, ...]
    found: Closed


def settle(rules: Rules, by_eye: int, readings: Mapping[str, Reading]) -> Settled:
    """Return what is known of a piece from the eye first, and from measurements where it is silent.

    Args:
        by_eye: what was judged by eye, as a word of the inverted index.
        readings: measurements by id (mm, g or degrees).

    Raises:
        Contradiction: no piece that the key can describe has the states judged by eye together.
    """
    index, found = inverted(rules), closed(rules, by_eye)
    known = index.unpack(found.states)
    if not readings:
        return Settled(known, {}, (), found)
    readings, _ = surviving(rules, known, readings)
    derived: dict[int, tuple[int, Derivation]] = {}
    disagreements = []
    for i, (mask, derivation) in derive(rules, readings, known).items():
        judged = index.mask(~by_eye, i)
        if judged != rules.full[i]:
            if not judged & mask:
                disagreements.append(Disagreement(i, judged, mask, derivation))
            continue
        try:
            found = closed(rules, found.word | index.words[i][mask])
        except Contradiction:
            follows = index.mask(found.states, i)
            disagreements.append(Disagreement(i, follows, mask, derivation))
        else:
            derived[i] = (mask, derivation)
    if derived:
        known = index.unpack(found.states)
    return Settled(known, derived, tuple(disagreements), found)


def examine(rules: Rules, piece: Piece, region: str = "") -> Examination:
    """Work out all that follows from what was recorded of a piece.

    Without a region there is no call, and `elsewhere` speaks of every region.

    Raises:
        Contradiction: no piece that the key can describe has the recorded states together.
    """
    index, given, by_eye = inverted(rules), piece.observations, 0
    for i, observation in given.items():
        by_eye |= index.words[i][observation.mask]
    known, derived, disagreements, closed = settle(rules, by_eye, piece.readings)
    readings = piece.readings
    if readings:
        readings, shown = surviving(rules, known, readings)
        if shown is not piece.readings:
            piece = replace(piece, readings=shown)
    measured, gone = frozenset(derived), gone_parts(rules, known)
    observations = rules.once(_Told).of(known, given, measured, gone)
    aside = set_aside(rules, known, measured)
    found = index.sort(known, aside) if aside else index.sort_all(closed)
    weighed = held(rules, known, readings, aside, found)
    away = partial(elsewhere_of, rules, region, weighed)
    ahead = partial(_looks, rules, region, weighed, given, observations, gone, measured)
    return Examination(
        piece=piece,
        region=region,
        observations=observations,
        gone=gone,
        derived={i: derivation for i, (_, derivation) in derived.items()},
        disagreements=disagreements,
        call=call_of(rules, region, weighed) if region else None,
        elsewhere=Later(away),
        looks=Later(ahead) if region else (),
    )


def _looks(
    rules: Rules,
    region: str,
    piece: Held,
    given: Iterable[int],
    observations: Sequence[Observation],
    gone: frozenset[str],
    measured: frozenset[int],
) -> tuple[NextLook, ...]:
    """Return the further observations that would cut the candidates of a piece."""
    missing = [i for i in given if observations[i].how == "missing"]
    hidden = rules.once(_Told).hidden[gone]
    if missing:
        hidden = hidden.union(missing)
    return looks(rules, region, piece.known, hidden, measured, piece.found)


class _Told:
    """Observations as they are told once all is known; those alike are one and the same.

    Attributes:
        hidden: the attributes that cannot be seen, by the parts that are gone.
    """

    def __init__(self, rules: Rules) -> None:
        self._attributes = rules.attributes
        self._spoken = tuple(Memo(partial(_spoken, a.full)) for a in rules.attributes)
        self._silent = Memo(self._keep_silent)
        self.hidden = Memo(self._hide)

    def of(
        self,
        known: Box,
        given: Mapping[int, Observation],
        measured: frozenset[int],
        gone: frozenset[str],
    ) -> tuple[Observation, ...]:
        """Return one observation an attribute: as if nobody had looked, then what somebody did."""
        told = list(map(getitem, self._silent[gone], known))
        spoken = self._spoken
        for i, seen in given.items():
            told[i] = spoken[i][seen.mask, seen.how, seen.at, known[i]]
        for i in measured:
            told[i] = Observation(known[i], "measured", given[i].at if i in given else ())
        return tuple(told)

    def _keep_silent(self, gone: frozenset[str]) -> tuple[Memo[int, Observation], ...]:
        return tuple(Memo(partial(_silent, a.full, a.part in gone)) for a in self._attributes)

    def _hide(self, gone: frozenset[str]) -> frozenset[int]:
        return frozenset(i for i, a in enumerate(self._attributes) if a.part in gone)


def _spoken(full: int, of: tuple[int, How, tuple[str, ...], int]) -> Observation:
    """Return the observation of an attribute that somebody looked at, with what follows for it."""
    given, how, at, mask = of
    if given != full:
        how = "seen" if is_single(mask) else "unsure"
    elif is_single(mask):
        how = "implied"
    return Observation(mask, how, at)


def _silent(full: int, part_gone: bool, mask: int) -> Observation:
    """Return the observation of an attribute that nobody looked at."""
    if is_single(mask):
        return Observation(mask, "implied")
    if part_gone:
        return Observation(mask, "missing")
    return Observation(mask, "not_asked" if mask == full else "implied")
