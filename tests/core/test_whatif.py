"""What if, against trying everything: single changes, observations left out, all smaller sets."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from itertools import combinations
from random import Random

import pytest

from keygen.core.call import Call, call
from keygen.core.examine import Examination, Piece, examine
from keygen.core.infer import Contradiction, close
from keygen.core.measure import derive, read
from keygen.core.model import Rules
from keygen.core.observe import Observation
from keygen.core.rework import set_aside
from keygen.core.smallest import _apart, _hitting
from keygen.core.whatif import (
    Changes,
    Outcome,
    Smallest,
    changes,
    haft_only,
    outcome,
    rests_on,
    smallest,
    what_if,
)

REGIONS = ("carolina_piedmont", "ozarks", "southern_plains")
TYPES = 6  # so many of each region: enough to be told apart, few enough to try everything
SPECIMENS = 2_000
READINGS = ("neck_width", "base_width", "haft_length", "width", "length", "thickness")
Told = tuple[str, str, frozenset[str]]


@pytest.fixture(scope="module")
def few(rules: Rules) -> dict[str, Rules]:
    """Return, for some regions, the shipped key and vocabulary with a few of the region's types."""
    chance = Random("types")
    return {
        region: replace(
            rules,
            types={kind.id: kind for kind in chance.sample(rules.in_region(region), TYPES)},
            regions={region: rules.regions[region]},
        )
        for region in REGIONS
    }


def specimens(
    few: Mapping[str, Rules], seed: str, count: int, most: int, whole: float = 0.0
) -> Iterator[Examination]:
    """Draw pieces that the key can describe, with a few of their attributes recorded.

    Most are drawn from what fits a type, so that there is a call to change; a share of `whole`
    shows all that defines one. Some states are left open with a second one, some pieces are
    measured, and some were made over.
    """
    chance = Random(seed)
    while count:
        region = chance.choice(REGIONS)
        rules = few[region]
        kind = rules.types[chance.choice(tuple(rules.types))]
        box = chance.choice(rules.pieces[kind.id] if chance.random() < 0.8 else rules.universe)
        attributes = range(len(rules.attributes))
        haft = [i for i in attributes if rules.attributes[i].stability == "haft"]
        other = [i for i in attributes if rules.attributes[i].stability in ("blade", "finish")]
        size = chance.randint(2, most - 1)
        chosen = {*chance.sample(haft, size), chance.choice(other)}
        if chance.random() < whole:
            chosen = {c.attribute for c in kind.defined_by}
        elif chance.random() < 0.15:
            chosen.add(rules.index[chance.choice(("reworked_as", "resharpening"))])
        observed = {}
        for i in sorted(chosen):
            bits = tuple(rules.attributes[i].bits.values())
            mask = chance.choice([bit for bit in bits if bit & box[i]])
            mask |= chance.choice(bits) if chance.random() < 0.1 else 0
            observed[i] = Observation(mask, "seen")
        readings = {}
        if chance.random() < 0.1:
            taken = chance.sample(READINGS, 3)
            readings = {name: read(f"{chance.uniform(8, 30):.1f}", "mm") for name in taken}
        yield examine(rules, Piece(observations=observed, readings=readings), region)
        count -= 1


def told(called: Call | Outcome | None) -> Told:
    """Return what makes a call another: status, reason and the types whatever their order."""
    assert called is not None
    return (called.status, called.reason, frozenset(called.types))


def facts(rules: Rules, examination: Examination) -> dict[int, int]:
    """Return the masks that were observed, by eye or by measurement, with nothing that follows."""
    masks = dict(enumerate(rules.full))
    masks |= {i: o.mask for i, o in examination.piece.observations.items()}
    by_eye = close(rules, tuple(masks.values()))
    measured = derive(rules, examination.piece.readings, by_eye)
    masks |= {i: measured[i][0] for i in examination.derived}
    return {i: mask for i, mask in masks.items() if mask != rules.full[i]}


def alone(rules: Rules, examination: Examination, some: Mapping[int, int]) -> Told:
    """Return the call on some facts alone."""
    known = close(rules, [some.get(i, full) for i, full in enumerate(rules.full)])
    measured = frozenset(i for i in examination.derived if i in some)
    return told(call(rules, examination.region, known, {}, measured))


def every_change(rules: Rules, examination: Examination) -> tuple[dict[tuple[int, int], Told], int]:
    """Return the call after every single change, by attribute and state, and the impossible ones.

    Every changed piece is worked out from the beginning; examined, if there are measurements.
    """
    readings, full = examination.piece.readings, tuple(enumerate(rules.full))
    found, impossible = {}, 0
    for i, observation in enumerate(examination.observations):
        if observation.how not in ("seen", "unsure", "measured"):
            continue
        for bit in rules.attributes[i].bits.values():
            if bit == observation.mask:
                continue
            seen = {**examination.piece.observations, i: Observation(bit, "seen")}
            measured = {i} & examination.derived.keys()  # what was measured before is so still
            try:
                known = close(rules, [seen[j].mask if j in seen else m for j, m in full])
                if readings:
                    then = examine(rules, Piece(observations=seen, readings=readings))
                    known, measured = then.known, measured | then.derived.keys()
            except Contradiction:
                impossible += 1
                continue
            found[i, bit] = told(call(rules, examination.region, known, {}, frozenset(measured)))
    return found, impossible


