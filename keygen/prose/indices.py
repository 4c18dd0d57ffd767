"""Indices in words and as plain data: what each says, how sure it is, and where it does not hold.

Those that answer one question are told side by side. A sentence says how many call the piece what,
and never which of them is right.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import chain
from math import inf, isfinite
from typing import NamedTuple

from keygen.core.basis import Basis
from keygen.core.coding import Coded
from keygen.core.complete import why
from keygen.core.examine import Examination
from keygen.core.indices import Index
from keygen.core.model import Rules
from keygen.core.result import Lack, Result
from keygen.core.scores import answered, results
from keygen.core.span import Span
from keygen.prose.ages import BASIS, citations, grounds
from keygen.prose.facts import Fact, Page, Slot
from keygen.prose.grammar import listed, plain

WEAPON = "dart_or_arrow"
HAFTED = {"stemmed", "notched"}
FEWEST = 2  # measures that have to speak before a description tells of them
MORE = "   "
SURENESS: tuple[Basis, ...] = ("common", "read", "memory")


class Weighed(NamedTuple):
    """What the measures of dart or arrow say, by the id of each, and the measurements they used."""

    says: tuple[tuple[str, tuple[str, ...]], ...]
    used: tuple[str, ...]


def _weighed(page: Page) -> Weighed | None:
    """Return what the measures of dart or arrow say, where the haft is known and two speak."""
    if len(page.taken) < FEWEST or WEAPON not in page.rules.questions:
        return None
    haft = page["haft_style"]
    if not haft.ids or not HAFTED.issuperset(haft.ids) or haft.none:
        return None
    found = answered(page.rules, page.examination, WEAPON)
    if len(found) < FEWEST:
        return None
    used = dict.fromkeys(chain.from_iterable([answer.used for answer in found]))
    return Weighed(tuple([(answer.id, answer.says) for answer in found]), tuple(used))


def _index_facts(rules: Rules, found: Weighed) -> Iterator[Fact]:
    question, by = rules.questions[WEAPON], {name: _cited(rules, name) for name, _ in found.says}
    sides = [
        {"is": outcome.term, "by": [by[name] for name, says in found.says if says == (outcome.id,)]}
        for outcome in question.outcomes
    ]
    values = {
        "count": len(by),
        "question": question.label,
        "sides": [side for side in sides if side["by"]],
        "open": [by[name] for name, says in found.says if len(says) > 1],
        "recalled": sum(basis_of(rules.indices[name]) == "memory" for name in by),
    }
    sources = tuple(dict.fromkeys(key for name in by for key in rules.indices[name].sources))
    yield Fact("indices", values, ("haft_style",), found.used, sources=sources)


INDICES = Slot(_weighed, _index_facts)


def _cited(rules: Rules, name: str) -> dict[str, str]:
    """Return an index by its name, with the work it is from."""
    index = rules.indices[name]
    return {"name": index.label, "work": citations(rules, index.formula.sources[:1])}


def basis_of(index: Index) -> Basis:
    """Return the least sure basis of an index's formula and numbers."""
    numbers = index.numbers or index.formula
    return max(index.formula.basis, numbers.basis, key=SURENESS.index)


def index_lines(rules: Rules, examination: Examination, full: bool = True) -> list[str]:
    """Return all indices as lines of text, then how their answers stand, then what is wanting.

    Nothing is returned of a piece on which nothing was measured or scored.

    Args:
        full: with grounds, sample, success and limits of use.
    """
    piece = examination.piece
    if not piece.readings and not rules.scored.keys() & piece.details.keys():
        return []
    found = results(rules, examination)
    lines = []
    for result in found:
        if result.computed:
            lines.append(f"- {told(rules, examination, result)}")
            lines += [f"{MORE}{text}" for text in _background(rules, result, full)]
    for question in rules.questions.values():
        of = [r for r in found if r.computed and rules.indices[r.index].question == question.id]
        if len(of) >= FEWEST:
            lines.append(f"- {question.label}: {_tally(rules, of)}")
    wanting = [r for r in found if not r.computed]
    for result in wanting:
        reasons = listed(_lack(rules, lack) for lack in result.lacks)
        lines.append(f"- not computable: {rules.indices[result.index].label} ({reasons})")
    return lines


def cited_for(rules: Rules, examination: Examination) -> tuple[str, ...]:
    """Return the works that the indices computed on a piece rest on, each once."""
    computed = (rules.indices[r.index] for r in results(rules, examination) if r.computed)
    return tuple(dict.fromkeys(key for index in computed for key in index.sources))


def _tally(rules: Rules, found: Sequence[Result]) -> str:
    question = rules.questions[rules.indices[found[0].index].question]
    said = [
        f"{sum(r.says == (outcome.id,) for r in found)} for {outcome.term}"
        for outcome in question.outcomes
    ]
    said.append(f"{sum(len(r.says) > 1 for r in found)} undecided")
    return f"{', '.join(said)}; no measure alone is the answer"


def told(rules: Rules, examination: Examination, result: Result) -> str:
    """Return what an index says in one line: figure or scores, margin, answer, remarks."""
    index = rules.indices[result.index]
    parts = []
    if result.figure is not None:
        parts.append(interval(result.figure, index))
    parts += [f"{s.outcome} {interval(s.span, index)}" for s in result.scores]
    if result.margin is not None:
        parts.append(f"margin {interval(result.margin, index)}")
    if result.characters:
        parts.append(" ".join(map(_digits, result.characters)))
    if result.counted:
        parts.append(f"{result.counted} of {rules.scored[index.terms[0]].count} places scored")
    head = f"{index.label}: {', '.join(parts)}"
    return "; ".join([head, *_answer(rules, index, result), *_remarks(rules, examination, result)])


