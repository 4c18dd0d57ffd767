"""Facts about standing, call, elsewhere and next look, on the shipped rules."""

from __future__ import annotations

import random
from dataclasses import replace
from math import log2

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from keygen.core.brief import Cells
from keygen.core.call import Call, Standing, call, elsewhere, judge
from keygen.core.infer import close
from keygen.core.inverted import inverted, known_in
from keygen.core.model import Rules
from keygen.core.rework import rework_signs, set_aside
from keygen.core.states import Box
from keygen.rulebase.figures import definition
from keygen.rulebase.load import shipped


def known(rules: Rules, **states: str | tuple[str, ...]) -> Box:
    """Return what follows from a few named states."""
    masks = list(rules.full)
    for name, words in states.items():
        masks[rules.index[name]] = rules.mask(name, *([words] if isinstance(words, str) else words))
    return close(rules, masks)


def test_every_type_is_found_by_its_definition(rules: Rules) -> None:
    """For every type and record, the defining states give a candidate list with that type in it.

    Where a record says that the form goes by another type's name there, that type is in the list.

    The order of proof: all types, all records, no exception.
    """
    lost = []
    for kind in rules.types.values():
        for record in kind.records:
            made = call(rules, record.region, definition(rules, kind))
            wanted = record.local_type or kind.id
            if wanted not in [judgement.type for judgement in made.candidates]:
                lost.append((kind.id, record.region, wanted))
    assert lost == []


def test_every_definition_is_consistent_with_itself(rules: Rules) -> None:
    """Held against its own definition, each type stands as consistent."""
    assert [
        kind.id
        for kind in rules.types.values()
        if judge(rules, kind, definition(rules, kind)).standing is not Standing.CONSISTENT
    ] == []


@given(st.integers(0, 10**9))
@settings(max_examples=60, deadline=None)
def test_standing_by_the_plain_reading(seed: int) -> None:
    """Standing agrees with sets compared state by state; no type is both listed and excluded."""
    rules = shipped()
    rng = random.Random(seed)
    box = rng.choice(rules.universe)
    masks = [mask if rng.random() < 0.5 else mask & -mask for mask in box]
    region = rng.choice(list(rules.regions))
    made = call(rules, region, masks)
    for kind in rules.in_region(region):
        fits = []
        for criterion in kind.defined_by:
            seen = {b for b in range(12) if masks[criterion.attribute] >> b & 1}
            allowed = {b for b in range(12) if criterion.allowed >> b & 1}
            fits.append((seen <= allowed, bool(seen & allowed)))
        if _made_over(rules, masks):
            continue
        listed = kind.id in [j.type for j in made.candidates]
        assert listed == all(some for _, some in fits)
        near = kind.id in [j.type for j in made.near_misses]
        assert near == (sum(not some for _, some in fits) == 1)


def _made_over(rules: Rules, masks: list[int]) -> bool:
    rework, none = rules.index["reworked_as"], rules.mask("reworked_as", "none")
    sharp, heavy = rules.index["resharpening"], rules.mask("resharpening", "heavy")
    return not masks[rework] & none or masks[sharp] == heavy


@given(st.integers(0, 10**9))
@settings(max_examples=60, deadline=None)
def test_knowing_less_never_loses_a_type(seed: int) -> None:
    """Leaving an observation out never removes a candidate."""
    rules = shipped()
    rng = random.Random(seed)
    kind = rng.choice(list(rules.types.values()))
    region = kind.records[0].region
    masks = list(definition(rules, kind))
    before = {j.type for j in call(rules, region, masks).candidates}
    i = rng.randrange(len(masks))
    masks[i] = rules.full[i]
    assert before <= {j.type for j in call(rules, region, masks).candidates}


def test_statuses(rules: Rules) -> None:
    """Nothing seen of the haft is untyped; many candidates are `either`, best first."""
    nothing = call(rules, "central_texas", rules.full)
    assert (nothing.status, nothing.reason, nothing.types) == ("untyped", "haft_unknown", ())
    some = call(rules, "central_texas", known(rules, haft_style="stemmed"))
    assert some.status == "either"
    assert [j.rank for j in some.candidates] == sorted(j.rank for j in some.candidates)