def test_changes_equal_brute_force(few: Mapping[str, Rules]) -> None:
    """On 2,000 random partial specimens the changes are those that trying every state finds."""
    changing = tried = measured = 0
    for examination in specimens(few, "changes", SPECIMENS, 4):
        rules = few[examination.region]
        wanted, impossible = every_change(rules, examination)
        now = told(examination.call)
        found = changes(rules, examination)
        given = {
            (change.attribute, bit): told(change.outcome)
            for change in found.found
            for bit in rules.attributes[change.attribute].bits.values()
            if change.states & bit
        }
        assert given == {key: then for key, then in wanted.items() if then != now}
        assert (found.tried, found.impossible) == (len(wanted) + impossible, impossible)
        changing, tried = changing + len(given), tried + found.tried
        measured += len(examination.derived)
    assert min(changing, tried - changing, measured) > 100


def test_left_out_equals_brute_force(few: Mapping[str, Rules]) -> None:
    """A call rests on exactly those observations without which the others give another call."""
    for examination in specimens(few, "left out", 300, 9):
        rules = few[examination.region]
        every = facts(rules, examination)
        wanted = {i: alone(rules, examination, {**every, i: rules.full[i]}) for i in every}
        found = {d.attribute: told(d.outcome) for d in rests_on(rules, examination)}
        now = told(examination.call)
        assert found == {i: then for i, then in wanted.items() if then != now}


def test_no_smaller_set_settles_it(few: Mapping[str, Rules]) -> None:
    """The smallest set gives the call alone; every smaller set of observations gives another."""
    exact = assigned = 0
    for examination in specimens(few, "smallest", 250, 7, 0.3):
        rules, now = few[examination.region], told(examination.call)
        every, found = facts(rules, examination), smallest(rules, examination)
        if now[1] == "haft_unknown":
            assert (found.call, found.types) == (None, None)
            continue
        assert found.call is not None
        assert found.types is not None
        some = {i: every[i] for i in found.call.attributes}
        assert alone(rules, examination, some) == now
        fewer = {i: every[i] for i in found.types.attributes}
        assert alone(rules, examination, fewer)[1:] == now[1:]
        made_over = bool(set_aside(rules, examination.known, frozenset()))
        assert found.call.exact is found.types.exact is not made_over
        exact += found.call.exact
        assigned += now[0] == "assigned"
        if not found.call.exact:
            continue
        for size, wanted in ((len(some) - 1, now), (len(fewer) - 1, now[1:])):
            for chosen in combinations(every, size) if size >= 0 else ():
                then = alone(rules, examination, {i: every[i] for i in chosen})
                assert then[-len(wanted) :] != wanted
    assert min(exact, assigned) > 20


def test_none_of_an_inexact_set_can_be_spared(few: Mapping[str, Rules]) -> None:
    """Where the blade was made over, the set given still cannot lose a single observation."""
    seen = 0
    for examination in specimens(few, "spared", 400, 7):
        rules, now = few[examination.region], told(examination.call)
        found = smallest(rules, examination).call
        if found is None or found.exact:
            continue
        every = facts(rules, examination)
        for i in found.attributes:
            rest = {j: every[j] for j in found.attributes if j != i}
            assert alone(rules, examination, rest) != now
        seen += 1
    assert seen > 5


def test_search_of_the_fewest() -> None:
    """A set that meets every demand is the smallest; a demand that nothing meets has none."""
    demands = [frozenset(d) for d in ((1, 2), (2, 3), (4, 5), (5, 6), (1, 3))]
    found = _hitting(demands, range(1, 7))
    assert found is not None
    assert sorted(found) == [1, 2, 5]
    assert _hitting([], range(3)) == ()
    assert _hitting([frozenset()], range(3)) is None


def test_the_call_in_every_region(rules: Rules) -> None:
    """The table by region is the call that an examination for that region gives."""
    seen = {
        rules.index[name]: Observation(rules.mask(name, state), "seen")
        for name, state in (
            ("haft_style", "stemmed"),
            ("stem_shape", "contracting"),
            ("base_shape", "rounded"),
            ("haft_grinding", "none"),
        )
    }
    piece = Piece(observations=seen, readings={"length": read("54.6", "mm")})
    found = what_if(rules, examine(rules, piece))
    assert (found.call, found.haft_only, found.smallest.call) == (None, None, None)
    assert list(found.regions) == list(rules.regions)
    for region, given in found.regions.items():
        called = examine(rules, piece, region).call
        assert called is not None
        assert given == outcome(called)
        assert given.types == called.types


