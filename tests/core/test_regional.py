"""Facts about the keys to the types of a region, held against the definitions themselves."""

from __future__ import annotations

import random
from collections.abc import Iterator, Mapping
from dataclasses import replace
from itertools import permutations
from math import log2

import pytest

from keygen.core.applies import conditional
from keygen.core.call import Standing, call
from keygen.core.lengths import lengths
from keygen.core.model import Rules, Type
from keygen.core.regional import (
    Group,
    RegionalKey,
    RegionalLead,
    _halves,
    _left,
    _runs,
    _worth,
    regional_key,
)
from keygen.core.separate import form
from keygen.core.states import Box, narrow, volume
from keygen.rulebase.load import shipped
from tests.core.test_separate import criterion, with_states

REGIONS = tuple(shipped().regions)
EVERY_REGION = pytest.mark.parametrize("region", REGIONS)


@pytest.fixture(scope="module")
def keys(rules: Rules) -> Mapping[str, RegionalKey]:
    """Return the key to every region."""
    return {region: regional_key(rules, region) for region in REGIONS}


def arrivals(
    key: RegionalKey, box: Box, here: RegionalLead | None = None
) -> Iterator[tuple[Group, Box]]:
    """Yield the groups that pieces in a box come out at, with the pieces that do."""
    here = here or key.start
    if here.group:
        yield key.groups[here.group - 1], box
        return
    couplet = key.couplets[here.couplet - 1]
    one, other = (lead.states for lead in couplet.leads)
    assert not one & other
    assert not box[couplet.attribute] & ~(one | other), "a piece of a type finds no lead"
    for lead in couplet.leads:
        onward = narrow(box, {couplet.attribute: lead.states})
        if onward:
            yield from arrivals(key, onward, lead)


def single(rng: random.Random, box: Box) -> Box:
    """Return one piece out of a box."""
    return tuple(1 << rng.choice([b for b in range(m.bit_length()) if m >> b & 1]) for m in box)


@EVERY_REGION
def test_every_type_comes_out_where_its_name_stands(
    rules: Rules, keys: Mapping[str, RegionalKey], region: str
) -> None:
    """All that a definition allows ends in groups that name the type; no other group names it."""
    key = keys[region]
    named = {(kind, group.number) for group in key.groups for kind in group.types}
    found = {
        (kind.id, group.number)
        for kind in rules.in_region(region)
        for box in rules.pieces[kind.id]
        for group, _ in arrivals(key, box)
        if kind.id in group.types
    }
    assert found == named
    for kind in rules.in_region(region):
        for box in rules.pieces[kind.id]:
            assert all(kind.id in group.types for group, _ in arrivals(key, box))


@EVERY_REGION
def test_crossing_off_leaves_the_types_whose_definition_is_met(
    rules: Rules, keys: Mapping[str, RegionalKey], region: str
) -> None:
    """Of a group, those types are left to a piece that are consistent with all of it."""
    rng = random.Random(region)
    key, kinds = keys[region], rules.in_region(region)
    for kind in kinds:
        for box in rng.sample(rules.pieces[kind.id], min(4, len(rules.pieces[kind.id]))):
            piece = single(rng, box)
            ((group, _),) = arrivals(key, piece)
            left = {
                name
                for name, criteria in group.types.items()
                if all(piece[c.attribute] & c.allowed for c in criteria)
            }
            assert left == {t.id for t in kinds if _met(t, piece)}


def _met(kind: Type, piece: Box) -> bool:
    return all(piece[c.attribute] & c.allowed for c in kind.defined_by)


def test_the_key_and_the_call_agree(rules: Rules, keys: Mapping[str, RegionalKey]) -> None:
    """What is left of a group is what a call finds consistent, on pieces made over into nothing."""
    rng = random.Random(7)
    plain = {rules.index[name]: 1 for name in ("reworked_as", "resharpening")}
    for region in REGIONS:
        kind = rng.choice(rules.in_region(region))
        whole = [box for box in rules.pieces[kind.id] if narrow(box, plain)]
        box = narrow(rng.choice(whole), plain)
        assert box
        piece = single(rng, box)
        ((group, _),) = arrivals(keys[region], piece)
        left = {
            name
            for name, criteria in group.types.items()
            if all(piece[c.attribute] & c.allowed for c in criteria)
        }
        found = call(rules, region, piece).candidates
        assert left == {j.type for j in found if j.standing is Standing.CONSISTENT}


