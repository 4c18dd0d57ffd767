"""Sentences that were kept are those that would be made anew, whatever was worded before."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from copy import copy
from dataclasses import replace
from functools import cache, partial
from itertools import repeat
from random import Random
from typing import Any

import pytest

from keygen.core.examine import AnalystCall, Examination, Piece, examine
from keygen.core.infer import Contradiction
from keygen.core.measure import Reading, read
from keygen.core.model import ABSENT, Rules
from keygen.core.nextlook import NextLook
from keygen.core.observe import How, Observation
from keygen.prose import describe, describe_all, phrasebook, sentences
from keygen.prose.facts import Page
from keygen.prose.phrasebook import Phrasebook, Sentence
from keygen.prose.render import slots
from keygen.prose.sights import sights
from keygen.rulebase.load import shipped
from tests.bench.rows import piece_of, rows
from tests.prose import pieces

HOWS: tuple[How, ...] = ("seen", "unsure", "missing", "measured", "implied", "not_asked")
REGISTERS = ("report", "note", "catalogue")
DETAILS = ("material", "colour", "site", "unit", "level", "observer", "date")
TEXTS = ("", "chert", "unknown", "10YR 5/1", "grey", " 2 ")
CHANGES = 14  # of each piece
Told = tuple[Sentence, ...]


def reading(chance: Random, unit: str) -> Reading:
    """Draw a measurement, some of them taken across a break."""
    return read(f"{chance.uniform(2, 90):.1f}{chance.choice(('', '', '+'))}", unit)


def drawn(chance: Random, rules: Rules) -> Piece:
    """Draw a piece with any sets of states, ways of seeing them, figures and words."""
    observed = {}
    sure = chance.random()
    for i, full in enumerate(rules.full):
        if chance.random() < 0.6:
            mask = 1 << chance.randrange(full.bit_length())
            if chance.random() > sure:
                mask |= chance.randint(1, full)
            unseen: How = chance.choice(("missing", "unsure"))
            observed[i] = Observation(mask, "seen" if mask != full else unseen)
    if chance.random() < 0.3:  # no damage at all
        items = (i for i, attribute in enumerate(rules.attributes) if attribute.item_of)
        observed |= {i: Observation(ABSENT, "seen") for i in items}
    units = {name: m.unit for name, m in rules.measurements.items()}
    taken = {n: reading(chance, unit) for n, unit in units.items() if chance.random() < 0.4}
    details = {name: chance.choice(TEXTS) for name in DETAILS if chance.random() < 0.4}
    notes = chance.choice(("", "", "Glued."))
    return Piece(
        chance.choice(("", "T-1", "x y")), observed, taken, details, analyst(chance), notes
    )


def analyst(chance: Random) -> AnalystCall | None:
    """Draw an analyst's own call, by a name that the rules know or do not."""
    name = chance.choice(("alder stemmed", "Birch Stemmed", "Gary", "a knife", ""))
    return AnalystCall(name, chance.choice(("", "as drawn.")), "A. T.") if name else None


def pages(chance: Random, rules: Rules, count: int) -> Iterator[Examination]:
    """Draw pieces, and of each some that differ from it in one thing recorded or found."""
    found = 0
    while found < count:
        piece, region = drawn(chance, rules), chance.choice(("", *rules.regions))
        try:
            base = examine(rules, piece, region)
        except Contradiction:
            continue
        found += 1
        yield base
        yield from changed(chance, rules, base)


def changed(chance: Random, rules: Rules, base: Examination) -> Iterator[Examination]:
    """Change one thing at a time: first what was recorded, then what was found.

    What was found is changed on from the last page or from the first one.
    """
    for change in chance.choices(RECORDED, k=CHANGES):
        try:
            yield examine(rules, change(chance, rules, base.piece), base.region)
        except Contradiction:
            continue
    page = base
    for alter in chance.choices(FOUND, k=CHANGES):
        page = alter(chance, rules, page if chance.random() < 0.7 else base)
        yield page


def _observed(chance: Random, rules: Rules, piece: Piece) -> Piece:
    i = chance.randrange(len(rules.full))
    mask = chance.randint(1, rules.full[i])
    unseen: How = chance.choice(("missing", "unsure"))
    seen = Observation(mask, "seen" if mask != rules.full[i] else unseen)
    return replace(piece, observations={**piece.observations, i: seen})


def _measured(chance: Random, rules: Rules, piece: Piece) -> Piece:
    name = chance.choice(tuple(rules.measurements))
    taken = {**piece.readings, name: reading(chance, rules.measurements[name].unit)}
    return replace(piece, readings=taken)


