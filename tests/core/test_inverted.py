"""The index against the rules written out plainly: every judgement of it is the same."""

from __future__ import annotations

import pickle
from collections.abc import Sequence
from dataclasses import replace
from random import Random

import pytest

from keygen.core.brief import Cells, brief
from keygen.core.call import Judgement, Standing, by_region, call, elsewhere, judge
from keygen.core.examine import examine, settle
from keygen.core.infer import Contradiction, close
from keygen.core.inverted import inverted, members
from keygen.core.later import Later
from keygen.core.measure import derive, read
from keygen.core.memo import MOST, Memo
from keygen.core.model import Criterion, Rules
from keygen.core.rework import set_aside
from keygen.core.states import Box, spread
from keygen.rulebase.figures import definition
from tests.bench.rows import CellReader, attributes_told, piece_of, rows
from tests.core.plain import Judged, Plain

SPECIMENS = 2_400
BATCHES = 8
TABLE = 2_000


@pytest.fixture(scope="module")
def plain(rules: Rules) -> Plain:
    """Return the shipped rules as dictionaries of sets."""
    return Plain(rules)


def seen(rules: Rules, chance: Random) -> list[int]:
    """Draw a piece of which some was seen: doubts, slips, blades made over and all."""
    kind = chance.choice(tuple(rules.types.values()))
    box = chance.choice(rules.pieces[kind.id] if chance.random() < 0.8 else rules.universe)
    share, slips = chance.choice((0.1, 0.4, 0.7, 0.95)), chance.choice((0.0, 0.0, 0.1))
    masks = list(rules.full)
    for i, mask in enumerate(box):
        states = [1 << b for b in range(rules.full[i].bit_length())]
        if chance.random() < share:
            masks[i] = chance.choice([bit for bit in states if bit & mask])
            if chance.random() < slips:
                masks[i] = chance.choice(states)
            if chance.random() < 0.15:
                masks[i] |= chance.choice(states)
    made_over = chance.random()
    if made_over < 0.2:
        masks[rules.index["reworked_as"]] = rules.mask("reworked_as", "drill", "scraper")
    elif made_over < 0.3:
        masks[rules.index["resharpening"]] = rules.mask("resharpening", "heavy")
    elif made_over < 0.8:
        masks[rules.index["reworked_as"]] = rules.mask("reworked_as", "none")
        masks[rules.index["resharpening"]] = rules.mask("resharpening", "none", "light")
    return masks


def in_words(rules: Rules, judgement: Judgement) -> Judged:
    """Return a judgement with its criteria by attribute id."""

    def ids(criteria: Sequence[Criterion]) -> tuple[str, ...]:
        return tuple(rules.attributes[c.attribute].id for c in criteria)

    found = Judged(
        type=judgement.type,
        met=ids(judgement.met),
        open=ids(judgement.open),
        against=ids(judgement.against),
        usual_met=ids(judgement.usual_met),
        usual_against=ids(judgement.usual_against),
        set_aside=ids(judgement.set_aside),
    )
    assert found.standing == judgement.standing.name.lower()
    return found


def hold(rules: Rules, plain: Plain, known: Box, measured: frozenset[int], region: str) -> None:
    """Hold the call of one piece, with all its reasons, against the plain reading."""
    made = call(rules, region, known, None, measured)
    names = {rules.attributes[i].id for i in measured}
    states = plain.known(rules, known)
    wanted = plain.call(region, states, names)
    assert (made.status, made.reason, set(made.types)) == (
        wanted.status,
        wanted.reason,
        wanted.types,
    )
    aside = plain.set_aside(states, names)
    judged = {name: plain.judge(name, states, aside) for name in plain.regions[region]}
    listed = {j.type: in_words(rules, j) for j in made.candidates}
    assert listed == {name: j for name, j in judged.items() if not j.against}
    near = {j.type: in_words(rules, j) for j in made.near_misses}
    assert near == {name: j for name, j in judged.items() if len(j.against) == 1}
    ranks = [(j.rank, j.type) for j in made.candidates]
    assert ranks == sorted(ranks)
    told = brief(rules, region, known, measured)
    assert (told.status, told.reason) == (made.status, made.reason)
    by_standing: dict[Standing, set[str]] = {standing: set() for standing in Standing}
    for judgement in made.candidates:
        by_standing[judgement.standing].add(judgement.type)
    assert set(told.consistent) == by_standing[Standing.CONSISTENT]
    assert set(told.possible) == by_standing[Standing.POSSIBLE]


