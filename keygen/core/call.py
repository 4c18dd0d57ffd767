"""From observed sets of states to types: standing, call, and elsewhere.

A type is *consistent* if all that defines it is met, *possible* if nothing speaks against it but
something is open, *excluded* if anything speaks against it. Nothing here is a probability.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import IntEnum
from math import log2
from typing import Literal

from keygen.core.infer import conflict
from keygen.core.measure import Reading
from keygen.core.model import Criterion, MeasureRange, Rules, Type
from keygen.core.states import Fit, compare

Status = Literal["assigned", "cf.", "either", "untyped"]


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


@dataclass(frozen=True)
class Call:
    """What the key says of a piece in one region.

    `candidates` are all consistent and possible types, best first; `near_misses` have exactly one
    criterion against them. `reason` is given for an untyped piece: `none_fits` or `haft_unknown`.
    """

    region: str
    status: Status
    types: tuple[str, ...]
    candidates: tuple[Judgement, ...]
    near_misses: tuple[Judgement, ...]
    reason: Literal["", "none_fits", "haft_unknown"] = ""


@dataclass(frozen=True)
class Elsewhere:
    """A type that the same piece would be consistent with in another region."""

    region: str
    judgement: Judgement


def set_aside(rules: Rules, known: Sequence[int], measured: frozenset[int]) -> frozenset[int]:
    """Return the attributes not weighed for a type: those of a blade that was made over.

    A state that was measured rather than judged by eye is still weighed.
    """
    if not _made_over(rules, known):
        return frozenset()
    return frozenset(
        i
        for i, attribute in enumerate(rules.attributes)
        if attribute.stability == "blade" and i not in measured
    )


def rework_signs(rules: Rules) -> tuple[tuple[int, int], ...]:
    """Return the attributes that tell of rework, each with the states that do not make it certain.

    Rework into another tool, and heavy resharpening. A piece was made over if one of them shows
    none of the states named here.
    """
    signs = []
    if (tool := rules.index.get("reworked_as")) is not None:
        signs.append((tool, rules.mask("reworked_as", "none")))
    if (wear := rules.index.get("resharpening")) is not None:
        signs.append((wear, rules.full[wear] & ~rules.mask("resharpening", "heavy")))
    return tuple(signs)


def _made_over(rules: Rules, known: Sequence[int]) -> bool:
    """Tell whether rework into another tool, or heavy resharpening, is certain."""
    return any(not known[i] & spared for i, spared in rework_signs(rules))


def fits(rules: Rules, kind: Type, known: Sequence[int], aside: frozenset[int]) -> bool:
    """Tell whether a type is consistent or possible, without sorting out why.

    Args:
        aside: attributes not weighed.
    """
    return not any(
        not known[c.attribute] & c.allowed
        for c in kind.defined_by
        if c.attribute not in aside or outgrown(rules, c, known)
    ) and _together(rules, kind, known, aside)


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
    weighed = [c for c in kind.defined_by if c.attribute not in aside or outgrown(rules, c, known)]
    sorted_by_fit: dict[Fit, list[Criterion]] = {fit: [] for fit in Fit}
    for criterion in weighed:
        sorted_by_fit[compare(known[criterion.attribute], criterion.allowed)].append(criterion)
    if not sorted_by_fit[Fit.AGAINST] and not _together(rules, kind, known, aside):
        clash = _clash(rules, weighed, known)
        sorted_by_fit[Fit.AGAINST] = [c for c in weighed if c in clash]
        for fit in (Fit.MET, Fit.OPEN):
            sorted_by_fit[fit] = [c for c in sorted_by_fit[fit] if c not in clash]
    usual = [c for c in kind.usual if c.attribute not in aside]
    unsaid = rules.ordinary.keys() - {c.attribute for c in (*kind.defined_by, *kind.usual)} - aside
    usual += [Criterion(i, rules.ordinary[i]) for i in sorted(unsaid) if _odd(rules, i, known)]
    measures = [m for m in kind.measures if readings and m.measurement in readings]
    inside = [m for m in measures if readings and readings[m.measurement].may_lie(m.low, m.high)]
    if sorted_by_fit[Fit.AGAINST]:
        standing = Standing.EXCLUDED
    elif sorted_by_fit[Fit.OPEN]:
        standing = Standing.POSSIBLE
    else:
        standing = Standing.CONSISTENT
    return Judgement(
        type=kind.id,
        standing=standing,
        met=tuple(sorted_by_fit[Fit.MET]),
        open=tuple(sorted_by_fit[Fit.OPEN]),
        against=tuple(sorted_by_fit[Fit.AGAINST]),
        usual_met=tuple(c for c in usual if compare(known[c.attribute], c.allowed) is Fit.MET),
        usual_against=tuple(
            c for c in usual if compare(known[c.attribute], c.allowed) is Fit.AGAINST
        ),
        measures_in=tuple(inside),
        measures_out=tuple(m for m in measures if m not in inside),
        set_aside=tuple(
            c for c in (*kind.defined_by, *kind.usual) if c.attribute in aside and c not in weighed
        ),
        specificity=sum(
            log2(rules.full[c.attribute].bit_count() / c.allowed.bit_count())
            for c in sorted_by_fit[Fit.MET]
        ),
    )


def outgrown(rules: Rules, criterion: Criterion, known: Sequence[int]) -> bool:
    """Tell whether a piece exceeds what a type allows in something that only gets less by rework.

    A small drill can have been a large point, but a large one was never a small point.
    """
    lowest = known[criterion.attribute] & -known[criterion.attribute]
    return rules.attributes[criterion.attribute].lessens and criterion.allowed < lowest


def _together(rules: Rules, kind: Type, known: Sequence[int], aside: frozenset[int]) -> bool:
    """Tell whether some piece meets the whole definition and all that is known of this one.

    Criteria can fit one by one and still not together: a haft that is stemmed or notched, with a
    straight stem, is no side-notched one.
    """
    limits = weighed_limits(rules, known, aside)
    return any(all(box[i] & m for i, m in limits.items()) for box in rules.pieces[kind.id])


def weighed_limits(rules: Rules, known: Sequence[int], aside: frozenset[int]) -> dict[int, int]:
    """Return the masks that say anything, without those of attributes not weighed."""
    return {i: m for i, m in enumerate(known) if m != rules.full[i] and i not in aside}


def _clash(
    rules: Rules, weighed: Sequence[Criterion], known: Sequence[int]
) -> frozenset[Criterion]:
    """Return a smallest-by-removal set of criteria that cannot be met together on this piece."""
    left = list(weighed)

    def possible(criteria: Sequence[Criterion]) -> bool:
        masks = list(known)
        for c in criteria:
            masks[c.attribute] &= c.allowed
        return not conflict(rules, masks)

    for criterion in weighed:
        rest = [c for c in left if c != criterion]
        if not possible(rest):
            left = rest
    return frozenset(left)


def _odd(rules: Rules, attribute: int, known: Sequence[int]) -> bool:
    """Tell whether a piece shows what types only show if they say so, such as a flute."""
    return compare(known[attribute], rules.ordinary[attribute]) is Fit.AGAINST


def call(
    rules: Rules,
    region: str,
    known: Sequence[int],
    readings: Mapping[str, Reading] | None = None,
    measured: frozenset[int] = frozenset(),
) -> Call:
    """Return what the key says of a piece in one region.

    A single consistent type with no possible rival is `assigned`; a single candidate with something
    open is `cf.`; several are `either`; none is `untyped`. A piece of which nothing that defines a
    haft was seen stays untyped too, whatever is still possible: a call has to rest on something.
    """
    aside = set_aside(rules, known, measured)
    judged = [judge(rules, kind, known, readings, aside) for kind in rules.in_region(region)]
    judged.sort(key=lambda judgement: (judgement.rank, judgement.type))
    candidates = tuple(j for j in judged if j.standing is not Standing.EXCLUDED)
    near = tuple(j for j in judged if len(j.against) == 1)
    types = tuple(j.type for j in candidates)
    if not candidates:
        return Call(region, "untyped", (), (), near, "none_fits")
    if not any(_rests_on_haft(rules, j) for j in candidates):
        return Call(region, "untyped", (), candidates, near, "haft_unknown")
    if len(candidates) > 1:
        return Call(region, "either", types, candidates, near)
    only = candidates[0].standing is Standing.CONSISTENT
    return Call(region, "assigned" if only else "cf.", types, candidates, near)


def _rests_on_haft(rules: Rules, judgement: Judgement) -> bool:
    return any(rules.attributes[c.attribute].stability == "haft" for c in judgement.met)


def elsewhere(
    rules: Rules,
    region: str,
    known: Sequence[int],
    readings: Mapping[str, Reading] | None = None,
    measured: frozenset[int] = frozenset(),
) -> tuple[Elsewhere, ...]:
    """Return the types that the same piece would be consistent with in every other region.

    Sorted by region, best first. Types are listed only if they rest on something seen of the haft.
    """
    aside = set_aside(rules, known, measured)
    judged = {kind.id: judge(rules, kind, known, readings, aside) for kind in rules.types.values()}
    found = [
        Elsewhere(other, judged[kind.id])
        for other in rules.regions
        if other != region
        for kind in rules.in_region(other)
        if judged[kind.id].standing is Standing.CONSISTENT
        and _rests_on_haft(rules, judged[kind.id])
    ]
    found.sort(key=lambda e: (e.region, e.judgement.rank, e.judgement.type))
    return tuple(found)
