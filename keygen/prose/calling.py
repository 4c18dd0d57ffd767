"""Facts about the call: what it is, what it rests on, what is open, and what comes nearest."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import partial
from itertools import chain
from typing import NamedTuple

from keygen.core.call import Call, Judgement
from keygen.core.examine import Examination
from keygen.core.inverted import inverted, members
from keygen.core.memo import Memo
from keygen.core.model import Criterion, Rules
from keygen.core.ready import left_out
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
    status, candidates = call.status, call.candidates
    evidence, style = _evidence(page, candidates) if candidates else ((), NOTHING)
    measured: tuple[tuple[int, Fit], ...] = ()
    clean = True
    if status == "assigned":
        best = candidates[0]
        measured = _measured(best, examination) if examination.disagreements else ()
        doubted = [i for i, fit in measured if fit is not Fit.MET]
        clean = not (doubted or best.measures_out or best.usual_against)
    return Called(
        call.region,
        status,
        call.reason,
        call.types,
        _leading(call) if len(call.types) > FEW else 0,
        evidence,
        style,
        _open(rules, examination, candidates[0]) if status == "cf." else (),
        nearest(rules, examination, call) if call.reason == "none_fits" else (),
        "haft" in examination.gone,
        clean,
        measured,
    )


def haft(rules: Rules) -> frozenset[int]:
    """Return the attributes that belong to the haft."""
    return frozenset(i for i, a in enumerate(rules.attributes) if a.stability == "haft")


def haft_flags(rules: Rules) -> int:
    """Return the flags of the attributes that belong to the haft."""
    return inverted(rules).flags_of(haft(rules))


class _Telling:
    """What is to be known of the attributes of the haft to find evidence; all by their index.

    Attributes:
        flags: the flags of all.
        flagged: the attributes that some flags are of, in order.
        bits: how much of what could be a criterion leaves out.
        style: the style of the haft.
        say_it: those that say the style as well.
        beside_it: those worded with its help.
    """

    def __init__(self, rules: Rules) -> None:
        owners, index = inverted(rules).owners, rules.index
        self.flags = rules.once(haft_flags)
        self.flagged: Memo[int, list[int]] = Memo(lambda flags: [owners[f] for f in members(flags)])
        self.bits: Memo[Criterion, float] = Memo(partial(left_out, rules))
        self.style = index.get("haft_style")
        self.say_it = frozenset(index[name] for name in SAYS_THE_STYLE if name in index)
        self.beside_it = frozenset(index[name] for name in WITH_THE_STYLE if name in index)


def _evidence(page: Page, candidates: Sequence[Judgement]) -> tuple[tuple[Seen, ...], Seen]:
    """Return the haft observations that meet the definition of every candidate, the telling few.

    With them stands the style of the haft where one of them is worded with its help.
    """
    telling, voices = page.rules.once(_Telling), page.voices
    flags = telling.flags
    for judgement in candidates:
        flags &= judgement.shared
    shared = [i for i in telling.flagged[flags] if voices[i].spoken]
    if len(candidates) == 1:  # what is unusual for the type is told as such, not as evidence for it
        unusual = {c.attribute for c in candidates[0].usual_against}
        shared = [i for i in shared if i not in unusual]
    if len(shared) > MOST_EVIDENCE:
        met = [c for c in candidates[0].met if c.attribute in shared]
        met.sort(key=lambda c: -telling.bits[c])
        shared = sorted([c.attribute for c in met[:MOST_EVIDENCE]])
    if telling.style in shared and not telling.say_it.isdisjoint(shared):
        shared.remove(telling.style)
    style = NOTHING if telling.beside_it.isdisjoint(shared) else page["haft_style"]
    return tuple([voices[i] for i in shared]), style


def _leading(call: Call) -> int:
    """Return how many of the first types agree better than all others, if few of them do."""
    ranks = [judgement.rank[:2] for judgement in call.candidates[: FOREMOST + 1]]
    for number in range(FOREMOST, 0, -1):
        if ranks[number - 1] < ranks[number]:
            return number
    return 0


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


def _open(rules: Rules, examination: Examination, candidate: Judgement) -> tuple[Open, ...]:
    """Return the criteria that keep the one candidate open."""
    found = []
    for criterion in candidate.open:
        observation = examination.observations[criterion.attribute]
        partial = observation.mask != rules.full[criterion.attribute]
        partial = partial and observation.how in ("unsure", "measured")
        found.append(Open(criterion.attribute, observation.mask if partial else observation.how))
    return tuple(found)


class _Phrases:
    """What sentences of calls are put together from, each kept by what it depends on.

    Attributes:
        regions: by region, its name after "known", and what each type is called there.
        sources: what the definition of a type rests on.
        tell: what parts two types; with whether they are the only ones.
        evidence: observations in few words, with the style of the haft; and what they are about.
        open: what is open, in words; and what that is about.
        near: a near miss in words; and what it is about.
    """

    def __init__(self, rules: Rules) -> None:
        self._rules = rules
        self.regions = Memo(self._region)
        self.sources = {name: kind.sources for name, kind in rules.types.items()}
        self.tell = Memo(self._tell)
        self.evidence = Memo(self._evidence)
        self.open = Memo(self._open)
        self.near = Memo(self._near)

    def _region(self, region: str) -> tuple[str, Memo[str, str]]:
        known, place = places(self._rules), self._rules.regions[region].place
        return place, Memo(lambda name: known[name, region].called)

    def _tell(self, of: tuple[str, str, bool]) -> str:
        one, other, alone = of
        return tell(self._rules, self._rules.types[one], self._rules.types[other], alone)

    def _evidence(self, of: tuple[tuple[Seen, ...], Seen]) -> tuple[list[str], tuple[str, ...]]:
        several, style = of
        return briefs(several, style), tuple([seen.id for seen in several])

    def _open(self, of: tuple[Open, ...]) -> tuple[list[dict[str, str]], tuple[str, ...]]:
        about = tuple([self._rules.attributes[open_.attribute].id for open_ in of])
        return _open_words(self._rules, of), about

    def _near(self, of: Contrast) -> tuple[dict[str, str], str]:
        return contrast(self._rules, of), self._rules.attributes[of.attribute].id


def _call(rules: Rules, found: Called) -> Iterator[Fact]:
    phrases, types, leading = rules.once(_Phrases), found.types, found.leading
    place, known_as = phrases.regions[found.region]
    names = [known_as[name] for name in types]
    evidence, about = phrases.evidence[found.evidence, found.style]
    open_, about_open = phrases.open[found.open]
    near = [phrases.near[miss] for miss in found.near]
    parted, measured = 2 <= len(types) <= FEW, found.measured
    values: dict[str, object] = {
        "status": found.status,
        "reason": found.reason,
        "place": place,
        "names": names,
        "foremost": names[: leading or FOREMOST],
        "leading": leading > 0,
        "name": rules.types[types[0]].name if types else "",
        "evidence": evidence,
        "open": open_,
        "tell": phrases.tell[types[0], types[1], len(types) == 2] if parted else "",
        "near": [told for told, _ in near],
        "haft_gone": found.haft_gone,
        "clean": found.clean,
        "against": [name_of(rules.attributes[i]) for i, fit in measured if fit is Fit.AGAINST],
        "doubtful": [name_of(rules.attributes[i]) for i, fit in measured if fit is Fit.OPEN],
    }
    about += about_open
    if near:
        about += tuple(dict.fromkeys([attribute for _, attribute in near]))
    named = types[:4] or tuple([miss.type for miss in found.near])
    sources = dict.fromkeys(chain.from_iterable([phrases.sources[name] for name in named]))
    yield Fact("call", values, about, types=named, sources=tuple(sources))


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


CALL = Slot(_called, _call, again=False)