@EVERY_REGION
def test_what_nothing_parts_stays_together(
    rules: Rules, keys: Mapping[str, RegionalKey], region: str
) -> None:
    """One type is covered by another wherever it comes out, just if it lies within the other."""
    key, kinds = keys[region], rules.in_region(region)
    forms = {kind.id: form(rules, kind) for kind in kinds}
    for one, other in permutations(forms, 2):
        groups = [group for group in key.groups if one in group.types]
        assert groups
        covered = all((one, other) in group.covered for group in groups)
        assert covered is forms[one].within(forms[other])


@EVERY_REGION
def test_a_group_says_which_types_it_does_not_part(
    rules: Rules, keys: Mapping[str, RegionalKey], region: str
) -> None:
    """A type is said to be covered in a group just if all its pieces there meet the other's."""
    key = keys[region]
    there: dict[tuple[int, str], list[Box]] = {}
    for kind in rules.in_region(region):
        for whole in rules.pieces[kind.id]:
            for group, box in arrivals(key, whole):
                there.setdefault((group.number, kind.id), []).append(box)
    for group in key.groups:
        for one, other in permutations(group.types, 2):
            limits = {c.attribute: c.allowed for c in rules.types[other].defined_by}
            boxes = there[group.number, one]
            inside = all(narrow(b, limits) == b for b in boxes)
            assert ((one, other) in group.covered) is inside


@EVERY_REGION
def test_leads_point_forward(keys: Mapping[str, RegionalKey], region: str) -> None:
    """Couplets and groups are numbered without gaps, and every lead goes to a later couplet."""
    key = keys[region]
    assert [c.number for c in key.couplets] == list(range(1, len(key.couplets) + 1))
    assert [g.number for g in key.groups] == list(range(1, len(key.groups) + 1))
    for couplet in key.couplets:
        for lead in couplet.leads:
            assert (lead.couplet > couplet.number) != bool(lead.group)


@EVERY_REGION
def test_the_key_is_no_longer_than_it_may_be(
    rules: Rules, keys: Mapping[str, RegionalKey], region: str
) -> None:
    """A key has at most one couplet a type, and asks less than half of them of any piece."""
    key, count = keys[region], len(rules.in_region(region))
    found = lengths(rules, key)
    assert len(key.couplets) <= count
    assert found.mean < found.longest < count / 2
    assert 1 <= found.left < count / 4


@EVERY_REGION
def test_what_does_not_apply_is_not_asked(
    rules: Rules, keys: Mapping[str, RegionalKey], region: str
) -> None:
    """No lead speaks of the sides of a stem, or the length of a flute, that is not there."""
    none = conditional(rules)
    for couplet in keys[region].couplets:
        states = couplet.leads[0].states | couplet.leads[1].states
        assert not states & none.get(couplet.attribute, 0)


def test_which_attributes_are_conditional(rules: Rules) -> None:
    """Stem, notches, flute length and barbs need something else; ears and grinding do not."""
    names = {rules.attributes[i].id for i in conditional(rules)}
    assert {"stem_shape", "notch_form", "flute_length", "barb_reach", "haft_sides"} <= names
    assert not names & {"ears", "haft_grinding", "fluting", "basal_thinning", "resharpening"}


def test_two_types_and_one_couplet(small_rules: Rules) -> None:
    """Three types that the haft parts take two couplets; a type is asked one or two of them."""
    key = regional_key(small_rules, "hills")
    asked = [small_rules.attributes[c.attribute].id for c in key.couplets]
    assert asked == ["haft_style", "stem_shape"]
    assert [tuple(group.types) for group in key.groups] == [("cedar",), ("birch",), ("alder",)]
    found = lengths(small_rules, key)
    assert found.mean == pytest.approx(5 / 3)
    assert (found.longest, found.left) == (2, 1.0)


def test_a_type_that_varies_comes_out_twice(small_rules: Rules) -> None:
    """A type with straight or contracting stem is named on both sides of that couplet."""
    key = regional_key(small_rules, "coast")
    (couplet,) = key.couplets
    assert small_rules.attributes[couplet.attribute].id == "base_shape"
    contracting = criterion(small_rules, "stem_shape", "contracting")
    elm = replace(small_rules.types["dogwood"], id="elm", defined_by=(contracting,))
    dogwood = with_states(small_rules, small_rules.types["dogwood"], base_shape=("straight",))
    types = {"dogwood": dogwood, "elm": elm, "birch": small_rules.types["birch"]}
    key = regional_key(replace(small_rules, types=types), "coast")
    assert sum("dogwood" in group.types for group in key.groups) > 1