@pytest.mark.parametrize("batch", range(BATCHES))
def test_calls_equal_the_plain_reading(rules: Rules, plain: Plain, batch: int) -> None:
    """On random partial specimens closure, contradiction and call are those of the plain reading.

    With blades made over, states that were measured, and states that nobody closed over the key.
    """
    chance = Random(f"inverted {batch}")
    regions = tuple(rules.regions)
    blade = [i for i, a in enumerate(rules.attributes) if a.stability == "blade"]
    held = contradicted = weighed_in_part = 0
    while held < SPECIMENS // BATCHES:
        masks, region = seen(rules, chance), chance.choice(regions)
        closed = plain.close(plain.known(rules, masks))
        if closed is None:
            contradicted += 1
            with pytest.raises(Contradiction):
                close(rules, masks)
        else:
            known = close(rules, masks)
            assert plain.known(rules, known) == closed
            measured = frozenset(i for i in blade if chance.random() < 0.2)
            weighed_in_part += bool(set_aside(rules, known, measured))
            hold(rules, plain, known, measured, region)
            held += 1
            if chance.random() < 0.1:
                hold(rules, plain, tuple(masks), frozenset(), region)
    assert contradicted > 10
    assert weighed_in_part > 30


def test_elsewhere_equals_the_plain_reading(rules: Rules, plain: Plain) -> None:
    """Every type of every other region is listed exactly if it is consistent and rests on a haft.

    The better rank goes first, of the whole and under each region; regions stand in order.
    """
    chance = Random("elsewhere")
    lengths = set()
    for _ in range(150):
        try:
            known = close(rules, seen(rules, chance))
        except Contradiction:
            continue
        states, home = plain.known(rules, known), chance.choice(("", "ozarks", "florida"))
        aside = plain.set_aside(states)
        found = elsewhere(rules, home, known)
        wanted = {
            (region, name)
            for region, names in plain.regions.items()
            if region != home
            for name in names
            if plain.standing(name, states, aside) == "consistent"
            and plain.rests_on_haft(name, states)
        }
        assert {(region, e.judgement.type) for e in found for region in e.regions} == wanted
        placed = [(region, j.rank, j.type) for region, j in by_region(found)]
        assert len(placed) == len(wanted)
        ranks = [(e.judgement.rank, e.judgement.type) for e in found]
        assert (placed, ranks) == (sorted(placed), sorted(ranks))
        lengths.add(len(found))
    assert {0} < lengths


def test_a_judgement_does_not_depend_on_what_was_judged_before(rules: Rules) -> None:
    """Judged in any order, with or without measurements, a type stands as in fresh rules."""
    chance = Random("remembered")
    pieces = []
    for _ in range(60):
        readings = {
            name: read(f"{chance.uniform(10, 60):.1f}", "mm")
            for name in chance.sample(("length", "width", "thickness"), chance.randint(0, 3))
        }
        pieces.append((tuple(seen(rules, chance)), readings))
    again = pickle.loads(pickle.dumps(rules))  # noqa: S301 - our own rules
    for kinds, order in ((rules, pieces), (again, pieces[::-1])):
        for known, readings in order:
            aside = set_aside(rules, known, frozenset())
            for kind in list(kinds.types.values())[::17]:
                made = judge(kinds, kind, known, readings, aside)
                other = judge(again, again.types[kind.id], known, readings, aside)
                assert made == other
                inside = [readings[m.measurement].may_lie(m.low, m.high) for m in made.measures_in]
                outside = [
                    readings[m.measurement].may_lie(m.low, m.high) for m in made.measures_out
                ]
                assert (all(inside), any(outside)) == (True, False)
                taken = [m for m in kind.measures if m.measurement in readings]
                assert len(taken) == len(inside) + len(outside)


def test_cells_are_called_like_pieces(rules: Rules) -> None:
    """A row of raw cells gets the call of the piece that it describes; each text is read once."""
    names = attributes_told(rules)
    readers = [CellReader(rules, name) for name in names]
    cells = Cells(rules, readers)
    texts: list[set[str]] = [set() for _ in names]
    statuses = set()
    for row in rows(rules, TABLE, seed=5):
        line = [row.cells[name] for name in names]
        for known_texts, text in zip(texts, line, strict=True):
            known_texts.add(text)
        piece = piece_of(rules, row)
        try:
            made = examine(rules, piece, row.region).call
        except Contradiction:
            with pytest.raises(Contradiction):
                cells.call(line, row.region, piece.readings)
            statuses.add("contradiction")
            continue
        assert made is not None
        found = cells.call(line, row.region, piece.readings)
        assert (found.status, found.reason) == (made.status, made.reason)
        assert {*found.consistent, *found.possible} == {j.type for j in made.candidates}
        statuses.add(found.status)
    assert statuses == {"assigned", "cf.", "either", "untyped", "contradiction"}
    assert [reader.asked for reader in readers] == [len(known) for known in texts]


