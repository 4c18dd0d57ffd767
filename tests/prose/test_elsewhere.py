"""Other regions: which types are named first, where, and how their ages compare."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import pytest

from keygen.core.examine import Examination, examine
from keygen.core.model import Dates, LookAlike, Record, Region, Rules, Type
from keygen.prose import sentences
from keygen.prose.ages import before_1950, middle
from keygen.prose.elsewhere import apart, relation
from tests.prose.pieces import limits, piece, rules

STEM = {"haft_style": "stemmed", "stem_shape": "contracting", "base_shape": "rounded"}
OLD, LATE = Dates(-6000, -5000, "bc/ad"), Dates(-500, 600, "BC/AD")
REGIONS = ("home", "near", "next", "far", "remote")


def kind(name: str, where: Mapping[str, Dates], doubles: tuple[str, ...] = ()) -> Type:
    """Return a type with the stem of these tests, known in some regions."""
    return Type(
        id=name.lower(),
        name=name,
        defined_by=limits(**STEM),
        usual=(),
        measures=(),
        records=tuple(Record(r, "Period", d, ("able1964",), "memory") for r, d in where.items()),
        look_alikes=tuple(LookAlike(other, "a tell") for other in doubles),
        sources=("able1964",),
        basis="memory",
    )


def world(*kinds: Type) -> Rules:
    """Return rules with these types and five regions; `near` and `next` neighbour `home`."""
    near = {"home": ("near", "next")}
    return replace(
        rules(),
        types={k.id: k for k in kinds},
        regions={r: Region(r, r, f"in {r.title()}", (), near.get(r, ())) for r in REGIONS},
    )


def told(known: Rules, region: str = "home", **states: Any) -> str:
    """Return the sentence on other regions for a stemmed piece."""
    found: Examination = examine(known, piece(**{**STEM, **states}), region)
    return " ".join(s.text for s in sentences(known, found) if s.slot == "elsewhere")


def test_doubles_go_before_neighbours() -> None:
    """A double goes first, where it fits best and differs most in age; then what is near."""
    known = world(
        kind("Ash", {"home": OLD}, doubles=("box", "cane")),
        kind("Aspen", {"near": OLD}),
        kind("Box", {"far": Dates(-5000, -4000, "bc/ad")}),
        kind("Cane", {"remote": LATE}),
        kind("Dill", {"next": OLD}),
    )
    assert told(known) == (
        "In other regions the same observations agree with Cane in Remote (younger: Period, "
        "500 BC-AD 600); Box in Far (Period, 5000-4000 BC, uncalibrated); Aspen in Near (Period, "
        "6000-5000 BC, uncalibrated); and one other type."
    )


def test_either_of_two_doubles_may_name_the_other() -> None:
    """A type is a double whichever of the two entries says so."""
    known = world(
        kind("Ash", {"home": OLD}),
        kind("Aspen", {"near": OLD}),
        kind("Box", {"far": LATE}, doubles=("ash",)),
    )
    assert "agree with Box in Far" in told(known)


def test_a_double_is_placed_where_it_has_no_rival() -> None:
    """Of the regions of a double the one with the fewest rivals is named."""
    known = world(
        kind("Ash", {"home": OLD}, doubles=("box",)),
        kind("Box", {"far": LATE, "remote": Dates(-400, 600, "BC/AD")}),
        kind("Cane", {"far": LATE}),
    )
    assert "agree with Box in Remote (younger: Period, 400 BC-AD 600) and elsewhere;" in told(known)


def test_a_double_is_placed_where_its_age_differs_most() -> None:
    """Of regions with as few rivals that is named where a double is furthest in age; then near."""
    later = {"near": Dates(-900, -100, "BC/AD"), "far": LATE}
    home = kind("Ash", {"home": OLD}, doubles=("box",))
    assert "agree with Box in Far (younger: " in told(world(home, kind("Box", later)))
    late = dict.fromkeys(("far", "next", "remote"), LATE)
    assert "agree with Box in Next and in Far (" in told(world(home, kind("Box", late)))


def test_two_places_and_elsewhere() -> None:
    """Of one age at most two regions are named; the same type at the same age is not told."""
    everywhere = dict.fromkeys(REGIONS, OLD)
    known = world(kind("Ash", {"home": OLD, "far": OLD}), kind("Box", everywhere))
    assert told(known, haft_style="stemmed") == ""
    known = world(kind("Ash", {"home": OLD}), kind("Box", dict.fromkeys(REGIONS[1:], OLD)))
    assert told(known) == (
        "In other regions the same observations agree with Box in Near and in Next (Period, "
        "6000-5000 BC, uncalibrated) and elsewhere."
    )


def test_many_are_not_counted() -> None:
    """More than five further types are called many, and five are counted."""
    others = [kind(f"T{n}", {"far": OLD}) for n in range(9)]
    home = kind("Ash", {"home": OLD})
    assert told(world(home, *others)).endswith("; and many other types further afield.")
    assert told(world(home, *others[:8])).endswith("; and five other types further afield.")


def test_a_type_has_to_rest_on_enough() -> None:
    """A type that says much less of the haft than that at home is left out."""
    loose = replace(kind("Box", {"far": OLD}), defined_by=limits(haft_style="stemmed"))
    assert told(world(kind("Ash", {"home": OLD}), loose)) == ""
    half = replace(
        loose, defined_by=limits(haft_style="stemmed", stem_shape="straight contracting")
    )
    assert "Box" in told(world(kind("Ash", {"home": OLD}), half))


@pytest.mark.parametrize(
    ("portion", "words"),
    [
        ("complete", "agree with"),
        ("near_complete", "agree with"),
        ("proximal", "would fit"),
        ("complete proximal", "agree with"),
    ],
)
def test_a_fragment_would_fit(portion: str, words: str) -> None:
    """Of a fragment less is claimed than of a whole piece."""
    known = world(kind("Ash", {"home": OLD}), kind("Box", {"far": OLD}))
    assert f"the same observations {words} Box" in told(known, portion=portion)


@pytest.mark.parametrize(
    ("dates", "home", "text"),
    [
        (LATE, OLD, "younger"),
        (OLD, LATE, "older"),
        (OLD, OLD, ""),
        (Dates(9000, 8000, "rcybp"), Dates(-6000, -5500, "BC/AD"), ""),  # one age on two scales
        (Dates(7800, 7000, "rcybp"), Dates(9700, 9000, "cal BP"), ""),
        (Dates(7000, 6000, "rcybp"), Dates(9700, 9000, "cal BP"), "younger"),
    ],
)
def test_relation(dates: Dates, home: Dates, text: str) -> None:
    """An age is called older or younger only where it is so on any scale."""
    assert relation(before_1950(dates), before_1950(home)) == text


def test_years_apart() -> None:
    """Ages are compared by their middles, with the nearest of several; without one at home, 0."""
    late, old = middle(LATE), middle(OLD)
    assert apart(middle(Dates(3000, 2000, "rcybp")), [middle(Dates(-1050, -50, "bc/ad"))]) == 0
    assert apart(late, [old, late]) == 0
    assert apart(late, [old]) == 5550
    assert apart(late, []) == 0
    assert relation(before_1950(LATE), None) == ""