def test_twins_come_out_together(rules: Rules) -> None:
    """Types of one definition stand in the same groups, each covering the other."""
    gary = rules.types["gary"]
    two = replace(rules, types={**rules.types, "twin": replace(gary, id="twin")})
    key = regional_key(two, "ozarks")
    groups = [group for group in key.groups if "gary" in group.types]
    assert groups
    for group in groups:
        assert group.types["gary"] == group.types["twin"]
        assert {("gary", "twin"), ("twin", "gary")} <= group.covered
    assert all("gary" in group.types for group in key.groups if "twin" in group.types)


def test_haft_before_blade(rules: Rules) -> None:
    """Types that haft and blade part alike are parted by the haft, and else by the blade."""
    gary = rules.types["gary"]
    one = with_states(rules, gary, blade_shape=("straight",), base_shape=("straight",))
    other = with_states(rules, gary, blade_shape=("excurvate",), base_shape=("pointed",))
    assert _only_question(rules, one, other) == "base_shape"
    other = with_states(rules, gary, blade_shape=("excurvate",), base_shape=("straight",))
    assert _only_question(rules, one, other) == "blade_shape"


def _only_question(rules: Rules, one: Type, other: Type) -> str:
    types = {"one": replace(one, id="one"), "other": replace(other, id="other")}
    (couplet,) = regional_key(replace(rules, types=types), "ozarks").couplets
    return rules.attributes[couplet.attribute].id


def test_a_region_without_types(rules: Rules) -> None:
    """A region in which nothing is known has an empty key, and one type needs no couplet."""
    nothing = replace(rules, types={})
    none = regional_key(nothing, "ozarks")
    assert none == RegionalKey("ozarks", RegionalLead(0), (), ())
    assert lengths(nothing, none) == (0.0, 0, 0.0)
    alone = regional_key(replace(rules, types={"gary": rules.types["gary"]}), "ozarks")
    assert (alone.couplets, alone.start.group) == ((), 1)
    assert dict(alone.groups[0].types) == {"gary": ()}


def test_a_key_is_always_the_same(rules: Rules, keys: Mapping[str, RegionalKey]) -> None:
    """Worked out again, and with the types in another order, the key is the same."""
    shuffled = dict(reversed(list(rules.types.items())))
    again = regional_key(replace(rules, types=shuffled), "florida")
    assert again == keys["florida"]


def test_volume_is_shared_out(rules: Rules, keys: Mapping[str, RegionalKey]) -> None:
    """The groups share out the pieces of a type without losing one or counting one twice."""
    for region in REGIONS:
        kind = rules.in_region(region)[0]
        for whole in rules.pieces[kind.id][:5]:
            parts = [volume(box) for _, box in arrivals(keys[region], whole)]
            assert sum(parts) == volume(whole)


def test_states_are_shared_out_in_every_way() -> None:
    """Three states go to two leads in three ways, and the lowest always to the first."""
    assert set(_halves(0b1011)) == {(0b0001, 0b1010), (0b0011, 0b1000), (0b1001, 0b0010)}
    assert list(_halves(0b100)) == []


def test_runs_of_states() -> None:
    """States that stand together in the vocabulary make few runs, those that alternate many."""
    assert _runs(0b1111, 0b0011) == 2
    assert _runs(0b1111, 0b0101) == 4
    assert _runs(0b1101, 0b0101) == 2
    assert _runs(0b1111, 0b1001) == 3


def test_bits_left_after_a_lead() -> None:
    """Three types go there, one of them with half of what it can show: 2.5 shares of log2 3."""
    shown = {0b01: 2, 0b11: 1, 0b10: 4}
    assert _left(shown, 0b01) == pytest.approx(2.5 * log2(3))
    assert _left(shown, 0b10) == pytest.approx(4.5 * log2(5))


def test_what_a_bit_is_worth(rules: Rules) -> None:
    """Haft and base count whole, shoulders and size less, and what resharpening changes least."""
    worth = {a.id: _worth(a) for a in rules.attributes}
    assert worth["base_shape"] == worth["stem_shape"] == (True, 1.0)
    assert worth["shoulder_shape"] == (True, 0.9)
    assert worth["size_class"] == (True, 0.8)
    assert worth["blade_edge"] == worth["flaking"] == (False, 0.5)


@EVERY_REGION
def test_numbers_point_forward(keys: Mapping[str, RegionalKey], region: str) -> None:
    """Couplets and groups are numbered from one, and every lead goes to a higher couplet."""
    key = keys[region]
    assert [couplet.number for couplet in key.couplets] == list(range(1, len(key.couplets) + 1))
    assert [group.number for group in key.groups] == list(range(1, len(key.groups) + 1))
    assert key.start.couplet == 1
    for couplet in key.couplets:
        for lead in couplet.leads:
            assert bool(lead.couplet) != bool(lead.group)
            assert not lead.couplet or lead.couplet > couplet.number