def _unmeasured(chance: Random, _rules: Rules, piece: Piece) -> Piece:
    lost = chance.choice((*piece.readings, ""))
    return replace(piece, readings={n: r for n, r in piece.readings.items() if n != lost})


def _detailed(chance: Random, _rules: Rules, piece: Piece) -> Piece:
    return replace(piece, details={**piece.details, chance.choice(DETAILS): chance.choice(TEXTS)})


def _named(chance: Random, _rules: Rules, piece: Piece) -> Piece:
    return replace(piece, label=chance.choice(("", "T-1", "T-2")), analyst=analyst(chance))


def _noted(chance: Random, _rules: Rules, piece: Piece) -> Piece:
    return replace(piece, notes=chance.choice(("", "Glued.", "Glued \n twice.")))


def _seen_otherwise(chance: Random, rules: Rules, base: Examination) -> Examination:
    observations = list(base.observations)
    i = chance.randrange(len(observations))
    mask = chance.choice((observations[i].mask, chance.randint(1, rules.full[i])))
    observations[i] = Observation(mask, chance.choice(HOWS), chance.choice(((), ("stem_runs",))))
    return replace(base, observations=tuple(observations))


def _parts_gone(chance: Random, rules: Rules, base: Examination) -> Examination:
    parts = [*rules.parts, *(rules.attributes[look.attribute].part for look in base.looks[:1])]
    return replace(base, gone=base.gone ^ {chance.choice(parts)})


def _called_otherwise(chance: Random, _rules: Rules, base: Examination) -> Examination:
    """Leave out or reorder candidates and near misses, or criteria of theirs."""
    if base.call is None:
        return base
    kept = [j for j in base.call.candidates if chance.random() < 0.8]
    for flags in ("shared", "_lane", "_flags", "_weighed"):
        if kept and chance.random() < 0.3:
            kept[0] = copy(kept[0])
            mask = chance.getrandbits(256) | chance.getrandbits(256)
            setattr(kept[0], flags, getattr(kept[0], flags) & mask)
    if kept and chance.random() < 0.3:
        kept[0] = copy(kept[0])
        kept[0].measures_out = tuple(m for m in kept[0].measures_out if chance.random() < 0.5)
    if chance.random() < 0.3:
        chance.shuffle(kept)
    near = [j for j in base.call.near_misses if chance.random() < 0.8]
    types = tuple(j.type for j in kept)
    status: Any = "untyped" if not kept else chance.choice(("assigned", "cf."))
    status = "either" if len(kept) > 1 else status
    reason: Any = "" if kept else "none_fits"
    if chance.random() < 0.1:
        types, status, reason = (), "untyped", "haft_unknown"
    call = replace(
        base.call,
        status=status,
        reason=reason,
        types=types,
        candidates=tuple(kept),
        near_misses=tuple(near),
    )
    return replace(base, call=call)


def _contradicted_otherwise(chance: Random, rules: Rules, base: Examination) -> Examination:
    found = [
        replace(d, seen=chance.randint(1, rules.full[d.attribute]))
        for d in base.disagreements
        if chance.random() < 0.8
    ]
    return replace(base, disagreements=tuple(found))


def _fitting_otherwise(chance: Random, _rules: Rules, base: Examination) -> Examination:
    lost = {e.judgement.type for e in base.elsewhere if chance.random() < 0.2}
    return replace(base, elsewhere=tuple(e for e in base.elsewhere if e.judgement.type not in lost))


def _looking_otherwise(chance: Random, rules: Rules, base: Examination) -> Examination:
    i, left = chance.randrange(len(rules.full)), len(base.call.types) if base.call else 1
    look = NextLook(i, chance.uniform(0.2, 1) * left, chance.randint(1, 6), chance.random() < 0.5)
    return replace(base, looks=(look, *base.looks))


RECORDED: Sequence[Callable[[Random, Rules, Piece], Piece]] = (
    *(_observed, _observed, _observed, _measured, _measured, _unmeasured),
    *(_detailed, _named, _noted),
)
FOUND: Sequence[Callable[[Random, Rules, Examination], Examination]] = (
    *(_seen_otherwise, _seen_otherwise, _seen_otherwise, _seen_otherwise),
    *(_parts_gone, _called_otherwise, _called_otherwise, _contradicted_otherwise),
    *(_fitting_otherwise, _looking_otherwise),
)


