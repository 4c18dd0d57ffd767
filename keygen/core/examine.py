"""One piece under one set of rules in one region: everything that follows, in one frozen result.

This joins the other core modules: what was observed is closed over the key, measurements fill in
what nobody judged by eye, and the outcome is held against the types. Visual coding is never
overruled by a measurement; where the two disagree the disagreement is part of the result.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial

from keygen.core.call import Call, Elsewhere, call, elsewhere
from keygen.core.complete import surviving
from keygen.core.infer import Contradiction, close, gone_parts
from keygen.core.later import Later
from keygen.core.measure import Reading, derive
from keygen.core.memo import Memo
from keygen.core.model import Derivation, Rules
from keygen.core.nextlook import NextLook, looks, lost_look, next_look
from keygen.core.observe import How, Observation
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


def settle(
    rules: Rules, by_eye: Sequence[int], readings: Mapping[str, Reading]
) -> tuple[Box, dict[int, tuple[int, Derivation]], tuple[Disagreement, ...]]:
    """Return what is known of a piece from the eye first, and from measurements where it is silent.

    Args:
        by_eye: the states judged by eye, one mask an attribute, full where nobody judged.
        readings: measurements by id (mm, g or degrees).

    Returns:
        What is known, one mask an attribute; the states that were measured, with the rule used; and
        the measured states that the rest does not bear out.

    Raises:
        Contradiction: no piece that the key can describe has the states judged by eye together.
    """
    known = close(rules, by_eye)
    if not readings:
        return known, {}, ()
    readings, _ = surviving(rules, known, readings)
    derived: dict[int, tuple[int, Derivation]] = {}
    disagreements = []
    for i, (mask, derivation) in derive(rules, readings, known).items():
        judged = by_eye[i]
        if judged != rules.full[i]:
            if not judged & mask:
                disagreements.append(Disagreement(i, judged, mask, derivation))
            continue
        try:
            known = close(rules, tuple(m & mask if j == i else m for j, m in enumerate(known)))
        except Contradiction:
            disagreements.append(Disagreement(i, known[i], mask, derivation))
        else:
            derived[i] = (mask, derivation)
    return known, derived, tuple(disagreements)


def examine(rules: Rules, piece: Piece, region: str = "") -> Examination:
    """Work out all that follows from what was recorded of a piece.

    Without a region there is no call, and `elsewhere` speaks of every region.

    Raises:
        Contradiction: no piece that the key can describe has the recorded states together.
    """
    given = piece.observations
    by_eye = list(rules.full)
    for i, observation in given.items():
        by_eye[i] = observation.mask
    known, derived, disagreements = settle(rules, by_eye, piece.readings)
    readings = piece.readings
    if readings:
        readings, shown = surviving(rules, known, readings)
        if shown is not piece.readings:
            piece = replace(piece, readings=shown)
    measured, gone = frozenset(derived), gone_parts(rules, known)
    told = rules.once(_Told)
    observations = told.silent(known, gone)
    for i in (*given, *derived) if derived else given:
        observations[i] = told.spoken(i, given.get(i), known[i], i in derived, gone)
    seen_as = (known, readings, measured)
    away = partial(elsewhere, rules, region, *seen_as)
    ahead = partial(_looks, rules, region, observations, gone, measured)
    return Examination(
        piece=piece,
        region=region,
        observations=tuple(observations),
        gone=gone,
        derived={i: derivation for i, (_, derivation) in derived.items()},
        disagreements=disagreements,
        call=call(rules, region, *seen_as) if region else None,
        elsewhere=Later(away),
        looks=Later(ahead) if region else (),
    )


def _looks(
    rules: Rules,
    region: str,
    observations: Sequence[Observation],
    gone: frozenset[str],
    measured: frozenset[int],
) -> tuple[NextLook, ...]:
    """Return the further observations that would cut the candidates of a piece."""
    missing = [i for i, observation in enumerate(observations) if observation.how == "missing"]
    known = tuple([observation.mask for observation in observations])
    return looks(rules, region, known, rules.once(_Told).hidden[gone].union(missing), measured)


class _Told:
    """Observations as they are told once all is known; those alike are one and the same.

    Attributes:
        hidden: the attributes that cannot be seen, by the parts that are gone.
    """

    def __init__(self, rules: Rules) -> None:
        self._attributes = rules.attributes
        self._spoken = tuple(Memo(partial(self._speak, a.full)) for a in rules.attributes)
        self._silent = Memo(self._keep_silent)
        self.hidden = Memo(self._hide)

    def silent(self, known: Box, gone: frozenset[str]) -> list[Observation]:
        """Return one observation an attribute, as if nobody had looked at any."""
        return [told[mask] for told, mask in zip(self._silent[gone], known, strict=True)]

    def spoken(
        self, i: int, given: Observation | None, mask: int, measured: bool, gone: frozenset[str]
    ) -> Observation:
        """Return the observation of an attribute that somebody looked at, or that was measured."""
        if given is not None and given.at:  # of a walk: no other was made at the same couplets
            part_gone = self._attributes[i].part in gone
            return _finish(given, mask, self._attributes[i].full, measured, part_gone)
        kept, as_given = self._spoken[i], given and (given.mask, given.how)
        return kept[as_given, mask, measured, bool(gone) and self._attributes[i].part in gone]

    def _speak(self, full: int, of: tuple[tuple[int, How] | None, int, bool, bool]) -> Observation:
        given, mask, measured, part_gone = of
        return _finish(given and Observation(*given), mask, full, measured, part_gone)

    def _keep_silent(self, gone: frozenset[str]) -> tuple[Memo[int, Observation], ...]:
        return tuple(Memo(partial(self._silence, a.full, a.part in gone)) for a in self._attributes)

    def _silence(self, full: int, part_gone: bool, mask: int) -> Observation:
        return _finish(None, mask, full, False, part_gone)

    def _hide(self, gone: frozenset[str]) -> frozenset[int]:
        return frozenset(i for i, a in enumerate(self._attributes) if a.part in gone)


def _finish(
    given: Observation | None, mask: int, full: int, measured: bool, part_gone: bool
) -> Observation:
    how: How
    if measured:
        how = "measured"
    elif given is not None and given.mask != full:
        how = "seen" if is_single(mask) else "unsure"
    elif is_single(mask):
        how = "implied"
    elif given is not None:
        how = given.how
    elif part_gone:
        how = "missing"
    else:
        how = "not_asked" if mask == full else "implied"
    return Observation(mask, how, given.at if given else ())