def _answer(rules: Rules, index: Index, result: Result) -> list[str]:
    if not index.question:
        return []
    terms = {o.id: o.term for o in rules.questions[index.question].outcomes}
    answer = [" or ".join(terms[outcome] for outcome in result.says)]
    if result.undecided and index.undecided:
        doubt = index.undecided
        label = plain(rules.measurements[doubt.term].label)
        unit = rules.measurements[doubt.term].unit
        answer.append(f"{label} in the undecided range {doubt.low:g} to {doubt.high:g} {unit}")
    elif result.undecided:
        answer.append("in the gap between the groups")
    elif len(result.says) > 1:
        answer.append("the interval reaches both")
    return [*answer, "the scores are close"] if result.close else answer


def _remarks(rules: Rules, examination: Examination, result: Result) -> list[str]:
    short = {s.measurement: why(rules, s) for s in result.short}
    labels = {name: plain(rules.measurements[name].label) for name in result.used}
    taken = examination.piece.readings
    said = [f"{labels[name]} is at least that ({text})" for name, text in short.items()]
    said += [
        f"{labels[name]} is incomplete"
        for name in result.used
        if name not in short and taken[name].incomplete
    ]
    for term, by in result.stood_in:
        other = rules.indices[by].label if by in rules.indices else rules.measurements[by].label
        said.append(f"{other} stands in for {_name(rules, term)}")
    return said


def _background(rules: Rules, result: Result, full: bool) -> list[str]:
    index = rules.indices[result.index]
    if not full:
        return [grounds(rules, index.sources, basis_of(index))]
    lines = []
    for name, ground in (("formula", index.formula), ("numbers", index.numbers)):
        if ground is not None:
            rests = grounds(rules, ground.sources, ground.basis) or BASIS[ground.basis]
            lines.append(f"{name}: {rests}{f' ({ground.seen})' if ground.seen else ''}")
    if index.undecided:
        lines.append(f"undecided range: {index.undecided.ground.seen}")
    lines += [f"{name}: {text}" for name, text in (("sample", index.sample),) if text]
    lines += [f"success: {index.success}"] if index.success else []
    return [*lines, *(f"limit of use: {text}" for text in index.limits)]


def _name(rules: Rules, term: str) -> str:
    for named in (rules.measurements, rules.indices, rules.scored):
        if term in named:
            return plain(named[term].label)
    return plain(rules.attributes[rules.index[term]].label)


def _lack(rules: Rules, lack: Lack) -> str:
    name = _name(rules, lack.term)
    if lack.why == "gone":
        lost = listed(rules.parts.get(part, part) for part in lack.parts)
        return f"{name} cannot be taken whole without the {lost}"
    return {
        "not_measured": f"{name} not measured",
        "not_scored": f"{name} not scored",
        "not_seen": f"{name} not observed",
        "unreadable": f"{name}: {lack.said}",
        "other_form": f"not for this {name}",
    }[lack.why]


def _digits(coded: Coded) -> str:
    digits = "/".join(map(str, coded.digits))
    if not coded.beyond:
        return digits
    return f"{digits}/not codable" if digits else "not codable"


def interval(span: Span, index: Index) -> str:
    """Return a figure with its interval: `16.4 mm (16.3 to 16.5)`, `at least 34.2 mm`."""
    trim = index.figure in ("value", "sum", "difference")

    def figure(value: float) -> str:
        text = f"{value:.{index.decimals}f}"
        return (text.rstrip("0").rstrip(".") if trim else text) or "0"

    shown = f"{figure(span.value)} {index.unit}".strip()
    topless, bottomless = span.high == inf, span.low == -inf or span.low == 0 < span.value
    if topless and bottomless:
        return f"about {shown}, open at both ends"
    if topless or bottomless:
        return f"at {'least' if topless else 'most'} {shown}"
    ends = (figure(span.low), figure(span.high))
    return shown if ends[0] == ends[1] else f"{shown} ({ends[0]} to {ends[1]})"


def index_json(rules: Rules, examination: Examination) -> list[dict[str, object]]:
    """Return all indices as plain data; an end that is open is null."""
    return [_json(rules, result) for result in results(rules, examination)]


def _json(rules: Rules, result: Result) -> dict[str, object]:
    index = rules.indices[result.index]
    return {
        "id": index.id,
        "label": index.label,
        "question": index.question or None,
        "computed": result.computed,
        "lacks": [{"term": x.term, "why": x.why, "parts": list(x.parts)} for x in result.lacks],
        "figure": _span(result.figure),
        "unit": index.unit or None,
        "scores": [{"outcome": s.outcome, **(_span(s.span) or {})} for s in result.scores],
        "margin": _span(result.margin),
        "says": list(result.says),
        "leads": result.leads or None,
        "undecided": result.undecided,
        "close": result.close,
        "code": [{"digits": list(c.digits), "not_codable": c.beyond} for c in result.characters],
        "counted": result.counted or None,
        "measurements": list(result.used),
        "stood_in": [{"for": term, "by": by} for term, by in result.stood_in],
        "incomplete": [
            {"measurement": s.measurement, "parts": list(s.parts), "because": why(rules, s)}
            for s in result.short
        ],
        "basis": basis_of(index),
        "sources": list(index.sources),
        "limits": list(index.limits),
    }


def _span(span: Span | None) -> dict[str, object] | None:
    if span is None:
        return None
    ends = {"value": span.value, "low": span.low, "high": span.high}
    return {name: round(x, 6) if isfinite(x) else None for name, x in ends.items()}