def anew(rules: Rules, page: Examination, register: str) -> Told:
    """Word a piece under rules of which nothing was worded before."""
    return sentences(replace(rules), page, register)


def test_kept_sentences_are_those_made_anew() -> None:
    """Pieces that differ in one thing are worded by a warm book as by a new one, field by field."""
    chance, known, compared = Random(1), pieces.rules(), 0
    for page in pages(chance, known, 80):
        register = chance.choice(REGISTERS)
        assert sentences(known, page, register) == anew(known, page, register)
        compared += 1
    assert compared > 2000


def test_a_page_tells_what_was_observed() -> None:
    """A page has a voice for each attribute; what has none was not looked at or says nothing."""
    chance, known, gaps = Random(7), pieces.rules(), 0
    for found in pages(chance, known, 40):
        page, every = Page(known, found), sights(known).read(found.observations)
        assert page.voices == [seen.voice for seen in every]
        assert page.said == {seen.id for seen in every if seen.spoken}
        assert [page.seen(i) for i in range(len(every))] == every
        assert [page[a.id] for a in known.attributes] == every
        unsaid = {seen.id for seen in page.unsaid}
        assert {seen.id for seen in every if seen.gap or seen.doubtful} <= unsaid
        assert page.said.isdisjoint(unsaid)
        gaps += any(seen.gap for seen in every)
    assert gaps > 100


@cache
def met() -> tuple[Examination, ...]:
    """Return pieces under the shipped rules, and of each some that differ from it in one thing."""
    known, chance = shipped(), Random(2)
    found = []
    for row in rows(known, 120):
        piece = piece_of(known, row)
        if chance.random() < 0.5:
            piece = replace(piece, analyst=analyst(chance), details={"material": "chert"})
        try:
            base = examine(known, piece, chance.choice((row.region, row.region, "")))
        except Contradiction:
            continue
        found += [base, *changed(chance, known, base)]
    return tuple(found)


def test_order_does_not_matter() -> None:
    """Two books under the shipped rules that met the same pieces in opposite order agree on all.

    Where grounds leave out what a sentence depends on, the first piece decides for the others.
    """
    known, found = shipped(), met()
    assert len(found) > 2000
    one, other = replace(known), replace(known)
    for register in REGISTERS:
        forward = [sentences(one, page, register) for page in found]
        backward = [sentences(other, page, register) for page in reversed(found)]
        assert forward == backward[::-1]


def test_poor_grounds_would_be_found_out() -> None:
    """Among the pieces drawn each slot is told in more than one way, so its grounds matter."""
    told: dict[str, set[str]] = {}
    small = pieces.rules()
    for known, found in ((shipped(), met()), (small, pages(Random(1), small, 10))):
        for page in map(Page, repeat(known), found):
            for name, slot in slots(known).items():
                if (grounds := slot.grounds(page)) is not None:
                    for fact in slot.facts(known, grounds):
                        told.setdefault(name, set()).add(repr((fact.values, fact[2:7])))
    alike = {name for name in slots(small) if len(told.get(name, ())) < 2}
    assert alike == {"no_region", "notes", "others"}  # no values; the piece's own; no rule pack


def test_many_at_once() -> None:
    """Pieces worded together read as when they are worded one by one, in every register."""
    known, found = replace(shipped()), met()[:200]
    for register in REGISTERS:
        alone = [describe(shipped(), page, register) for page in found]
        assert describe_all(known, found, register) == alone
    assert describe_all(known, found[:3], "account") == [
        describe(shipped(), page, "account") for page in found[:3]
    ]
    assert describe_all(known, ()) == []


def test_threads_share_a_book() -> None:
    """Pieces worded in several threads at once read as when they are worded one by one."""
    known, found = replace(shipped()), met()[:300]
    alone = [describe(shipped(), page) for page in found]
    with ThreadPoolExecutor(4) as pool:
        together = list(pool.map(partial(describe, known), found))
    assert together == alone


def test_book_stays_small(monkeypatch: pytest.MonkeyPatch) -> None:
    """A book that meets ever new pieces keeps no more sentences of a slot than it may."""
    monkeypatch.setattr(phrasebook, "KEPT", 50)
    known, found = shipped(), met()
    slot, kept = replace(slots(known)["call"], again=True), list[int]()
    book = Phrasebook(known, [["call"]], {"call": slot}, lambda _: str, str.strip)
    for page in found[:400]:
        book.told([page])
        kept.append(book.kept)
    assert 25 < max(kept) <= 50
