"""Facts about what the observations amount to: disagreements, call, age, elsewhere, cautions.

As in `keygen.prose.form`, a fact names the observations, types and sources it rests on.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from math import floor, log2

from keygen.core.call import Call, Judgement
from keygen.core.examine import Examination
from keygen.core.model import Criterion, Rules
from keygen.core.states import Fit, compare
from keygen.prose import words
from keygen.prose.ages import grounds
from keygen.prose.elsewhere import elsewhere
from keygen.prose.facts import Fact
from keygen.prose.grammar import listed, plain
from keygen.prose.naming import called, resolve, tell
from keygen.prose.near import contrast, nearest
from keygen.prose.regional import ages, short_cautions
from keygen.prose.seen import (
    NOTHING,
    Seen,
    briefs,
    name_of,
    reading,
    readings,
    stated,
)

MOST_EVIDENCE = 6
FEW = 4  # so many types are named one by one
# Of the types left at most so many may stay for a look to be proposed: of a few, and of many.
WORTH_A_LOOK, WORTH_AMONG_MANY = 0.7, 0.8


def verdict(rules: Rules, examination: Examination, seen: Mapping[str, Seen]) -> list[Fact]:
    """Return the facts that follow on the description, in order."""
    facts = _disagreements(rules, examination)
    if examination.call is not None:
        facts += _call(rules, examination, examination.call, seen)
    else:
        facts.append(Fact("no_region", {}))
    facts += _analyst(rules, examination)
    if examination.call is not None:
        facts += ages(rules, examination.call)
    facts += elsewhere(rules, examination, seen)
    facts += short_cautions(rules, examination, seen)
    return facts


def _disagreements(rules: Rules, examination: Examination) -> list[Fact]:
    facts = []
    for found in examination.disagreements:
        attribute = rules.attributes[found.attribute]
        subject = words.SUBJECTS.get(attribute.id, plain(attribute.label))
        values = {
            "figures": readings(rules, examination, found.derivation.terms),
            "subject": subject,
            "plural": subject in words.PLURAL_SUBJECTS,
            "seen": stated(attribute, found.seen),
            "measured": stated(attribute, found.measured),
        }
        terms = found.derivation.terms
        facts.append(Fact("disagreement", values, (attribute.id,), terms))
    return facts


def telling(rules: Rules, criterion: Criterion) -> float:
    """Return how much of what could be a criterion leaves out, in bits."""
    full = rules.attributes[criterion.attribute].full
    return log2(full.bit_count() / criterion.allowed.bit_count())


def _evidence(
    rules: Rules, candidates: Sequence[Judgement], seen: Mapping[str, Seen]
) -> list[Seen]:
    """Return the haft observations that meet the definition of every candidate, the telling few."""
    if not candidates:
        return []
    shared = set.intersection(*({c.attribute for c in j.met} for j in candidates))
    if len(candidates) == 1:  # what is unusual for the type is told as such, not as evidence for it
        shared -= {c.attribute for c in candidates[0].usual_against}
    met = [
        c
        for c in candidates[0].met
        if c.attribute in shared
        and rules.attributes[c.attribute].stability == "haft"
        and _seen(rules, seen, c)
    ]
    met.sort(key=lambda c: -telling(rules, c))
    named = [
        seen[rules.attributes[i].id] for i in sorted({c.attribute for c in met[:MOST_EVIDENCE]})
    ]
    told = {s.id for s in named}
    if told & {"notch_position", "stem_shape", "stem_length"}:  # these say the style of the haft
        named = [s for s in named if s.id != "haft_style"]
    return named


def _seen(rules: Rules, seen: Mapping[str, Seen], criterion: Criterion) -> Seen:
    return seen[rules.attributes[criterion.attribute].id]


def _criteria(rules: Rules, criteria: Iterable[Criterion]) -> tuple[str, ...]:
    return tuple(rules.attributes[c.attribute].id for c in criteria)


def _call(
    rules: Rules, examination: Examination, call: Call, seen: Mapping[str, Seen]
) -> list[Fact]:
    kinds = [rules.types[name] for name in call.types]
    evidence = _evidence(rules, call.candidates, seen)
    open_, about = _open(rules, examination, call)
    near = nearest(rules, examination, call)
    best = call.candidates[:1] if call.status == "assigned" else ()
    fits = [(i, fit) for j in best for i, fit in _measured(j, examination).items()]
    values: dict[str, object] = {
        "status": call.status,
        "reason": call.reason,
        "place": rules.regions[call.region].place,
        "names": [called(rules, kind, call.region) for kind in kinds],
        "name": kinds[0].name if kinds else "",
        "evidence": briefs(evidence, seen.get("haft_style", NOTHING)),
        "open": open_,
        "tell": tell(rules, kinds) if len(kinds) <= FEW else "",
        "near": [contrast(rules, j) for j in near],
        "haft_gone": "haft" in examination.gone,
        "clean": all(fit is Fit.MET for _, fit in fits)
        and not any(j.usual_against or j.measures_out for j in best),
        "against": [name_of(rules.attributes[i]) for i, fit in fits if fit is Fit.AGAINST],
        "doubtful": [name_of(rules.attributes[i]) for i, fit in fits if fit is Fit.OPEN],
    }
    rests = tuple(s.id for s in evidence) + about
    if call.reason == "none_fits":
        rests += tuple(dict.fromkeys(i for j in near for i in _criteria(rules, j.against)))
    named = call.types[:4] if kinds else tuple(j.type for j in near)
    sources = tuple(dict.fromkeys(s for name in named for s in rules.types[name].sources))
    facts = [Fact("call", values, rests, types=named, sources=sources)]
    if len(kinds) == 1:
        facts += _support(rules, examination, call.candidates[0], seen)
    if kinds:
        facts += _aside(call, seen)
        facts += _next_look(rules, examination, call)
    return facts


def _measured(judgement: Judgement, examination: Examination) -> dict[int, Fit]:
    """Return how a measurement that the eye does not bear out fits what the type is or has."""
    weighed = (
        *judgement.met,
        *judgement.open,
        *judgement.usual_met,
        *judgement.usual_against,
    )
    return {
        found.attribute: compare(found.measured, criterion.allowed)
        for found in examination.disagreements
        for criterion in weighed
        if criterion.attribute == found.attribute
    }


def _open(
    rules: Rules, examination: Examination, call: Call
) -> tuple[list[dict[str, str]], tuple[str, ...]]:
    """Return the criteria that keep the one candidate open, those with one reason together."""
    if call.status != "cf.":
        return [], ()
    found: dict[str, list[str]] = {}
    about = []
    for criterion in call.candidates[0].open:
        attribute = rules.attributes[criterion.attribute]
        observation = examination.observations[criterion.attribute]
        partial = observation.mask != attribute.full and observation.how in ("unsure", "measured")
        why = (
            stated(attribute, observation.mask)
            if partial
            else {"missing": "not observable", "unsure": "undecided"}.get(
                observation.how, "not observed"
            )
        )
        found.setdefault(why, []).append(name_of(attribute))
        about.append(attribute.id)
    return [{"name": listed(names), "why": why} for why, names in found.items()], tuple(about)


def _support(
    rules: Rules, examination: Examination, judgement: Judgement, seen: Mapping[str, Seen]
) -> list[Fact]:
    """Return what is unusual for the type: traits, and figures outside its range."""
    unusual = [s for c in judgement.usual_against if (s := _seen(rules, seen, c)).how != "implied"]
    unusual = [s for s in unusual if s.attribute is not None and not s.attribute.item_of]
    outside: dict[str, list[dict[str, str]]] = {}
    for m in judgement.measures_out:
        measurement = rules.measurements[m.measurement]
        figure = {
            "name": plain(measurement.label),
            "value": reading(rules, m.measurement, examination.piece.readings[m.measurement]),
            "range": f"{m.low:g}-{m.high:g} {measurement.unit}",
        }
        outside.setdefault(grounds(rules, m.sources, m.basis, 2), []).append(figure)
    if not unusual and not outside:
        return []
    values = {
        "name": rules.types[judgement.type].name,
        "traits": [
            {"name": name_of(s.attribute), "is": stated(s.attribute, s.mask)}
            for s in unusual
            if s.attribute is not None
        ],
        "outside": [{"grounds": why, "figures": found} for why, found in outside.items()],
    }
    return [
        Fact(
            "support",
            values,
            tuple(s.id for s in unusual),
            tuple(m.measurement for m in judgement.measures_out),
            types=(judgement.type,),
            sources=tuple(dict.fromkeys(k for m in judgement.measures_out for k in m.sources)),
        )
    ]


def _aside(call: Call, seen: Mapping[str, Seen]) -> list[Fact]:
    """Say that the blade was not weighed, and why, where that set a criterion aside."""
    if not any(judgement.set_aside for judgement in call.candidates):
        return []
    rework = seen.get("reworked_as", NOTHING)
    reworked = bool(rework.ids) and not rework.none
    about = ("reworked_as",) if reworked else ("resharpening",)
    return [Fact("aside", {"reworked": reworked}, about)]


def _next_look(rules: Rules, examination: Examination, call: Call) -> list[Fact]:
    """Return the further look that would narrow the types most, where it would do so clearly."""
    found, count = examination.next_look, len(call.types)
    if found is None or examination.observations[found.attribute].how == "missing":
        return []
    attribute = rules.attributes[found.attribute]
    leaves = max(1, floor(found.leaves + 0.5))
    worth = found.leaves if count > FEW else leaves
    if worth > (WORTH_AMONG_MANY if count > FEW else WORTH_A_LOOK) * count:
        return []
    question = words.QUESTIONS.get(attribute.id, name_of(attribute))
    values = {"question": question, "count": count, "leaves": leaves, "at_worst": found.at_worst}
    return [Fact("next_look", values, (attribute.id,), types=call.types[:4])]


def agrees(rules: Rules, examination: Examination) -> bool:
    """Tell whether the analyst's own call is the one type that the key calls."""
    own = examination.piece.analyst
    call = examination.call
    if own is None or call is None or len(call.types) != 1:
        return False
    return resolve(rules, own.call) == call.types[0] and call.status == "assigned"


def _analyst(rules: Rules, examination: Examination) -> list[Fact]:
    own = examination.piece.analyst
    if own is None:
        return []
    kind = resolve(rules, own.call)
    values = {
        "name": rules.types[kind].name if kind else own.call,
        "reason": own.reason.strip().rstrip("."),
        "by": own.by,
        "date": own.date,
        "agrees": agrees(rules, examination),
    }
    return [Fact("analyst", values, types=(kind,) if kind else ())]
