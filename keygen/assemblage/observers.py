"""Several observers' descriptions of the same specimens, held against each other.

What was recorded is compared, not what follows from it: a set of states is a category of its own
(*straight or contracting*), and what was not recorded, or could not be seen, is missing. A further
figure tells how often two sets have a state in common, since a doubt is no contradiction.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

from keygen.assemblage.agreement import Estimate, alpha, estimate, kappa, percent
from keygen.assemblage.ratings import Codes, Ratings, confusion, parted, ratings
from keygen.core.call import Call
from keygen.core.examine import Examination, Piece, examine
from keygen.core.infer import Contradiction
from keygen.core.model import Rules
from keygen.core.observe import Observation
from keygen.prose.grammar import plain

Described = Mapping[str, Examination]  # one observer's specimens, by number
OR = " or "


@dataclass(frozen=True)
class Compared:
    """How far observers agree on one attribute, or on the call.

    Attributes:
        subject: the attribute's index; -1 for the call.
        compatible: share (0 to 100) of pairs whose sets have a state (or type) in common.
        ordinal: alpha with the states as grades; None where the attribute has no grades.
        confusion: for each pair of observers, by their numbers, how often which met which.
    """

    subject: int
    ratings: Ratings
    percent: Estimate
    compatible: float | None
    kappa: Estimate
    alpha: Estimate
    ordinal: Estimate | None
    confusion: Mapping[tuple[int, int], Codes]


@dataclass(frozen=True)
class Parting:
    """A specimen on which two observers' calls differ, and which attributes make the difference.

    `decisive` are attributes (by index) that, taken over alone from the other observer, would give
    the first the second's call, each with the numbers of the couplets at which the two part.
    """

    specimen: str
    observers: tuple[str, str]
    calls: tuple[str, str]
    differ: tuple[int, ...]
    decisive: tuple[tuple[int, tuple[int, ...]], ...]


def call_said(rules: Rules, call: Call | None) -> str:
    """Return a call as one category: the type, `cf.` a type, several types, or untyped."""
    if call is None:
        return ""
    names = sorted(rules.types[name].name for name in call.types)
    if call.status == "assigned":
        return names[0]
    return {"cf.": f"cf. {OR.join(names)}", "either": OR.join(names)}.get(call.status, "untyped")


def recorded(rules: Rules, piece: Piece, attribute: int) -> Observation | None:
    """Return what somebody recorded of an attribute, unless it could not be seen or decided."""
    found = piece.observations.get(attribute)
    return found if found and found.mask != rules.attributes[attribute].full else None


def compare_attribute(
    rules: Rules,
    attribute: int,
    described: Sequence[Described],
    observers: Sequence[str],
    grades: Sequence[str] = (),
    resamples: int = 1000,
) -> Compared:
    """Compare what observers recorded of one attribute.

    Args:
        rules: the rules.
        attribute: its index.
        described: for each observer, the specimens by number.
        observers: their names.
        grades: the terms of its states in the order of a grade, if it is one.
        resamples: how often specimens are drawn anew for the intervals.
    """
    masks = [
        {
            unit: found.mask
            for unit, e in one.items()
            if (found := recorded(rules, e.piece, attribute))
        }
        for one in described
    ]
    of = rules.attributes[attribute]
    words = [
        {unit: OR.join(plain(s.term) for s in of.within(m)) for unit, m in one.items()}
        for one in masks
    ]
    graded = [{u: w for u, w in one.items() if w in grades} for one in words]
    return _compared(attribute, words, observers, masks, graded, grades, resamples)


def compare_calls(
    rules: Rules, described: Sequence[Described], observers: Sequence[str], resamples: int = 1000
) -> Compared:
    """Compare the calls that the key makes of what observers recorded."""
    words = [
        {unit: call_said(rules, e.call) for unit, e in one.items() if e.call is not None}
        for one in described
    ]
    place = {name: 1 << i for i, name in enumerate(rules.types)}
    masks = [
        {unit: sum(place[t] for t in e.call.types) for unit, e in one.items() if e.call is not None}
        for one in described
    ]
    return _compared(-1, words, observers, masks, [], (), resamples)


def _compared(
    subject: int,
    words: Sequence[Mapping[str, str]],
    observers: Sequence[str],
    masks: Sequence[Mapping[str, int]],
    graded: Sequence[Mapping[str, str]],
    grades: Sequence[str],
    resamples: int,
) -> Compared:
    given = ratings(words, observers)
    ordinal = None
    if grades:
        ordinal = estimate(
            ratings(graded, observers, grades), lambda codes: alpha(codes, "ordinal"), resamples
        )
    return Compared(
        subject=subject,
        ratings=given,
        percent=estimate(given, percent, resamples),
        compatible=_compatible(masks),
        kappa=estimate(given, kappa, resamples),
        alpha=estimate(given, alpha, resamples),
        ordinal=ordinal,
        confusion={
            (a, b): confusion(given, a, b) for a, b in combinations(range(len(observers)), 2)
        },
    )


def _compatible(masks: Sequence[Mapping[str, int]]) -> float | None:
    """Return in how many of 100 pairs the sets meet, or are equal: both untyped agree as well."""
    pairs = [
        bool(one[unit] & other[unit]) or one[unit] == other[unit]
        for one, other in combinations(masks, 2)
        for unit in one.keys() & other.keys()
    ]
    return 100 * sum(pairs) / len(pairs) if pairs else None


def most_parted(compared: Sequence[Compared]) -> list[tuple[str, int]]:
    """Return specimens with how many pairs of records differ, over all attributes, most first."""
    count: dict[str, int] = {}
    for one in compared:
        if one.subject >= 0:
            for unit, pairs in parted(one.ratings).items():
                count[unit] = count.get(unit, 0) + pairs
    return sorted(count.items(), key=lambda entry: (-entry[1], entry[0]))


def parting_couplets(rules: Rules, attribute: int, one: int, other: int) -> tuple[int, ...]:
    """Return the numbers of the couplets at which two sets of states of an attribute part.

    One answer is taken for granted by the first set alone, the other by the second alone.
    """
    found = []
    for couplet in rules.couplets.values():
        if attribute in couplet.decides:
            left, right = (
                tuple(
                    any(mask & limits.get(attribute, mask) for limits in lead.leaves)
                    for lead in couplet.leads
                )
                for mask in (one, other)
            )
            if left != right:
                found.append(couplet.number)
    return tuple(sorted(found))


def partings(
    rules: Rules, described: Sequence[Described], observers: Sequence[str]
) -> tuple[Parting, ...]:
    """Return the specimens on which two observers' calls differ, and what makes the difference.

    Only specimens described for the same region are compared.
    """
    found = []
    for a, b in combinations(range(len(observers)), 2):
        for unit in sorted(described[a].keys() & described[b].keys()):
            one, other = described[a][unit], described[b][unit]
            calls = call_said(rules, one.call), call_said(rules, other.call)
            if calls[0] == calls[1] or one.region != other.region:
                continue
            differ = _differ(one.piece, other.piece)
            decisive = tuple(
                (i, parting_couplets(rules, i, _mask(rules, one, i), _mask(rules, other, i)))
                for i in differ
                if _taken_over(rules, one, other, i) == calls[1]
            )
            found.append(Parting(unit, (observers[a], observers[b]), calls, differ, decisive))
    return tuple(found)


def _differ(one: Piece, other: Piece) -> tuple[int, ...]:
    """Return the attributes of which two records do not say the same."""
    both = one.observations.keys() | other.observations.keys()
    return tuple(
        i
        for i in sorted(both)
        if (a := one.observations.get(i)) is None
        or (b := other.observations.get(i)) is None
        or a.mask != b.mask
    )


def _mask(rules: Rules, of: Examination, attribute: int) -> int:
    found = of.piece.observations.get(attribute)
    return found.mask if found else rules.attributes[attribute].full


def _taken_over(rules: Rules, one: Examination, other: Examination, attribute: int) -> str:
    """Return the call of a piece with one attribute as the other observer recorded it."""
    kept = {i: o for i, o in one.piece.observations.items() if i != attribute}
    if attribute in other.piece.observations:
        kept[attribute] = other.piece.observations[attribute]
    try:
        changed = examine(rules, replace(one.piece, observations=kept), one.region)
    except Contradiction:
        return ""
    return call_said(rules, changed.call)
