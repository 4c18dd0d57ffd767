"""The reviewer's account: each sentence of the report with all that it rests on."""

from __future__ import annotations

from pathlib import Path

from keygen.core.examine import Examination
from keygen.core.model import Derivation, Rules
from keygen.prose.ages import age, full_citation, grounds
from keygen.prose.condition import FIELDS
from keygen.prose.grammar import capital, fragment, plain
from keygen.prose.grammar import sentence as finished
from keygen.prose.indices import cited_for, index_lines
from keygen.prose.made import made
from keygen.prose.regional import cautions
from keygen.prose.render import Sentence, render, sentences
from keygen.prose.seen import stated
from keygen.prose.sights import look

INDENT = "   - "
DEEPER = "     "


def account(rules: Rules, examination: Examination, folder: Path | None = None) -> str:
    """Return the account as plain text: head, numbered sentences, cautions, history, works."""
    told = sentences(rules, examination, "account", folder)
    defined: set[str] = set()
    cited: dict[str, None] = {}
    lines = [_head(rules, examination, folder)]
    for number, sentence in enumerate(told, 1):
        lines += ["", f"{number}. {sentence.text}"]
        lines += _observations(rules, examination, sentence, defined, cited, folder)
        lines += _figures(rules, examination, sentence, folder)
        lines += _types(rules, examination, sentence, cited, folder)
        cited.update(dict.fromkeys(sentence.sources))
    lines += ["", "Cautions"]
    for name in cautions(rules, examination, look(rules, examination)):
        caution = rules.cautions[name]
        values = {"text": caution.text, "grounds": grounds(rules, caution.sources, caution.basis)}
        lines.append(INDENT + fragment(render("account/caution.j2", values, folder)))
        cited.update(dict.fromkeys(caution.sources))
    if told_of := index_lines(rules, examination):
        lines += ["", "Indices", *(f"   {line}" for line in told_of)]
        cited.update(dict.fromkeys(cited_for(rules, examination)))
    if examination.piece.history:
        lines += ["", "History of the record"]
        for change in examination.piece.history:
            lines.append(INDENT + fragment(render("account/change.j2", vars(change), folder)))
    if cited:
        lines += ["", "Works cited"]
        lines += [INDENT + full_citation(rules.sources[key]) for key in sorted(cited)]
    return "\n".join(lines)


def _head(rules: Rules, examination: Examination, folder: Path | None) -> str:
    region = rules.regions.get(examination.region)
    values = {
        "label": examination.piece.label,
        "edition": rules.edition,
        "digest": rules.digest,
        "region": region.label if region else "",
    }
    lines = [fragment(render("account/head.j2", values, folder))]
    for name in FIELDS:
        if entered := examination.piece.details.get(name, "").strip():
            detail = {"name": capital(name), "entered": entered}
            lines.append(fragment(render("account/detail.j2", detail, folder)))
    if notes := " ".join(examination.piece.notes.split()):
        lines.append(finished(render("document/notes.j2", {"notes": notes}, folder)))
    return "\n".join(lines)


def _observations(
    rules: Rules,
    examination: Examination,
    sentence: Sentence,
    defined: set[str],
    cited: dict[str, None],
    folder: Path | None,
) -> list[str]:
    """Return the observations of a sentence; each definition is given once in an account."""
    lines = []
    for name in sentence.about:
        index = rules.index[name]
        attribute = rules.attributes[index]
        values = {
            "name": plain(attribute.label),
            "states": stated(attribute, examination.observations[index].mask),
            "made": made(rules, examination, index),
        }
        if examination.observations[index].mask == attribute.full:
            values["states"] = "not known"
        lines.append(INDENT + fragment(render("account/observation.j2", values, folder)))
        if rule := _rule(examination, sentence, index):
            note = f"rule {rule.id}: {rule.note} ({grounds(rules, rule.sources, rule.basis)})"
            lines.append(DEEPER + note)
            cited.update(dict.fromkeys(rule.sources))
        if name not in defined and attribute.definition:
            defined.add(name)
            basis = grounds(rules, attribute.sources, attribute.basis)
            text = {"definition": attribute.definition, "grounds": basis}
            lines.append(DEEPER + fragment(render("account/definition.j2", text, folder)))
            cited.update(dict.fromkeys(attribute.sources))
    return lines


def _rule(examination: Examination, sentence: Sentence, index: int) -> Derivation | None:
    """Return the rule by which a state was measured, or measured otherwise than it was seen."""
    if sentence.slot != "disagreement":
        return examination.derived.get(index)
    differing = (d.derivation for d in examination.disagreements if d.attribute == index)
    return next(differing, None)


def _figures(
    rules: Rules, examination: Examination, sentence: Sentence, folder: Path | None
) -> list[str]:
    piece, lines = examination.piece, []
    for name in sentence.measures:
        values = {
            "name": plain(rules.measurements[name].label),
            "entered": piece.readings[name].entered,
        }
        lines.append(INDENT + fragment(render("account/measure.j2", values, folder)))
    for name in sentence.details:
        values = {"name": name, "entered": piece.details[name]}
        lines.append(INDENT + fragment(render("account/detail.j2", values, folder)))
    return lines


def _types(
    rules: Rules,
    examination: Examination,
    sentence: Sentence,
    cited: dict[str, None],
    folder: Path | None,
) -> list[str]:
    """Return the types of a sentence: their definitions, or their records where it gives ages."""
    lines = []
    for name in sentence.types:
        kind = rules.types[name]
        if sentence.slot not in ("age", "elsewhere"):
            values = {"name": kind.name, "grounds": grounds(rules, kind.sources, kind.basis, 9)}
            lines.append(INDENT + fragment(render("account/type.j2", values, folder)))
            cited.update(dict.fromkeys(kind.sources))
            continue
        for record in kind.records:
            if (record.region == examination.region) == (sentence.slot == "age"):
                values = {
                    "name": kind.name,
                    "place": rules.regions[record.region].place,
                    "period": record.period,
                    "age": age(rules, record, 9),
                    "seen": record.seen,
                    "note": record.note,
                }
                lines.append(INDENT + fragment(render("account/record.j2", values, folder)))
                cited.update(dict.fromkeys(record.sources))
    return lines