def test_measured_states_are_settled_one_after_another(rules: Rules, plain: Plain) -> None:
    """What is measured narrows what the eye left open, one rule after another."""
    narrowed = refused = 0
    for row in rows(rules, 1_000, seed=11):
        piece = piece_of(rules, row)
        masks = list(rules.full)
        for i, observation in piece.observations.items():
            masks[i] = observation.mask
        closed = plain.close(plain.known(rules, masks))
        if closed is None or not piece.readings:
            continue
        made = examine(rules, piece, row.region)
        rest = close(rules, masks)
        for i, (mask, _) in derive(rules, piece.readings, rest).items():
            if masks[i] != rules.full[i]:
                continue
            attribute = rules.attributes[i]
            states = closed.get(attribute.id, plain.every[attribute.id])
            after = plain.close({**closed, attribute.id: states & set(attribute.ids(mask))})
            if after is None:
                refused += 1
            else:
                narrowed += 1
                closed = after
        assert plain.known(rules, made.known) == closed
    assert narrowed > 50
    assert refused > 5


def test_what_was_seen_and_what_follows_say_the_same(rules: Rules) -> None:
    """The word of what was observed leaves the boxes, states and types of all that follows."""
    index, measured = inverted(rules), 0
    for row in rows(rules, 400, seed=17):
        piece = piece_of(rules, row)
        by_eye = list(rules.full)
        for i, observation in piece.observations.items():
            by_eye[i] = observation.mask
        try:
            known, derived, _, found = settle(rules, index.word(by_eye), piece.readings)
        except Contradiction:
            continue
        assert close(rules, known) == known == index.unpack(found.states)
        followed = index.sort(known)
        assert (found.boxes, found.states) == (followed.boxes, followed.states)
        assert index.fitting(found.word, found.boxes, index.every_type) == followed.fitting
        measured += bool(derived)
    assert measured > 30


def test_a_measured_size_is_weighed_though_the_blade_is_not(rules: Rules) -> None:
    """Of a drill only what was measured of the blade counts, in the call and in its brief form."""
    size, names = rules.index["size_class"], attributes_told(rules)
    cells = Cells(rules, [CellReader(rules, name) for name in names])
    held = 0
    for row in rows(rules, 600, seed=3):
        drill = replace(row, cells={**row.cells, "reworked_as": "drill", "size_class": ""})
        piece = piece_of(rules, drill)
        try:
            made = examine(rules, piece, row.region)
        except Contradiction:
            continue
        if made.call is None or size not in made.derived:
            continue
        states = {c.attribute for j in made.call.candidates for c in j.set_aside}
        assert size not in states
        line = [drill.cells[name] for name in names]
        found = cells.call(line, row.region, piece.readings)
        assert {*found.consistent, *found.possible} == {j.type for j in made.call.candidates}
        sized = [j for j in made.call.candidates if any(c.attribute == size for c in j.met)]
        held += bool(sized)
    assert held > 20


def test_elsewhere_rests_on_the_haft(rules: Rules) -> None:
    """A type that is defined by its blade alone is listed nowhere, however well it fits."""
    gary = rules.types["gary"]
    known = definition(rules, gary)
    assert elsewhere(rules, "", known)
    size = tuple(c for c in gary.defined_by if c.attribute == rules.index["size_class"])
    blades = replace(rules, types={"gary": replace(gary, defined_by=size)})
    assert judge(blades, blades.types["gary"], known).standing is Standing.CONSISTENT
    assert elsewhere(blades, "", known) == ()


def test_later_is_the_tuple_that_it_becomes() -> None:
    """What is worked out later is worked out once, and is then like the tuple itself."""
    asked = []

    def work() -> tuple[int, ...]:
        asked.append(1)
        return (3, 5, 8)

    later = Later(work)
    assert not asked
    assert (len(later), later[1], later[1:], list(later)) == (3, 5, (5, 8), [3, 5, 8])
    assert later == (3, 5, 8) == pickle.loads(pickle.dumps(later))  # noqa: S301
    assert later == Later(work) != Later(tuple)
    assert hash(later) == hash((3, 5, 8))
    assert len(asked) == 2


def test_tables_do_not_grow_without_end() -> None:
    """A table of answers that is full starts anew, and still answers rightly."""
    asked = []

    def double(number: int) -> int:
        asked.append(number)
        return 2 * number

    memo: Memo[int, int] = Memo(double)
    assert [memo[n] for n in range(MOST + 10)] == [2 * n for n in range(MOST + 10)]
    assert len(memo) == 10
    assert memo[0] == 0
    assert asked == [*range(MOST + 10), 0]


def test_members_are_the_numbers_of_the_bits() -> None:
    """The members of a bit set are the exponents of the powers of two that it is the sum of."""
    assert list(members(0)) == []
    assert list(members(2**0 + 2**3 + 2**200)) == [0, 3, 200]


def test_what_boxes_show_together(rules: Rules) -> None:
    """The states of several boxes are the union of their masks, packed and by attribute."""
    index, chance = inverted(rules), Random("union")
    for _ in range(50):
        chosen = chance.sample(range(len(rules.universe)), chance.randint(1, 9))
        boxes = sum(1 << b for b in chosen)
        wanted = spread(rules.universe[b] for b in chosen)
        assert index.unpack(index.union[boxes]) == wanted
        assert index.union[boxes] == index.pack(wanted)
