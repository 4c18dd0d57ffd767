"""The trace: every criterion of the call, with the observation and the source it rests on."""

from __future__ import annotations

from collections.abc import Iterable

from keygen.core.call import Judgement, Standing, by_region
from keygen.core.examine import Examination
from keygen.core.model import Criterion, Rules
from keygen.prose.ages import grounds, short_citation
from keygen.prose.grammar import counted, plain
from keygen.prose.indices import index_lines
from keygen.prose.made import made
from keygen.prose.render import Sentence, sentences
from keygen.prose.seen import reading, stated

MOST_IN_FULL = 5


def trace(rules: Rules, examination: Examination) -> str:
    """Return the trace of one examination as plain text."""
    region = rules.regions.get(examination.region)
    label = examination.piece.label or "the specimen"
    lines = [
        f"Trace of {label}, rules edition {rules.edition}, digest {rules.digest}",
        f"Region: {region.label if region else 'none given'}",
    ]
    call = examination.call
    if call is not None:
        names = ", ".join(rules.types[name].name for name in call.types)
        reason = {"none_fits": " (no type fits)", "haft_unknown": " (haft not known)"}
        lines.append(
            f"Call: {call.status}{reason.get(call.reason, '')}{f' {names}' if names else ''}"
        )
        lines += ["", f"Candidates in rank order: {counted(len(call.candidates), 'type')}"]
        for place, judgement in enumerate(call.candidates, 1):
            lines += _candidate(rules, examination, judgement, place)
        lines += ["", f"Near misses: {counted(len(call.near_misses), 'type')}"]
        for judgement in call.near_misses:
            against = _criterion(rules, examination, judgement.against[0])
            lines.append(f"- {rules.types[judgement.type].name}: against, {against}")
    lines += ["", "Observations"]
    for i, observation in enumerate(examination.observations):
        if observation.how != "not_asked":
            lines.append(f"- {_observed(rules, examination, i)}")
    lines += _disagreements(rules, examination)
    if told := index_lines(rules, examination, full=False):
        lines += ["", "Indices", *told]
    lines += ["", "What each sentence of the report rests on"]
    for sentence in sentences(rules, examination, "report"):
        rests = "; ".join(_rests(rules, sentence))
        lines.append(f"- {sentence.slot}: {rests or 'nothing observed'}")
    elsewhere = by_region(examination.elsewhere)
    lines += ["", f"Elsewhere consistent: {counted(len(elsewhere), 'record')}"]
    lines += [f"- {rules.regions[at].label}: {rules.types[j.type].name}" for at, j in elsewhere]
    return "\n".join(lines)


def _candidate(
    rules: Rules, examination: Examination, judgement: Judgement, place: int
) -> list[str]:
    """Return one candidate: in full for the first few, as counts for the rest."""
    kind = rules.types[judgement.type]
    standing = "consistent" if judgement.standing is Standing.CONSISTENT else "possible"
    counts = f"{len(judgement.met)} met, {len(judgement.open)} open"
    head = f"{place}. {kind.name}: {standing}, {counts}"
    if place > MOST_IN_FULL:
        return [head]
    lines = [head, f"   defined by {grounds(rules, kind.sources, kind.basis, 9)}"]
    groups: tuple[tuple[str, Iterable[Criterion]], ...] = (
        ("met", judgement.met),
        ("open", judgement.open),
        ("usual, met", judgement.usual_met),
        ("usual, against", judgement.usual_against),
        ("not weighed", judgement.set_aside),
    )
    for word, criteria in groups:
        lines += [f"   {word}: {_criterion(rules, examination, c)}" for c in criteria]
    for word, ranges in (
        ("support, within range", judgement.measures_in),
        ("support, outside range", judgement.measures_out),
    ):
        for m in ranges:
            figure = reading(rules, m.measurement, examination.piece.readings[m.measurement])
            label = plain(rules.measurements[m.measurement].label)
            under = grounds(rules, m.sources, m.basis)
            lines.append(f"   {word}: {label} {figure}, type {m.low:g}-{m.high:g} ({under})")
    return lines


def _criterion(rules: Rules, examination: Examination, criterion: Criterion) -> str:
    attribute = rules.attributes[criterion.attribute]
    wanted = stated(attribute, criterion.allowed)
    return f"{_observed(rules, examination, criterion.attribute)}; type has {wanted}"


def _observed(rules: Rules, examination: Examination, index: int) -> str:
    """Return an observation with how it came about and what its definition rests on."""
    attribute = rules.attributes[index]
    mask = examination.observations[index].mask
    states = "any state" if mask == attribute.full else stated(attribute, mask)
    cited = ", ".join(short_citation(rules.sources[key]) for key in attribute.sources)
    basis = f", defined by {cited}" if cited else ""
    return f"{plain(attribute.label)}: {states} [{made(rules, examination, index)}{basis}]"


def _disagreements(rules: Rules, examination: Examination) -> list[str]:
    if not examination.disagreements:
        return []
    lines = ["", "Eye against measurement"]
    for found in examination.disagreements:
        attribute = rules.attributes[found.attribute]
        by_eye, measured = stated(attribute, found.seen), stated(attribute, found.measured)
        rule = found.derivation
        under = grounds(rules, rule.sources, rule.basis)
        lines.append(
            f"- {plain(attribute.label)}: {by_eye} by eye, {measured} by rule {rule.id} ({under})"
        )
    return lines


def _rests(rules: Rules, sentence: Sentence) -> list[str]:
    """Return observations, figures and details, then types, then works."""
    observed = [
        *(plain(rules.attributes[rules.index[name]].label) for name in sentence.about),
        *(plain(rules.measurements[name].label) for name in sentence.measures),
        *sentence.details,
    ]
    types = [rules.types[name].name for name in sentence.types]
    works = [short_citation(rules.sources[key]) for key in sentence.sources]
    return [", ".join(names) for names in (observed, types, works) if names]
