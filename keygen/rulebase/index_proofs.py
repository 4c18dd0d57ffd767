"""Proofs of rules/indices.yaml: limits in order, codes apart, units alike, nothing idle."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations, pairwise
from math import inf

from keygen.core.coding import cell
from keygen.core.indices import Character, Index
from keygen.core.model import Rules
from keygen.errors import Problem
from keygen.rulebase.yamlio import Document


def index_problems(rules: Rules, document: Document) -> Iterator[Problem]:
    """Prove that every index has one answer for every figure, and that nothing stands idle."""
    for index in rules.indices.values():
        for code, what, remedy in (*_zones(index), *_units(rules, index), *_groups(index)):
            yield document.problem(("indices", index.id), code, f"{index.id}: {what}", remedy)
        for i, character in enumerate(index.characters):
            for code, what, remedy in _codes(rules, character):
                place = ("indices", index.id, "characters", i)
                told = f"{index.id}: {character.label}: {what}"
                yield document.problem(place, code, told, remedy)
    yield from _idle(rules, document)


def _zones(index: Index) -> Iterator[tuple[str, str, str]]:
    for before, after in pairwise(index.zones):
        if after.high <= before.high:
            what = f"a zone up to {after.high:g} follows on one up to {before.high:g}"
            yield "K241", what, "Write zones from the lowest figure to the highest."
    if index.zones and index.zones[-1].high != inf:
        what = f"nothing is said of a figure above {index.zones[-1].high:g}"
        yield "K241", what, "Leave the last zone without an end."


def _units(rules: Rules, index: Index) -> Iterator[tuple[str, str, str]]:
    if index.figure not in ("sum", "difference", "ratio"):
        return
    units = {
        rules.measurements[t].unit if t in rules.measurements else rules.indices[t].unit
        for t in index.terms
    }
    if not units:  # that the terms are missing is told where they are read
        return
    if len(units) > 1:
        named = " and ".join(sorted(unit or "no unit" for unit in units))
        yield "K242", f"a {index.figure} of {named} means nothing", "Use one unit."
    elif index.unit != ("" if index.figure == "ratio" else next(iter(units))):
        yield "K242", f"a {index.figure} here is not in {index.unit or 'a number alone'}", ""


def _groups(index: Index) -> Iterator[tuple[str, str, str]]:
    if len(index.groups) == 1:
        yield "K243", "one function alone parts nothing", "Give two groups or more."
    for group in index.groups:
        if not group.weights:
            yield "K243", f"the function of {group.outcome} weighs nothing", "Give 'weights'."


def _codes(rules: Rules, character: Character) -> Iterator[tuple[str, str, str]]:
    if not (character.scored or character.term or any(c.when for c in character.codes)):
        yield "K244", "nothing is read for it", "Give 'scored', 'of', or 'when' with its codes."
    for one, other in combinations(character.codes, 2):
        if one.digit == other.digit:
            yield "K244", f"the code {one.digit} is given twice", "One state, one code."
        (low, high), (start, end) = cell(character, one), cell(character, other)
        if character.term and low < end and start < high:
            yield "K244", f"the codes {one.digit} and {other.digit} overlap", "Part their ranges."
        if one.mark and one.mark == other.mark:
            what = f"the codes {one.digit} and {other.digit} share the mark {one.mark!r}"
            yield "K244", what, "One mark, one code."
    if character.scored:
        marks = {mark.word for mark in rules.scored[character.scored].marks}
        left = sorted(marks - {code.mark for code in character.codes})
        if left:
            yield "K244", f"the mark {left[0]!r} has no code", "Give each mark a code."


def _idle(rules: Rules, document: Document) -> Iterator[Problem]:
    asked = {index.question for index in rules.indices.values()}
    scored = {term for index in rules.indices.values() for term in index.terms}
    scored |= {c.scored for index in rules.indices.values() for c in index.characters}
    for kind, names, used in (
        ("questions", rules.questions, asked),
        ("scored", rules.scored, scored),
    ):
        for name in names:
            if name not in used:
                what = f"no index makes use of {name!r}"
                yield document.problem((kind, name), "K245", what, "Remove it.")
