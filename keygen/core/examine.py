"""One piece under one set of rules in one region: everything that follows, in one frozen result.

This joins the other core modules: what was observed is closed over the key, measurements fill in
what nobody judged by eye, and the outcome is held against the types. Visual coding is never
overruled by a measurement; where the two disagree the disagreement is part of the result.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from keygen.core.call import Call, Elsewhere, call, elsewhere
from keygen.core.infer import Contradiction, close, gone_parts
from keygen.core.measure import Reading, derive
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
        next_look: the further observation that would cut the candidates most, if any would.
        lost_look: one that would cut them more, if this piece could still show it.
    """

    piece: Piece
    region: str
    observations: tuple[Observation, ...]
    gone: frozenset[str]
    derived: Mapping[int, Derivation]
    disagreements: tuple[Disagreement, ...]
    call: Call | None
    elsewhere: tuple[Elsewhere, ...]
    next_look: NextLook | None
    lost_look: NextLook | None = None

    @property
    def known(self) -> Box:
        """Return the states still possible, one mask an attribute."""
        return tuple(observation.mask for observation in self.observations)


def settle(
    rules: Rules, by_eye: Mapping[int, int], readings: Mapping[str, Reading]
) -> tuple[Box, dict[int, tuple[int, Derivation]], tuple[Disagreement, ...]]:
    """Return what is known of a piece from the eye first, and from measurements where it is silent.

    Args:
        by_eye: the states judged by eye, one mask by attribute index.
        readings: measurements by id (mm, g or degrees).

    Returns:
        What is known, one mask an attribute; the states that were measured, with the rule used; and
        the measured states that the rest does not bear out.

    Raises:
        Contradiction: no piece that the key can describe has the states judged by eye together.
    """
    known = close(rules, tuple(by_eye.get(i, full) for i, full in enumerate(rules.full)))
    derived: dict[int, tuple[int, Derivation]] = {}
    disagreements = []
    for i, (mask, derivation) in derive(rules, readings, known).items():
        judged = by_eye.get(i, rules.full[i])
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
    by_eye = {i: observation.mask for i, observation in piece.observations.items()}
    known, derived, disagreements = settle(rules, by_eye, piece.readings)
    gone = gone_parts(rules, known)
    observations = tuple(
        _finish(piece.observations.get(i), mask, rules.full[i], i in derived, a.part in gone)
        for i, (mask, a) in enumerate(zip(known, rules.attributes, strict=True))
    )
    measured = frozenset(derived)
    hidden = frozenset(
        i
        for i, attribute in enumerate(rules.attributes)
        if attribute.part in gone or observations[i].how == "missing"
    )
    called = call(rules, region, known, piece.readings, measured) if region else None
    ranked = looks(rules, region, known, hidden, measured) if region else ()
    return Examination(
        piece=piece,
        region=region,
        observations=observations,
        gone=gone,
        derived={i: derivation for i, (_, derivation) in derived.items()},
        disagreements=disagreements,
        call=called,
        elsewhere=elsewhere(rules, region, known, piece.readings, measured),
        next_look=next_look(ranked),
        lost_look=lost_look(ranked),
    )


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
