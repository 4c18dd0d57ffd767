"""Indices worked out on one piece, as intervals, or why they cannot be.

A measurement is an interval and stays one through sums, ratios and classification functions; a
broken dimension has no upper end, and so may its index. No single index is the answer: those that
answer one question are worked out side by side. Most of them read a figure or two of a piece, and
few figures are new in a long table; so answers are kept by what each index reads.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from itertools import chain
from typing import NamedTuple

from keygen.core import coding, marks
from keygen.core.answers import by_figure, by_groups, said
from keygen.core.coding import Coded
from keygen.core.complete import Shortfall, at_least, shortfalls, surviving
from keygen.core.examine import Examination
from keygen.core.indices import Character, Index
from keygen.core.infer import gone_parts
from keygen.core.marks import Marks
from keygen.core.measure import Reading
from keygen.core.memo import MOST, RECENT, Memo
from keygen.core.model import Rules
from keygen.core.result import Lack, Result
from keygen.core.span import Span, span
from keygen.core.states import Fit, compare

Figure = tuple[float, float, float]  # of a measurement as it was entered: value and both ends
# What an index reads of a piece: figures, what was scored, states; None where there is nothing.
Read = tuple[tuple[Figure | None, ...], tuple[str | None, ...], tuple[int, ...]]


class _Bench(NamedTuple):
    """What indices are worked out from, and those worked out before."""

    rules: Rules
    known: Sequence[int]
    gone: frozenset[str]
    figures: Mapping[str, Span]
    scored: Mapping[str, str]
    short: Mapping[str, Shortfall]
    done: dict[str, Result]


class _Term(NamedTuple):
    """A term of an index: its interval, or what is wanting; and what it was taken from."""

    span: Span | None
    lacks: tuple[Lack, ...] = ()
    used: tuple[str, ...] = ()
    stood_in: tuple[tuple[str, str], ...] = ()


class Answer(NamedTuple):
    """Every outcome that an index leaves possible, and the measurements that went into it."""

    id: str
    says: tuple[str, ...]
    used: tuple[str, ...]


def results(rules: Rules, examination: Examination) -> tuple[Result, ...]:
    """Return the indices of an examined piece, in the order of the rules."""
    piece = examination.piece
    return work_out(rules, examination.known, piece.readings, piece.details)


def answered(rules: Rules, examination: Examination, question: str) -> list[Answer]:
    """Return what the indices say of an examined piece that answer a question and can be computed.

    It is what `results` has of them, in the order of the rules.
    """
    known, piece = examination.known, examination.piece
    readings = surviving(rules, known, piece.readings)[0]
    figures = {name: (taken.value, taken.low, taken.high) for name, taken in readings.items()}
    asked = rules.once(_asked)[question]
    return [found for one in asked if (found := one.answer(known, figures, piece.details))]


def work_out(
    rules: Rules,
    known: Sequence[int],
    readings: Mapping[str, Reading],
    scored: Mapping[str, str],
) -> tuple[Result, ...]:
    """Return indices worked out from what is known of a piece.

    Args:
        known: the states still possible, one mask an attribute.
        readings: measurements by id; those that lack a part they need are taken as "at least".
        scored: what was scored by eye, as written, by id; other entries are passed over.
    """
    short = shortfalls(rules, known, rules.measurements)
    taken = at_least(readings, short)
    figures = {name: span(one.value, one.low, one.high) for name, one in taken.items()}
    bench = _Bench(rules, known, gone_parts(rules, known), figures, scored, short, {})
    return tuple(_result(bench, index) for index in rules.indices.values())


class _Asked:
    """An index that answers a question; its answers are kept by all that they rest on."""

    def __init__(self, rules: Rules, index: Index) -> None:
        self._rules, self._index = rules, index
        names, about = _read_by(rules, index)
        measured = names & rules.measurements.keys()
        replaced = {stand_in.term for stand_in in index.stand_ins}
        self._needed = measured.intersection(index.inputs) - replaced
        self._measured = tuple(sorted(measured))
        self._scored = tuple(sorted(names & rules.scored.keys()))
        self._about = tuple(sorted(about))
        # A single figure comes again more often than several that are all the same.
        self._kept = Memo(self._answer, MOST if len(measured) == 1 else RECENT)

    def answer(
        self, known: Sequence[int], figures: Mapping[str, Figure], scored: Mapping[str, str]
    ) -> Answer | None:
        """Return what the index says of a piece; None if it cannot be computed."""
        if not figures.keys() >= self._needed:
            return None
        measured, marks = map(figures.get, self._measured), map(scored.get, self._scored)
        return self._kept[tuple(measured), tuple(marks), tuple([known[i] for i in self._about])]

    def _answer(self, read: Read) -> Answer | None:
        measured, marks, states = read
        known = list(self._rules.full)
        for i, mask in zip(self._about, states, strict=True):
            known[i] = mask
        taken = zip(self._measured, measured, strict=True)
        figures = {name: span(*figure) for name, figure in taken if figure}
        scored = {name: words for name, words in zip(self._scored, marks, strict=True) if words}
        bench = _Bench(self._rules, known, frozenset(), figures, scored, {}, {})
        if _other_form(bench, self._index):
            return None
        terms = _terms(bench, self._index)
        spans = _spans(terms)
        says = said(self._rules, self._index, spans) if len(spans) == len(terms) else None
        return None if says is None else Answer(self._index.id, says, _used(terms.values()))


def _asked(rules: Rules) -> Memo[str, list[_Asked]]:
    """Return the indices that answer a question, by its id. A code, without terms, answers none."""
    of = [index for index in rules.indices.values() if index.inputs]
    return Memo(
        lambda question: [_Asked(rules, index) for index in of if index.question == question]
    )


def _read_by(rules: Rules, index: Index) -> tuple[set[str], set[int]]:
    """Return what an index is worked out from: measurements and things scored, and attributes."""
    names = {*index.inputs, *(stand_in.by for stand_in in index.stand_ins)}
    about = {*index.when, *chain.from_iterable(stand_in.when for stand_in in index.stand_ins)}
    for name in names & rules.indices.keys():
        more, further = _read_by(rules, rules.indices[name])
        names, about = names | more, about | further
    return names, about


def _result(bench: _Bench, index: Index) -> Result:
    if index.id not in bench.done:
        bench.done[index.id] = _worked(bench, index)
    return bench.done[index.id]


def _worked(bench: _Bench, index: Index) -> Result:
    if other := _other_form(bench, index):
        return Result(index.id, other)
    if index.figure == "mean":
        return _mean(bench, index)
    if index.figure == "code":
        return _class(bench, index)
    terms = _terms(bench, index)
    spans = _spans(terms)
    if len(spans) < len(terms):
        lacks = (lack for term in terms.values() if term.span is None for lack in term.lacks)
        return Result(index.id, tuple(dict.fromkeys(lacks)))
    used = _used(terms.values())
    found = (
        by_groups(bench.rules, index, spans)
        if index.groups
        else by_figure(bench.rules, index, spans)
    )
    return replace(
        found,
        used=used,
        stood_in=tuple(dict.fromkeys(s for term in terms.values() for s in term.stood_in)),
        short=_short(bench, used),
    )


def _other_form(bench: _Bench, index: Index) -> tuple[Lack, ...]:
    """Return what rules out that an index is for a piece of this form."""
    return tuple(
        [
            Lack(bench.rules.attributes[i].id, "other_form")
            for i, mask in index.when.items()
            if compare(bench.known[i], mask) is Fit.AGAINST
        ]
    )


def _terms(bench: _Bench, index: Index) -> dict[str, _Term]:
    """Return the terms of an index, or what is wanting of them, by their names."""
    return {name: _term(bench, index, name) for name in index.inputs}


def _spans(terms: Mapping[str, _Term]) -> dict[str, Span]:
    """Return the intervals of those terms that have one."""
    return {name: term.span for name, term in terms.items() if term.span is not None}


def _used(terms: Iterable[_Term]) -> tuple[str, ...]:
    """Return the measurements that terms were taken from, each once."""
    return tuple(dict.fromkeys([name for term in terms for name in term.used]))


def _term(bench: _Bench, index: Index, name: str) -> _Term:
    """Return a term of an index, or what stands in for it."""
    own = _taken(bench, name)
    if own.span is not None:
        return own
    for stand_in in index.stand_ins:
        ruled_out = any(
            compare(bench.known[i], mask) is Fit.AGAINST for i, mask in stand_in.when.items()
        )
        if stand_in.term == name and not ruled_out:
            other = _taken(bench, stand_in.by)
            if other.span is not None:
                return other._replace(stood_in=(*other.stood_in, (name, stand_in.by)))
    return own


def _taken(bench: _Bench, name: str) -> _Term:
    if name in bench.figures:
        return _Term(bench.figures[name], used=(name,))
    if name in bench.rules.indices:
        found = _result(bench, bench.rules.indices[name])
        return _Term(found.figure, found.lacks, found.used, found.stood_in)
    gone = bench.short[name].parts if name in bench.short else ()
    return _Term(None, (Lack(name, "gone" if gone else "not_measured", gone),))


def _marks(bench: _Bench, name: str) -> tuple[Marks, tuple[Lack, ...]]:
    """Return what was scored, or why there is none."""
    scored, entered = bench.rules.scored[name], bench.scored.get(name, "")
    if not entered.strip():
        gone = (scored.part,) if scored.part in bench.gone else ()
        return (), (Lack(name, "gone" if gone else "not_scored", gone),)
    try:
        found = marks.read_marks(scored, entered)
    except ValueError as error:
        return (), (Lack(name, "unreadable", said=str(error)),)
    if not any(found):
        return (), (Lack(name, "gone", (scored.part,)),)
    return found, ()


def _mean(bench: _Bench, index: Index) -> Result:
    found, lacks = _marks(bench, index.terms[0])
    if lacks:
        return Result(index.id, lacks)
    figure, counted = marks.mean(bench.rules.scored[index.terms[0]], found)
    return Result(index.id, figure=figure, counted=counted)


def _class(bench: _Bench, index: Index) -> Result:
    """Work out a class code; a class needs all its characters, known or not codable."""
    coded = [_character(bench, index, character) for character in index.characters]
    used = _used(term for _, term in coded)
    return Result(
        index.id,
        tuple(dict.fromkeys(lack for _, term in coded for lack in term.lacks)),
        characters=tuple(found for found, _ in coded),
        used=used,
        short=_short(bench, used),
    )


def _character(bench: _Bench, index: Index, character: Character) -> tuple[Coded, _Term]:
    """Code one character from what was scored, else from its figure, else from what was seen."""
    lacks: tuple[Lack, ...] = ()
    if character.scored:
        found, lacks = _marks(bench, character.scored)
        if found:
            return coding.by_marks(character, found), _Term(None)
    if character.term and not any(lack.why == "unreadable" for lack in lacks):
        term = _term(bench, index, character.term)
        if term.span is not None:
            return coding.by_figure(character, term.span), term._replace(lacks=())
        return Coded(), term._replace(lacks=lacks or term.lacks)
    about = sorted({i for code in character.codes for i in code.when})
    if about and any(bench.known[i] != bench.rules.full[i] for i in about):
        return coding.by_states(character, bench.known), _Term(None)
    return Coded(), _Term(None, lacks or tuple(_unseen(bench, i) for i in about))


def _unseen(bench: _Bench, attribute: int) -> Lack:
    found = bench.rules.attributes[attribute]
    gone = (found.part,) if found.part in bench.gone else ()
    return Lack(found.id, "gone" if gone else "not_seen", gone)


def _short(bench: _Bench, names: Sequence[str]) -> tuple[Shortfall, ...]:
    return tuple(bench.short[name] for name in names if name in bench.short)
