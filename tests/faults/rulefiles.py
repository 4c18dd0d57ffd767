"""Rule folders of which one file was changed: proved, built, and used if nothing was refused."""

from __future__ import annotations

import random
from collections.abc import Iterable, Mapping
from functools import cache
from pathlib import Path

from keygen.core.model import Rules
from keygen.errors import KeygenError, Problem
from keygen.prose import REGISTERS, describe
from keygen.rulebase.additions import OWN
from keygen.rulebase.build import build, compiled, parse_all
from keygen.rulebase.check import check
from keygen.rulebase.figures import figures
from keygen.rulebase.folder import read_folder
from keygen.rulebase.periods import period_problems
from keygen.rulebase.yamlio import Document
from keygen.specimens import record
from keygen.specimens.session import answer, begin, prompt
from keygen.specimens.terms import Lexicon
from tests.conftest import SMALL_RULES
from tests.faults.mutation import changed
from tests.faults.structure import restructured
from tests.rulebase.test_additions import FILES

MAIN = SMALL_RULES.parent.parent / "rules"
PACK = MAIN / "packs" / "great_basin"
LINES = ("a", "b", "?", "a", "u", "so far", "b", "back", "left", "30", "a", "b", "enough", "12")
CURVE = "curve/"


@cache
def _files(folder: Path) -> Mapping[str, bytes]:
    return read_folder(folder)


@cache
def _documents(folder: Path) -> Mapping[str, Document]:
    problems: list[Problem] = []
    documents = parse_all(_files(folder), problems)
    assert not problems
    return documents


def proved(chance: random.Random, folder: Path) -> None:
    """Prove a folder of which one file was changed, and use what passes for rules.

    Raises:
        KeygenError: what was refused.
    """
    files = dict(_files(folder))
    name, content = _changed(chance, files, [*files])
    if content:
        files[name] = content
    else:
        del files[name]
    problems, rules = check(files)
    if rules and not problems:
        figures(rules)
    _used(chance, _built(parse_all(files, problems), problems))


def added(chance: random.Random) -> None:
    """Lay an addition with one file changed over the small rules, and use what comes of it.

    Raises:
        KeygenError: what was refused.
    """
    own = {name: text.encode() for name, text in FILES.items()}
    name, content = _changed(chance, {**_files(SMALL_RULES), **own}, [*own])
    own[name] = content
    files = {**_files(SMALL_RULES), **{OWN + name: text for name, text in own.items()}}
    problems, _ = check(files)
    _used(chance, _built(parse_all(files, problems), problems))


def shipped(chance: random.Random) -> None:
    """Build the shipped rules with one file changed, and use them; their proofs take seconds.

    Raises:
        KeygenError: what was refused.
    """
    files = _files(MAIN)
    few = [name for name in files if not name.startswith("types/")]
    name, content = _changed(chance, files, few if chance.random() < 0.6 else [*files])
    problems: list[Problem] = []
    documents = {**_documents(MAIN), **parse_all({name: content}, problems)}
    if problems:  # to build all the rest would show nothing more
        raise KeygenError(problems)
    rules = _built(documents, problems)
    period_problems(rules, documents)
    _used(chance, rules)


def _changed(
    chance: random.Random, files: Mapping[str, bytes], names: list[str]
) -> tuple[str, bytes]:
    """Choose a file and change its bytes, or its tree; no bytes at all mean that it is gone."""
    name, other = chance.choice(names), chance.choice(names)
    how = chance.random()
    if how < 0.02:
        return name, b""
    if how < 0.05:
        return name, files[other]
    if how < 0.4 or name.startswith(CURVE) or other.startswith(CURVE):
        return name, changed(chance, files[name], files[other])
    return name, restructured(chance, files[name], files[other])


def _built(documents: Mapping[str, Document], problems: Iterable[Problem]) -> Rules:
    """Build rules as loading them does: without their proofs."""
    of_form = [one for one in problems if one.code.startswith("K00")]
    rules = build(documents, "x", of_form)
    if of_form:
        raise KeygenError(of_form)
    return compiled(rules)


def _used(chance: random.Random, rules: Rules) -> None:
    """Walk a little, and examine and describe what came of it."""
    lexicon, region = Lexicon(rules), chance.choice([*rules.regions])
    session = begin(lexicon, region, "T-1", "2026-01-02", chance.random() < 0.3)
    for _ in range(8):
        if session.finished:
            break
        prompt(session)
        session = answer(session, chance.choice(LINES)).session
    found = session.record
    text = record.to_text(rules, found)
    again = record.read_text(lexicon, text, "again")
    examined = record.examined(rules, again.piece, again.region)
    describe(rules, examined, chance.choice(REGISTERS))
