"""Facts about what the observations amount to: disagreements, call, age, elsewhere, cautions.

As in `keygen.prose.form`, a fact names the observations, types and sources it rests on.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from math import floor
from typing import Literal, NamedTuple

from keygen.core.examine import Examination
from keygen.core.model import MeasureRange, Rules
from keygen.core.nextlook import NextLook
from keygen.core.rework import rework_signs
from keygen.prose import words
from keygen.prose.ages import grounds
from keygen.prose.calling import CALL, FEW
from keygen.prose.elsewhere import ELSEWHERE
from keygen.prose.facts import Fact, Own, Page, Slot, Values
from keygen.prose.grammar import listed, plain
from keygen.prose.naming import resolve
from keygen.prose.regional import AGE, CAUTIONS
from keygen.prose.seen import Seen, name_of, stated

# Of the types left at most so many may stay for a look to be proposed: of a few, and of many.
WORTH_A_LOOK, WORTH_AMONG_MANY = 0.7, 0.8
NOT_LESS = 1e-9  # by so little a look is no better than another

Agreement = Literal["", "yes", "open", "no"]


class Against(NamedTuple):
    """A state that measurements do not bear out, by attribute index, and what was measured."""

    attribute: int
    seen: int
    measured: int
    terms: tuple[str, ...]


def _contradicted(page: Page) -> tuple[Against, ...] | None:
    return (
        tuple(
            Against(d.attribute, d.seen, d.measured, d.derivation.terms)
            for d in page.examination.disagreements
        )
        or None
    )


def _disagreements(rules: Rules, found: tuple[Against, ...]) -> Iterator[Fact]:
    for against in found:
        yield _disagreement(rules, against)


def _disagreement(rules: Rules, against: Against) -> Fact:
    attribute = rules.attributes[against.attribute]
    subject = words.SUBJECTS.get(attribute.id, plain(attribute.label))
    values = {
        "subject": subject,
        "plural": subject in words.PLURAL_SUBJECTS,
        "seen": stated(attribute, against.seen),
        "measured": stated(attribute, against.measured),
    }

    def fill(own: Own) -> Values:
        taken = [name for name in against.terms if name in own.piece.readings]
        return {"figures": listed(f"{m['name']} {m['value']}" for m in own.measures(taken))}

    return Fact("disagreement", values, (attribute.id,), against.terms, fill=fill)


def _without_region(page: Page) -> tuple[()] | None:
    return () if page.examination.call is None else None


def _no_region(_rules: Rules, _nothing: tuple[()]) -> Iterator[Fact]:
    yield Fact("no_region", {})


class Unusual(NamedTuple):
    """What a piece shows that is unusual for the one type called, and figures out of its range."""

    type: str
    traits: tuple[Seen, ...]
    outside: tuple[MeasureRange, ...]


def _departs(page: Page) -> Unusual | None:
    call = page.examination.call
    if call is None or len(call.types) != 1:
        return None
    best = call.candidates[0]
    against = best.usual_against
    if not against and not best.measures_out:
        return None
    seen = (page.seen(c.attribute) for c in against)
    traits = (s for s in seen if s.how != "implied" and s.attribute and not s.attribute.item_of)
    return Unusual(best.type, tuple(traits), best.measures_out)


def _support(rules: Rules, found: Unusual) -> Iterator[Fact]:
    """Return what is unusual for the type: traits, and figures outside its range."""
    if not found.traits and not found.outside:
        return
    groups: dict[str, list[MeasureRange]] = {}
    for m in found.outside:
        groups.setdefault(grounds(rules, m.sources, m.basis, 2), []).append(m)

    def fill(own: Own) -> Values:
        return {
            "outside": [
                {
                    "grounds": why,
                    "figures": [
                        {**figure, "range": f"{m.low:g}-{m.high:g} {_unit(rules, m)}"}
                        for m, figure in zip(
                            ranges, own.measures(m.measurement for m in ranges), strict=True
                        )
                    ],
                }
                for why, ranges in groups.items()
            ]
        }

    values = {
        "name": rules.types[found.type].name,
        "traits": [
            {"name": name_of(s.attribute), "is": s.alone}
            for s in found.traits
            if s.attribute is not None
        ],
        "outside": [],
    }
    yield Fact(
        "support",
        values,
        tuple(s.id for s in found.traits),
        tuple(m.measurement for m in found.outside),
        types=(found.type,),
        sources=tuple(dict.fromkeys(k for m in found.outside for k in m.sources)),
        fill=fill if found.outside else None,
    )


def _unit(rules: Rules, found: MeasureRange) -> str:
    return rules.measurements[found.measurement].unit


def _not_weighed(page: Page) -> tuple[bool] | None:
    """Tell whether the blade was not weighed because of rework, where a criterion was set aside."""
    call, seen = page.examination.call, page.examination.observations
    made_over = any(not seen[i].mask & spared for i, spared in rework_signs(page.rules))
    if call is None or not made_over or not call.types:
        return None
    if not any(j.set_aside for j in call.candidates):
        return None
    rework = page["reworked_as"]
    return (bool(rework.ids) and not rework.none,)


def _aside(_rules: Rules, found: tuple[bool]) -> Iterator[Fact]:
    (reworked,) = found
    about = ("reworked_as",) if reworked else ("resharpening",)
    yield Fact("aside", {"reworked": reworked}, about)


class Further(NamedTuple):
    """Further looks: how many types are left now, on average after the best one, and at worst.

    Attributes:
        attribute: what it looks at, by index; None if no look is worth naming.
        types: the first of the types left now.
        lost: what would part them better, if this piece still showed it.
        gone: that did not survive; otherwise it could not be seen.
    """

    attribute: int | None
    types: tuple[str, ...]
    left: int
    leaves: int
    at_worst: int
    lost: int | None
    gone: bool


def _worth_a_look(page: Page) -> Further | None:
    """Return the further look that would narrow the types most, where it would do so clearly."""
    examination = page.examination
    call = examination.call
    if call is None or len(call.types) < 2:
        return None
    count = len(call.types)
    found, lost = examination.next_look, examination.lost_look
    if found and lost and lost.leaves > found.leaves - NOT_LESS:
        lost = None
    if found and (page.seen(found.attribute).how == "missing" or not _clear(found, count)):
        found = None
    if lost and not _clear(lost, count):
        lost = None
    if not found and not lost:
        return None
    return Further(
        attribute=found.attribute if found else None,
        types=call.types[:4],
        left=count,
        leaves=_rounded(found) if found else 0,
        at_worst=found.at_worst if found else 0,
        lost=lost.attribute if lost else None,
        gone=lost is not None and page.rules.attributes[lost.attribute].part in examination.gone,
    )


def _rounded(look: NextLook) -> int:
    return max(1, floor(look.leaves + 0.5))


def _clear(look: NextLook, count: int) -> bool:
    """Tell whether a look would narrow the types clearly."""
    if count > FEW:
        return look.leaves <= WORTH_AMONG_MANY * count
    return _rounded(look) <= WORTH_A_LOOK * count


def _next_look(rules: Rules, found: Further) -> Iterator[Fact]:
    looks = [rules.attributes[i] for i in (found.attribute, found.lost) if i is not None]
    questions = [words.QUESTIONS.get(a.id, name_of(a)) for a in looks]
    values = {
        "question": questions[0] if found.attribute is not None else "",
        "count": found.left,
        "leaves": found.leaves,
        "at_worst": found.at_worst,
        "lost": questions[-1] if found.lost is not None else "",
        "gone": found.gone,
    }
    yield Fact("next_look", values, tuple(a.id for a in looks), types=found.types)


def agreement(rules: Rules, examination: Examination) -> Agreement:
    """Tell whether the analyst's own call is the key's.

    Returns:
        `yes` if it is the one type assigned, `open` if it is among the types still possible, `no`
        if it is not; nothing where one of the two made no call.
    """
    own, call = examination.piece.analyst, examination.call
    if own is None or call is None:
        return ""
    kind = resolve(rules, own.call)
    if call.status == "assigned" and call.types == (kind,):
        return "yes"
    return "open" if any(j.type == kind for j in call.candidates) else "no"


def agrees(rules: Rules, examination: Examination) -> bool:
    """Tell whether the analyst's own call is the one type that the key calls."""
    return agreement(rules, examination) == "yes"


