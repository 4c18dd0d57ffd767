"""Facts about the call: what it is, what it rests on, what is open, and what comes nearest."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import reduce
from math import log2
from operator import and_
from typing import NamedTuple

from keygen.core.call import Call, Judgement
from keygen.core.examine import Examination
from keygen.core.inverted import inverted, members
from keygen.core.model import Criterion, Rules
from keygen.core.states import Fit, compare
from keygen.prose.facts import Fact, Page, Slot
from keygen.prose.grammar import listed
from keygen.prose.naming import tell
from keygen.prose.near import Contrast, contrast, nearest
from keygen.prose.placed import places
from keygen.prose.seen import NOTHING, Seen, briefs, name_of, stated

MOST_EVIDENCE = 6
FEW = 4  # so many types are named one by one
FOREMOST = 3  # of more types so many are named
WITH_THE_STYLE = frozenset({"notch_position", "base_width_class"})
SAYS_THE_STYLE = frozenset({"notch_position", "stem_shape", "stem_length"})


class Open(NamedTuple):
    """A criterion that keeps the one candidate open, by attribute index, and why it does.

    `why` is a set of states that was seen (a mask), or how the observation came about.
    """

    attribute: int
    why: int | str


class Called(NamedTuple):
    """A call with all that its sentence says.

    Attributes:
        leading: how many of the first types agree better than the others.
        evidence: the observations of the haft that meet every candidate's definition, if telling.
        measured: how a measurement that the eye does not bear out fits the type, by attribute.
        clean: nothing speaks against the one type.
    """

    region: str
    status: str
    reason: str
    types: tuple[str, ...]
    leading: int
    evidence: tuple[Seen, ...]
    style: Seen
    open: tuple[Open, ...]
    near: tuple[Contrast, ...]
    haft_gone: bool
    clean: bool
    measured: tuple[tuple[int, Fit], ...]


def _called(page: Page) -> Called | None:
    examination, rules = page.examination, page.rules
    call = examination.call
    if call is None:
        return None
    assigned = call.status == "assigned"
    best = call.candidates[0] if assigned else None
    measured = _measured(best, examination) if best and examination.disagreements else ()
    evidence = _evidence(page, call.candidates) if call.candidates else ()
    told = {s.id for s in evidence}
    return Called(
        region=call.region,
        status=call.status,
        reason=call.reason,
        types=call.types,
        leading=_leading(call),
        evidence=evidence,
        style=page["haft_style"] if told & WITH_THE_STYLE else NOTHING,
        open=_open(rules, examination, call) if call.status == "cf." else (),
        near=nearest(rules, examination, call) if call.reason == "none_fits" else (),
        haft_gone="haft" in examination.gone,
        clean=all(fit is Fit.MET for _, fit in measured)
        and not (best and (best.usual_against or best.measures_out)),
        measured=measured,
    )


def telling(rules: Rules, criterion: Criterion) -> float:
    """Return how much of what could be a criterion leaves out, in bits."""
    full = rules.attributes[criterion.attribute].full
    return log2(full.bit_count() / criterion.allowed.bit_count())


def haft(rules: Rules) -> frozenset[int]:
    """Return the attributes that belong to the haft."""
    return frozenset(i for i, a in enumerate(rules.attributes) if a.stability == "haft")


def haft_flags(rules: Rules) -> int:
    """Return the flags of the attributes that belong to the haft."""
    return inverted(rules).flags_of(haft(rules))


def _evidence(page: Page, candidates: Sequence[Judgement]) -> tuple[Seen, ...]:
    """Return the haft observations that meet the definition of every candidate, the telling few."""
    rules, first = page.rules, candidates[0]
    flags = reduce(and_, [judgement.shared for judgement in candidates], rules.once(haft_flags))
    if not flags:
        return ()
    owners = inverted(rules).owners
    shared = [i for flag in members(flags) if page.voices[i := owners[flag]].spoken]
    if len(candidates) == 1:  # what is unusual for the type is told as such, not as evidence for it
        unusual = {c.attribute for c in first.usual_against}
        shared = [i for i in shared if i not in unusual]
    if len(shared) > MOST_EVIDENCE:
        met = [c for c in first.met if c.attribute in shared]
        met.sort(key=lambda c: -telling(rules, c))
        shared = sorted([c.attribute for c in met[:MOST_EVIDENCE]])
    named = [page.voices[i] for i in shared]
    if any(s.id in SAYS_THE_STYLE for s in named):
        named = [s for s in named if s.id != "haft_style"]
    return tuple(named)


def _leading(call: Call) -> int:
    """Return how many of the first types agree better than all others, if few do of many."""
    if len(call.types) <= FEW:
        return 0
    ranks = [judgement.rank[:2] for judgement in call.candidates[: FOREMOST + 1]]
    return next((n for n in range(FOREMOST, 0, -1) if ranks[n - 1] < ranks[n]), 0)


def _measured(judgement: Judgement, examination: Examination) -> tuple[tuple[int, Fit], ...]:
    """Return how a measurement that the eye does not bear out fits what the type is or has."""
    weighed = (
        *judgement.met,
        *judgement.open,
        *judgement.usual_met,
        *judgement.usual_against,
    )
    found = {
        found.attribute: compare(found.measured, criterion.allowed)
        for found in examination.disagreements
        for criterion in weighed
        if criterion.attribute == found.attribute
    }
    return tuple(found.items())


def _open(rules: Rules, examination: Examination, call: Call) -> tuple[Open, ...]:
    """Return the criteria that keep the one candidate open."""
    found = []
    for criterion in call.candidates[0].open:
        observation = examination.observations[criterion.attribute]
        partial = observation.mask != rules.full[criterion.attribute]
        partial = partial and observation.how in ("unsure", "measured")
        found.append(Open(criterion.attribute, observation.mask if partial else observation.how))
    return tuple(found)


def _call(rules: Rules, found: Called) -> Iterator[Fact]:
    known, region = places(rules), found.region
    names = [known[name, region].called for name in found.types]
    few = len(names) <= FEW
    kinds = [rules.types[name] for name in found.types[:FEW]] if few else []
    values: dict[str, object] = {
        "status": found.status,
        "reason": found.reason,
        "place": rules.regions[found.region].place,
        "names": names,
        "foremost": names[: found.leading or FOREMOST],
        "leading": bool(found.leading),
        "name": rules.types[found.types[0]].name if found.types else "",
        "evidence": briefs(found.evidence, found.style),
        "open": _open_words(rules, found.open),
        "tell": tell(rules, kinds),
        "near": [contrast(rules, near) for near in found.near],
        "haft_gone": found.haft_gone,
        "clean": found.clean,
        "against": _names(rules, found, Fit.AGAINST),
        "doubtful": _names(rules, found, Fit.OPEN),
    }
    about = [
        *[s.id for s in found.evidence],
        *[rules.attributes[o.attribute].id for o in found.open],
        *dict.fromkeys([rules.attributes[near.attribute].id for near in found.near]),
    ]
    named = found.types[:4] or tuple([near.type for near in found.near])
    sources = tuple(dict.fromkeys([s for name in named for s in rules.types[name].sources]))
    yield Fact("call", values, tuple(about), types=named, sources=sources)


def _open_words(rules: Rules, open_: Sequence[Open]) -> list[dict[str, str]]:
    """Name what is open, what is so for one reason together."""
    found: dict[str, list[str]] = {}
    for i, why in open_:
        attribute = rules.attributes[i]
        if isinstance(why, int):
            reason = stated(attribute, why)
        else:
            reason = {"missing": "not observable", "unsure": "undecided"}.get(why, "not observed")
        found.setdefault(reason, []).append(name_of(attribute))
    return [{"name": listed(names), "why": why} for why, names in found.items()]


def _names(rules: Rules, found: Called, fit: Fit) -> list[str]:
    return [name_of(rules.attributes[i]) for i, how in found.measured if how is fit]


CALL = Slot(_called, _call)
