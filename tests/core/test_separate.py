"""Facts about what parts two types, on the shipped key and types changed for the purpose."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

import pytest

from keygen.core.model import Criterion, Dates, LookAlike, Rules, Type
from keygen.core.separate import Kind, Pair, Relation, form, pairs, relation, tell_missing, told
from keygen.core.states import narrow

REGION = "ozarks"


def criterion(rules: Rules, attribute: str, *states: str) -> Criterion:
    """Return a criterion by names."""
    return Criterion(rules.index[attribute], rules.mask(attribute, *states))


def with_states(rules: Rules, kind: Type, **states: tuple[str, ...]) -> Type:
    """Return a type with some of its criteria set anew."""
    new = [criterion(rules, name, *words) for name, words in states.items()]
    kept = [c for c in kind.defined_by if c.attribute not in {n.attribute for n in new}]
    return replace(kind, defined_by=(*kept, *new))


def pair_of(rules: Rules, one: Type, other: Type) -> Pair:
    """Return the only pair of a region in which there are two types only."""
    two = replace(rules, types={kind.id: kind for kind in (one, other)})
    (pair,) = pairs(two, REGION)
    return pair


@pytest.fixture
def gary(rules: Rules) -> Type:
    """Return a contracting-stemmed type of the Ozarks that also allows large pieces."""
    return rules.types["gary"]


def test_same(rules: Rules, gary: Type) -> None:
    """Two types with one definition are the same, and no observation tells them apart."""
    pair = pair_of(rules, gary, replace(gary, id="twin"))
    assert pair == Pair("gary", "twin", Kind.SAME, (), ())


def test_context(rules: Rules, gary: Type) -> None:
    """Types of one definition whose ages in the region share no year are parted by context."""
    (record,) = [r for r in gary.records if r.region == REGION]
    old = replace(record, dates=Dates(9000, 8000, "rcybp"))
    assert pair_of(rules, gary, replace(gary, id="twin", records=(old,))).kind is Kind.CONTEXT
    touching = replace(record, dates=Dates(9500, 9000, "cal BP"))
    younger = replace(record, dates=Dates(9000, 8500, "cal BP"))
    one, other = (
        replace(gary, id=name, records=(r,)) for name, r in (("a", touching), ("b", younger))
    )
    assert pair_of(rules, one, other).kind is Kind.CONTEXT


def test_contained(rules: Rules, gary: Type) -> None:
    """A narrower definition is contained in the wider one and named first; one way is told."""
    narrow_one = with_states(rules, gary, base_shape=("pointed",))
    pair = pair_of(rules, gary, replace(narrow_one, id="twin"))
    assert (pair.first, pair.second, pair.kind) == ("twin", "gary", Kind.CONTAINED)
    assert pair.tells_first == ()
    assert pair.tells_second == (rules.index["base_shape"],)


def test_contained_by_consequence(rules: Rules, gary: Type) -> None:
    """What follows from a definition counts: contracting stems always have the narrower base."""
    index = rules.index["base_width_class"]
    bare = replace(
        gary, id="bare", defined_by=tuple(c for c in gary.defined_by if c.attribute != index)
    )
    assert pair_of(rules, gary, bare).kind is Kind.SAME


def test_size_only(rules: Rules, gary: Type) -> None:
    """Types that differ in nothing but the size class are parted by size only."""
    small = replace(with_states(rules, gary, size_class=("small",)), id="small")
    pair = pair_of(rules, gary, small)
    assert pair.kind is Kind.SIZE
    assert pair.tells_first == pair.tells_second == (rules.index["size_class"],)


def test_weak_only(rules: Rules, gary: Type) -> None:
    """Types whose hafts are the same and whose blades differ are parted by weak criteria only."""
    one = with_states(rules, gary, blade_shape=("straight",))
    other = replace(with_states(rules, gary, blade_shape=("recurvate",)), id="other")
    assert pair_of(rules, one, other).kind is Kind.WEAK
    finished = replace(with_states(rules, gary, flaking=("collateral",)), id="other")
    assert pair_of(rules, gary, finished).kind is Kind.WEAK


def test_parted_and_overlapping(rules: Rules, gary: Type) -> None:
    """Stems that contract and stems that expand are parted; widened, the two overlap."""
    other = replace(with_states(rules, gary, stem_shape=("expanding",)), id="other")
    assert pair_of(rules, gary, other).kind is Kind.PARTED
    wide = with_states(
        rules, other, stem_shape=("expanding", "contracting"), base_shape=("pointed", "bifurcate")
    )
    pair = pair_of(rules, gary, wide)
    assert pair.kind is Kind.OVERLAPPING
    assert rules.index["base_shape"] in pair.tells_first


def test_parted_by_consequence(rules: Rules, gary: Type) -> None:
    """Side notches always leave an expanding stem, so they part a type from straight stems."""
    bare = replace(gary, defined_by=())
    side = form(rules, with_states(rules, bare, notch_position=("side",)))
    straight = form(rules, with_states(rules, bare, stem_shape=("straight",)))
    assert relation(side, straight) is Relation.PARTED
    expanding = form(rules, with_states(rules, bare, stem_shape=("expanding",)))
    assert relation(side, expanding) is Relation.CONTAINED


def test_parted_together(rules: Rules, gary: Type) -> None:
    """Definitions whose states all overlap one by one can have no piece in common.

    A triangle or side-notched piece and a stemmed or corner-notched one share the word notched.
    """
    bare = replace(gary, defined_by=())
    side = with_states(
        rules, bare, haft_style=("triangular", "notched"), notch_position=("none", "side")
    )
    corner = with_states(
        rules, bare, haft_style=("stemmed", "notched"), notch_position=("none", "corner")
    )
    one, other = form(rules, side), form(rules, corner)
    assert all(a & b for a, b in zip(one.reach, other.reach, strict=True))
    assert relation(one, other) is Relation.PARTED


def test_told(rules: Rules, gary: Type) -> None:
    """A tell counts from whichever of the two types has it, and only once."""
    twin = replace(gary, id="twin", look_alikes=(LookAlike("gary", "look at it"),))
    plain = replace(gary, look_alikes=())
    pair = Pair("gary", "twin", Kind.SAME, (), ())
    one_way = replace(rules, types={"gary": plain, "twin": twin})
    assert told(one_way, pair) == ("look at it",)
    assert not tell_missing(one_way, pair)
    neither = replace(rules, types={"gary": plain, "twin": replace(twin, look_alikes=())})
    assert tell_missing(neither, pair)
    assert not tell_missing(neither, replace(pair, kind=Kind.OVERLAPPING))


def test_by_the_plain_reading(rules: Rules) -> None:
    """Relations agree with boxes intersected one by one, for all pairs of a region."""
    kinds = rules.in_region("southern_plains")
    limits = {kind.id: {c.attribute: c.allowed for c in kind.defined_by} for kind in kinds}
    forms = {kind.id: form(rules, kind) for kind in kinds}
    for one, other in combinations((kind.id for kind in kinds), 2):
        shared = [narrow(box, limits[other]) for box in rules.pieces[one]]
        back = [narrow(box, limits[one]) for box in rules.pieces[other]]
        inside = shared == list(rules.pieces[one])
        outside = back == list(rules.pieces[other])
        if inside and outside:
            expected = Relation.SAME
        elif inside or outside:
            expected = Relation.CONTAINED
        else:
            expected = Relation.OVERLAPPING if any(shared) else Relation.PARTED
        assert relation(forms[one], forms[other]) is expected, (one, other)


def test_every_pair_once(rules: Rules) -> None:
    """Every two types of a region make one pair; hardest first."""
    for region in rules.regions:
        found = pairs(rules, region)
        names = {frozenset((pair.first, pair.second)) for pair in found}
        count = len(rules.in_region(region))
        assert len(found) == len(names) == count * (count - 1) // 2
        order = [list(Kind).index(pair.kind) for pair in found]
        assert order == sorted(order)


def test_without_a_curve_ages_part_nothing(rules: Rules, gary: Type) -> None:
    """Of rules without a calibration curve no age is known, and twins stay the same."""
    (record,) = [r for r in gary.records if r.region == REGION]
    old = replace(record, dates=Dates(9000, 8000, "rcybp"))
    two = {"gary": gary, "twin": replace(gary, id="twin", records=(old,))}
    (pair,) = pairs(replace(rules, types=two, curve=None), REGION)
    assert pair.kind is Kind.SAME
