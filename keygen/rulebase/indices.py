"""rules/indices.yaml into the model: questions, what is scored, cuts, and the indices."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, field
from math import inf
from typing import Any, get_args

from keygen.core.basis import Basis
from keygen.core.indices import (
    FIGURES,
    Character,
    Code,
    Cut,
    Ground,
    Group,
    Index,
    Mark,
    Outcome,
    Question,
    Scored,
    StandIn,
    Undecided,
    Weight,
    Zone,
)
from keygen.errors import Problem, nearest
from keygen.rulebase.fields import Fields
from keygen.rulebase.vocabulary import Vocabulary, read_limits
from keygen.rulebase.yamlio import Document

TERMS = {"value": 1, "sum": 2, "difference": 2, "ratio": 2, "mean": 1, "groups": 0, "code": 0}


@dataclass(frozen=True)
class Known:
    """What the entries of the file may name."""

    vocabulary: Vocabulary
    measurements: Collection[str]
    parts: Collection[str]
    sources: Collection[str]
    scored: dict[str, Scored] = field(default_factory=dict)
    questions: dict[str, Question] = field(default_factory=dict)
    indices: dict[str, Index] = field(default_factory=dict)

    @property
    def terms(self) -> tuple[str, ...]:
        """Return the terms that an index may be made of: measurements, and indices before it."""
        return (*self.measurements, *self.indices)


def read_indices(
    document: Document,
    vocabulary: Vocabulary,
    measurements: Collection[str],
    parts: Collection[str],
    sources: Collection[str],
    problems: list[Problem],
) -> dict[str, Any]:
    """Read the file.

    Returns:
        The fields of `Rules` that it fills: questions, scored, cuts and indices.
    """
    top = Fields(document, problems)
    known = Known(vocabulary, measurements, parts, sources)
    for name, entry in top.children("questions"):
        known.questions[name] = _question(name, entry)
    for name, entry in top.children("scored"):
        known.scored[name] = _scored(name, entry, parts)
    cuts = tuple(_cut(entry, known) for entry in top.items("cut_short"))
    for name, entry in top.children("indices"):
        if name in known.measurements or name in known.scored:
            entry.fault("K006", f"{name!r} is also something measured or scored")
        known.indices[name] = _index(name, entry, known)
    top.done()
    return {
        "questions": known.questions,
        "scored": known.scored,
        "cuts": cuts,
        "indices": known.indices,
    }


def _question(name: str, entry: Fields) -> Question:
    outcomes = entry.child("outcomes")
    found = Question(
        name,
        entry.text("label"),
        tuple(Outcome(outcome, outcomes.text(outcome)) for outcome in outcomes.values),
    )
    if len(found.outcomes) < 2:
        entry.fault("K003", "a question needs two outcomes or more", (), "Give 'outcomes'.")
    entry.done()
    return found


def _scored(name: str, entry: Fields, parts: Collection[str]) -> Scored:
    marks = entry.child("marks")
    found = Scored(
        id=name,
        label=entry.text("label"),
        marks=tuple(Mark(word, marks.text(word)) for word in marks.values),
        count=entry.integer("count") if entry.has("count") else 1,
        part=entry.choice("part", ("any", *parts), "any"),
        look=entry.text("look", ""),
    )
    if found.count < 1:
        entry.fault("K004", f"'count' has to be 1 or more, not {found.count}", "count")
    if not found.marks:
        entry.fault("K003", "there is nothing to score it as", (), "Give 'marks'.")
    entry.done()
    return found


def _cut(entry: Fields, known: Known) -> Cut:
    found = Cut(
        entry.known("measurements", known.measurements, "the measurement", required=True),
        read_limits(entry.child("if"), known.vocabulary),
        entry.text("because"),
        entry.flag("may", False),
    )
    if not found.when:
        entry.fault("K003", "the key 'if' is missing", (), "Name the damage or portion.")
    entry.done()
    return found


def _index(name: str, entry: Fields, known: Known) -> Index:
    figure: Any = entry.choice("figure", FIGURES)
    question = _question_of(entry, known)
    outcomes = [outcome.id for outcome in question.outcomes] if question else []
    if figure == "mean":
        terms = entry.known("of", known.scored, "what is scored,", required=True)
    else:
        terms = entry.known("of", known.terms, "the term", required=bool(TERMS[figure]))
    groups = _groups(entry.child("groups"), outcomes, known)
    zones = tuple(_zone(zone, outcomes) for zone in entry.items("zones"))
    characters = tuple(_character(item, known) for item in entry.items("characters"))
    found = Index(
        id=name,
        label=entry.text("label"),
        figure=figure,
        formula=_ground(entry.child("formula"), known),
        terms=terms,
        unit=entry.choice("unit", ("mm", "g", "deg"), "") if entry.has("unit") else "",
        decimals=entry.integer("decimals") if entry.has("decimals") else 2,
        at_most=entry.number("at_most", inf),
        question=question.id if question else "",
        when=read_limits(entry.child("when"), known.vocabulary),
        stand_ins=tuple(
            _stand_in(term, stand_in, known) for term, stand_in in entry.children("stand_in")
        ),
        zones=zones,
        groups=groups,
        undecided=_undecided(entry.child("undecided"), known) if entry.has("undecided") else None,
        close=entry.number("close", 0.0),
        characters=characters,
        numbers=_ground(entry.child("numbers"), known) if entry.has("numbers") else None,
        sample=entry.text("sample", ""),
        success=entry.text("success", ""),
        limits=entry.texts("limits"),
        see=entry.known("see", known.sources, "the source"),
    )
    _shape(entry, found)
    entry.done()
    return found


def _question_of(entry: Fields, known: Known) -> Question | None:
    name = entry.text("question", "")
    if name and name not in known.questions:
        remedy = nearest(name, known.questions)
        entry.fault("K005", f"the question {name!r} is not known", "question", remedy)
    return known.questions.get(name)


def _shape(entry: Fields, index: Index) -> None:
    """Refuse an index whose parts do not make one."""
    wanted = TERMS[index.figure]
    if entry.has("of") and index.terms and len(index.terms) != wanted:
        what = f"the figure {index.figure!r} is made of {wanted} terms, not of {len(index.terms)}"
        entry.fault("K240", what, "of")
    own = {"groups": index.groups, "characters": index.characters}
    for key, given in own.items():
        if bool(given) != (index.figure == {"characters": "code"}.get(key, key)):
            what = f"the figure {index.figure!r} and {key!r} do not go together"
            entry.fault("K240", what, key if given else "figure", "Give what the figure needs.")
    if bool(index.zones or index.groups) != bool(index.question):
        what = "an index that says something needs a question, and the other way round"
        entry.fault("K240", what, (), "Give 'question' with 'zones' or 'groups'.")
    if (index.zones or index.groups or index.characters) and index.numbers is None:
        entry.fault("K003", "the key 'numbers' is missing", (), "Say what its numbers rest on.")


def _ground(entry: Fields, known: Known) -> Ground:
    basis: Any = entry.choice("basis", get_args(Basis))
    sources = entry.known("sources", known.sources, "the source")
    found = Ground(basis, sources, entry.text("seen", ""))
    if basis != "common" and not sources:
        entry.fault("K203", f"basis is {basis!r} but no source is given", "basis")
    if basis == "read" and not found.seen:
        entry.fault("K203", "basis is 'read' but 'seen' does not say where", "basis")
    entry.done()
    return found


def _stand_in(term: str, entry: Fields, known: Known) -> StandIn:
    by = entry.text("by")
    for name in (term, by):
        if name not in known.terms:
            entry.fault("K005", f"the term {name!r} is not known", "by", nearest(name, known.terms))
    found = StandIn(term, by, read_limits(entry.child("when"), known.vocabulary))
    entry.done()
    return found


def _zone(entry: Fields, outcomes: Collection[str]) -> Zone:
    closed = not entry.has("below")
    high = entry.number("to", inf) if closed else entry.number("below")
    found = Zone(entry.known("says", outcomes, "the outcome", required=True), high, closed)
    entry.done()
    return found


def _groups(entry: Fields, outcomes: Collection[str], known: Known) -> tuple[Group, ...]:
    groups = []
    for outcome in entry.values:
        group = entry.child(str(outcome))
        if outcome not in outcomes:
            remedy = nearest(str(outcome), outcomes)
            group.fault("K005", f"the outcome {outcome!r} is not known", (), remedy)
        weights = group.child("weights")
        for term in weights.values:
            if term not in known.terms:
                remedy = nearest(term, known.terms)
                weights.fault("K005", f"the term {term!r} is not known", term, remedy)
        taken = tuple(Weight(t, weights.number(t)) for t in weights.values if t in known.terms)
        groups.append(Group(str(outcome), group.number("constant"), taken))
        group.done()
    return tuple(groups)


def _undecided(entry: Fields, known: Known) -> Undecided:
    term = entry.choice("of", known.terms)
    found = Undecided(term, entry.number("from"), entry.number("to"), _ground(entry, known))
    if found.low >= found.high:
        entry.fault("K202", f"the range runs from {found.low:g} to {found.high:g}", "from")
    return found


def _character(entry: Fields, known: Known) -> Character:
    scored = entry.text("scored", "")
    if scored and scored not in known.scored:
        remedy = nearest(scored, known.scored)
        entry.fault("K005", f"nothing is scored as {scored!r}", "scored", remedy)
    marks = [mark.word for mark in known.scored[scored].marks] if scored in known.scored else []
    found = Character(
        label=entry.text("label"),
        codes=tuple(_code(code, marks, known) for code in entry.items("codes")),
        scored=scored if marks else "",
        term=entry.choice("of", known.terms) if entry.has("of") else "",
        decimals=entry.integer("decimals") if entry.has("decimals") else None,
    )
    entry.done()
    return found


def _code(entry: Fields, marks: Collection[str], known: Known) -> Code:
    mark = entry.text("mark", "")
    if mark and mark not in marks:
        entry.fault("K005", f"the mark {mark!r} is not known", "mark", nearest(mark, marks))
    found = Code(
        digit=entry.integer("code"),
        low=entry.number("from", 0.0),
        high=entry.number("to", inf),
        mark=mark,
        when=read_limits(entry.child("when"), known.vocabulary),
    )
    if found.low > found.high:
        entry.fault("K202", f"the code runs from {found.low:g} to {found.high:g}", "from")
    entry.done()
    return found