@pytest.fixture(scope="module")
def many_calls(rules: Rules) -> list[Call]:
    """Make calls on every definition, whole and with only its first criterion known."""
    made: list[Call] = []
    for region in rules.regions:
        for kind in rules.in_region(region):
            masks = list(definition(rules, kind))
            made.append(call(rules, region, masks))
            for criterion in kind.defined_by[1:]:
                masks[criterion.attribute] = rules.full[criterion.attribute]
                made.append(call(rules, region, masks))
    return made


@pytest.mark.parametrize("status", ["assigned", "cf.", "either"])
def test_status_follows_from_candidates(many_calls: list[Call], status: str) -> None:
    """One consistent type alone is assigned, one with something open is cf., several are either."""
    found = [c for c in many_calls if c.status == status]
    assert found
    for c in found:
        standings = [j.standing for j in c.candidates]
        if status == "assigned":
            assert standings == [Standing.CONSISTENT]
        elif status == "cf.":
            assert standings == [Standing.POSSIBLE]
        else:
            assert len(standings) > 1


def test_rework_sets_the_blade_aside(rules: Rules) -> None:
    """A drill is typed by its haft: criteria on the blade neither help nor harm it."""
    kind = rules.types["pine_tree"]
    masks = list(definition(rules, kind))
    blade = [
        c.attribute
        for c in (*kind.defined_by, *kind.usual)
        if rules.attributes[c.attribute].stability == "blade"
    ]
    assert blade
    masks[rules.index["reworked_as"]] = rules.mask("reworked_as", "drill")
    masks[rules.index["blade_edge"]] = rules.mask("blade_edge", "plain")
    made = call(rules, kind.records[0].region, masks)
    (mine,) = [j for j in made.candidates if j.type == kind.id]
    assert {c.attribute for c in mine.set_aside} == set(blade)
    assert not {c.attribute for c in (*mine.met, *mine.usual_met)} & set(blade)


def test_rare_traits_speak_against_types_that_are_silent(rules: Rules) -> None:
    """A flute on a type that says nothing of fluting is an unusual trait, not one unnoticed."""
    kind = rules.types["kirk_corner_notched"]
    spoken = {rules.attributes[c.attribute].id for c in (*kind.defined_by, *kind.usual)}
    assert "fluting" not in spoken
    masks = list(definition(rules, kind))
    for state, odd in (("none", False), ("both_faces", True)):
        masks[rules.index["fluting"]] = rules.mask("fluting", state)
        judged = judge(rules, kind, masks)
        unusual = {rules.attributes[c.attribute].id for c in judged.usual_against}
        assert ("fluting" in unusual) == odd
        assert judged.standing is Standing.CONSISTENT


def test_what_may_be_absent_speaks_only_where_it_is_seen(rules: Rules) -> None:
    """A stemmed point has no notches, so their form speaks for no type; shallow ones do.

    St. Albans is stemmed or notched, its notches shallow if it has any (Broyles 1971, from memory).
    """
    kind = rules.types["st_albans"]
    (form,) = (c for c in kind.usual if c.attribute == rules.index["notch_form"])
    assert rules.mask("notch_form", "none", "shallow") == form.allowed
    for piece, speaks in (
        (known(rules, haft_style="stemmed", stem_shape="straight"), False),
        (known(rules, haft_style="notched", notch_form="shallow"), True),
    ):
        assert (form in judge(rules, kind, piece).usual_met) is speaks


def test_rework_only_makes_smaller(rules: Rules) -> None:
    """A large drill was never a small point; a small one can have been any size."""
    kind = next(
        k
        for k in rules.types.values()
        if {c.attribute: c.allowed for c in k.defined_by}.get(rules.index["size_class"])
        == rules.mask("size_class", "small")
    )
    masks = list(definition(rules, kind))
    masks[rules.index["reworked_as"]] = rules.mask("reworked_as", "drill")
    region = kind.records[0].region
    for size, listed in (("small", True), ("large", False)):
        masks[rules.index["size_class"]] = rules.mask("size_class", size)
        assert (kind.id in call(rules, region, masks).types) == listed
    big = rules.types["savannah_river"]
    masks = list(definition(rules, big))
    masks[rules.index["reworked_as"]] = rules.mask("reworked_as", "drill")
    masks[rules.index["size_class"]] = rules.mask("size_class", "small")
    assert big.id in call(rules, big.records[0].region, masks).types


