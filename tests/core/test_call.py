"""Facts about standing, call, elsewhere and next look, on the shipped rules."""

from __future__ import annotations

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from keygen.core.call import Call, Standing, call, elsewhere, judge
from keygen.core.infer import close
from keygen.core.model import Rules
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
    assert all(e.region != "central_texas" for e in found)
    assert all(e.judgement.standing is Standing.CONSISTENT for e in found)
    assert ("ozarks", "gary") in [(e.region, e.judgement.type) for e in found]