def test_haft_alone_does_not_look_at_the_blade(few: Mapping[str, Rules]) -> None:
    """The call on the haft alone is what the haft criteria and the haft observations give."""
    differs = 0
    for examination in specimens(few, "haft", 150, 7, 0.3):
        rules = few[examination.region]
        stay = {i for i, a in enumerate(rules.attributes) if a.stability == "haft"}
        some = {i: mask for i, mask in facts(rules, examination).items() if i in stay}
        piece = Piece(observations={i: Observation(m, "seen") for i, m in some.items()})
        kinds = {
            name: replace(k, defined_by=tuple(c for c in k.defined_by if c.attribute in stay))
            for name, k in rules.types.items()
        }
        wanted = examine(replace(rules, types=kinds), piece, examination.region).call
        assert told(haft_only(rules, examination)) == told(wanted)
        differs += told(wanted) != told(examination.call)
    assert differs > 20


def test_without_a_region_nothing_can_change(rules: Rules) -> None:
    """Without a call there is nothing to change, to rest on or to be left of it."""
    style = rules.index["haft_style"]
    seen = {style: Observation(rules.mask("haft_style", "stemmed"), "seen")}
    made = examine(rules, Piece(observations=seen))
    assert changes(rules, made) == Changes((), 0, 0)
    assert rests_on(rules, made) == ()
    assert smallest(rules, made) == Smallest(None, None)
    assert haft_only(rules, made) is None
    found = what_if(rules, made)
    assert (found.changes, found.dropped, found.idle) == (Changes((), 0, 0), (), ())
    assert (found.call, found.smallest) == (None, Smallest(None, None))


def test_all_answers_together(few: Mapping[str, Rules]) -> None:
    """What is told together is what is told one by one; idle is what the call does not rest on."""
    idle = measured = 0
    for examination in specimens(few, "together", 120, 7, 0.3):
        rules = few[examination.region]
        found = what_if(rules, examination)
        assert examination.call is not None
        assert found.call == outcome(examination.call)
        assert found.changes == changes(rules, examination)
        assert found.dropped == rests_on(rules, examination)
        assert found.smallest == smallest(rules, examination)
        assert found.haft_only == haft_only(rules, examination)
        bearing = {dropped.attribute for dropped in found.dropped}
        assert found.idle == tuple(sorted(facts(rules, examination).keys() - bearing))
        assert found.regions[examination.region] == found.call
        idle, measured = idle + len(found.idle), measured + len(examination.derived)
    assert min(idle, measured) > 2


def test_measured_states_count_in_every_region(rules: Rules) -> None:
    """A size that was measured is weighed of a drill in the table by region too."""
    kind = rules.types["gary"]
    box = rules.pieces["gary"][0]
    seen = {
        i: Observation(mask & -mask, "seen")
        for i, mask in enumerate(box)
        if rules.attributes[i].stability == "haft"
    }
    seen[rules.index["reworked_as"]] = Observation(rules.mask("reworked_as", "drill"), "seen")
    region = kind.records[0].region
    thin = {"neck_width": read("6.0", "mm"), "thickness": read("4.0", "mm")}
    made = examine(rules, Piece(observations=seen, readings=thin), region)
    assert rules.index["size_class"] in made.derived
    assert made.call is not None
    assert what_if(rules, made).regions[region] == outcome(made.call)
    judged = examine(rules, Piece(observations=seen), region).call
    assert judged is not None
    assert "gary" in judged.types
    assert "gary" not in made.call.types


def test_a_search_that_grows_too_long(
    few: Mapping[str, Rules], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where the search is given up the set still gives the call, and is not said to be smallest."""
    monkeypatch.setattr("keygen.core.smallest.MOST_STEPS", 0)
    seen = 0
    for examination in specimens(few, "too long", 60, 7, 0.3):
        rules, now = few[examination.region], told(examination.call)
        found = smallest(rules, examination).call
        if found is None or not found.attributes:
            continue
        every = facts(rules, examination)
        assert not found.exact
        assert list(found.attributes) == sorted(found.attributes)
        assert alone(rules, examination, {i: every[i] for i in found.attributes}) == now
        for i in found.attributes:
            rest = {j: every[j] for j in found.attributes if j != i}
            assert alone(rules, examination, rest) != now
        seen += 1
    assert seen > 20


def test_facts_that_share_nothing() -> None:
    """Demands that share no fact need one fact each; of equal sets the earlier facts are taken."""
    assert _apart([frozenset(d) for d in ((1, 2, 3), (4,), (1, 5), (6, 7))]) == 3
    assert _apart([]) == 0
    demands = [frozenset(d) for d in ((1, 2), (3, 4))]
    assert _hitting(demands, (2, 4, 1, 3)) == (2, 4)
    assert _hitting(demands, (1, 2, 3, 4)) == (1, 3)