def _own_call(page: Page) -> tuple[str, Agreement] | None:
    own = page.examination.piece.analyst
    if own is None:
        return None
    return resolve(page.rules, own.call), agreement(page.rules, page.examination)


def _analyst(rules: Rules, found: tuple[str, Agreement]) -> Iterator[Fact]:
    kind, how = found

    def fill(of: Own) -> Values:
        own = of.piece.analyst
        if own is None:
            return {}
        name = rules.types[kind].name if kind else own.call
        reason = own.reason.strip().rstrip(".")
        return {"name": name, "reason": reason, "by": own.by, "date": own.date}

    values = {"agrees": how == "yes", "open": how == "open", "differs": how == "no"}
    yield Fact("analyst", values, types=(kind,) if kind else (), fill=fill)


VERDICT: Mapping[str, Slot] = {
    "disagreement": Slot(_contradicted, _disagreements),
    "call": CALL,
    "no_region": Slot(_without_region, _no_region),
    "support": Slot(_departs, _support),
    "aside": Slot(_not_weighed, _aside),
    "next_look": Slot(_worth_a_look, _next_look, again=False),
    "analyst": Slot(_own_call, _analyst),
    "age": AGE,
    "elsewhere": ELSEWHERE,
    "cautions": CAUTIONS,
}