def test_elsewhere_leaves_out_the_home_region(rules: Rules) -> None:
    """Elsewhere speaks of other regions, and only of types that are consistent there."""
    masks = definition(rules, rules.types["gary"])
    found = elsewhere(rules, "central_texas", masks)
    assert found
    assert not any("central_texas" in e.regions for e in found)
    assert all(e.judgement.standing is Standing.CONSISTENT for e in found)
    assert "ozarks" in {e.judgement.type: e.regions for e in found}["gary"]


def test_judgements_are_equal_if_they_say_the_same(rules: Rules) -> None:
    """Judged anew a type gives an equal judgement; with more seen, or none at all, another one."""
    gary = rules.types["gary"]
    states = definition(rules, gary)
    one, two = judge(rules, gary, states), judge(rules, gary, states)
    assert one == two
    assert hash(one) == hash(two)
    assert len({one, two, judge(rules, gary, rules.full)}) == 2
    assert one != judge(rules, gary, rules.full)
    assert one != judge(rules, rules.types["morrow_mountain_ii"], states)
    assert one != "gary"
    assert repr(one) == "Judgement('gary', consistent)"


def test_the_closer_definition_goes_first(rules: Rules) -> None:
    """Of two types that fit alike the one whose definition leaves out more is named first."""
    gary = rules.types["gary"]
    wide = replace(gary, id="a_wide_one", defined_by=gary.defined_by[:-1], records=gary.records)
    both = replace(rules, types={"a_wide_one": wide, "gary": gary})
    made = call(both, "ozarks", definition(rules, gary))
    assert made.types == ("gary", "a_wide_one")
    one, other = made.candidates
    assert one.specificity > other.specificity > 0
    assert one.met == gary.defined_by
    only = gary.defined_by[-1]
    states = rules.full[only.attribute].bit_count()
    apart = one.specificity - other.specificity
    assert apart == pytest.approx(log2(states / only.allowed.bit_count()))


def test_where_nothing_is_known(rules: Rules) -> None:
    """In a region that nobody has heard of no type is known, and none fits."""
    states = definition(rules, rules.types["gary"])
    assert known_in(rules, "nowhere") == 0
    assert call(rules, "nowhere", states).reason == "none_fits"
    cells = Cells(rules, [lambda _: dict(enumerate(states))])
    assert cells.call(["gary"], "nowhere").reason == "none_fits"
    assert cells.call(["gary"], "ozarks").consistent == ("gary",)


def test_types_that_a_haft_defines(rules: Rules) -> None:
    """Hafted are the types with a criterion on the haft, each under its own number."""
    haft = {i for i, a in enumerate(rules.attributes) if a.stability == "haft"}
    gary = rules.types["gary"]
    blade = tuple(c for c in gary.defined_by if c.attribute not in haft)
    few = {"blade": replace(gary, id="blade", defined_by=blade), "gary": gary}
    assert inverted(replace(rules, types=few)).hafted == 0b10
    assert inverted(rules).hafted == inverted(rules).every_type


def test_signs_of_rework(rules: Rules, small_rules: Rules) -> None:
    """Rework or heavy resharpening sets the blade aside, but not what was measured of it."""
    blade = {i for i, a in enumerate(rules.attributes) if a.stability == "blade"}
    size = rules.index["size_class"]

    def aside(name: str, *states: str) -> frozenset[int]:
        masks = list(rules.full)
        masks[rules.index[name]] = rules.mask(name, *states)
        return set_aside(rules, masks, frozenset({size}))

    assert aside("reworked_as", "drill", "scraper") == blade - {size}
    assert aside("resharpening", "heavy") == blade - {size}
    assert aside("reworked_as", "none", "drill") == aside("reworked_as", "none") == frozenset()
    assert aside("resharpening", "light", "heavy") == frozenset()
    assert rework_signs(small_rules) == ()
