"""Where types are known, beside the region of a piece and the types called there.

A set of regions is a number with one bit a region, in the order of their ids. How many types fit in
which region is counted in such sets too (`Crowds`).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cached_property, partial
from typing import NamedTuple

from keygen.core.memo import Memo
from keygen.core.model import Rules
from keygen.prose.placed import Placed, places

Span = tuple[int, int]
Crowds = tuple[int, ...]  # by number: the regions in which more types than that fit
NOBODY: Crowds = (0,)


class Place(NamedTuple):
    """A type in one region: the id of that, the regions of which the same is told, and its age."""

    region: str
    alike: int
    span: Span


class Age(NamedTuple):
    """An age as text, and its ends and middle in years before 1950, whatever the scale."""

    told: str
    begin: int
    end: int
    middle: float


class Spread:
    """The regions in which a type is known.

    Attributes:
        known: the type in each of them, by the region as a set.
        regions: the set of them all.
        doubles: the types that it is taken for.
    """

    def __init__(self, known: Mapping[int, Placed], doubles: set[str]) -> None:
        self.known = known
        self.regions = sum(known)
        self.doubles = doubles

    @cached_property
    def places(self) -> Mapping[int, Place]:
        """Return what is told of it in each region, by the region as a set."""
        alike: dict[str, int] = {}
        for region, at in self.known.items():
            alike[at.when] = alike.get(at.when, 0) | region
        return {
            region: Place(at.record.region, alike[at.when], at.span)
            for region, at in self.known.items()
        }

    @cached_property
    def middles(self) -> Sequence[tuple[int, float]]:
        """Return the middle of its age in each region, with the region as a set."""
        return [(region, at.middle) for region, at in self.known.items()]

    @cached_property
    def aged(self) -> Mapping[str, int]:
        """Return the regions in which it has the same age, by that age."""
        found: dict[str, int] = {}
        for region, at in self.known.items():
            found[at.age_told] = found.get(at.age_told, 0) | region
        return found


class Home(NamedTuple):
    """The types called in the region of a piece.

    Attributes:
        own: their ids.
        region: the region, as a set; empty without one.
        near: its neighbours.
        ages: their ages here, as text.
        span: the earliest beginning and the latest end of these, if there are any.
        middles: the middles of these.
    """

    own: Sequence[str]
    region: int
    near: int
    ages: Sequence[str] = ()
    span: Span | None = None
    middles: Sequence[float] = ()

    def same(self, spread: Spread) -> int:
        """Return the regions in which a type has the very age of one called here."""
        regions = 0
        for age in self.ages:
            regions |= spread.aged.get(age, 0)
        return regions


ABROAD = Home((), 0, 0)  # of a piece without a region


class World:
    """All types in all regions; `spreads` are the regions of each type."""

    def __init__(self, rules: Rules) -> None:
        self._places = places(rules)
        sets = {region: 1 << number for number, region in enumerate(sorted(rules.regions))}
        known: dict[str, dict[int, Placed]] = {name: {} for name in rules.types}
        for (name, region), at in self._places.items():
            known[name][sets[region]] = at
        doubles = _doubles(rules)
        self.spreads = {name: Spread(known[name], doubles[name]) for name in rules.types}
        self._regions = {
            region.id: (
                sets[region.id],
                sum(sets[name] for name in region.neighbours),
                Memo(partial(self._age, region.id)),
            )
            for region in rules.regions.values()
        }

    def home(self, region: str, own: Sequence[str]) -> Home:
        """Return the types called in the region of a piece, given the ids of both."""
        here, near, ages = self._regions[region]
        if not own:
            return Home(own, here, near)
        told, begins, ends, middles = zip(*[ages[name] for name in own], strict=True)
        return Home(own, here, near, told, (max(begins), min(ends)), middles)

    def _age(self, region: str, name: str) -> Age:
        at = self._places[name, region]
        return Age(at.age_told, *at.span, at.middle)


def _doubles(rules: Rules) -> dict[str, set[str]]:
    """Return the types that each type is taken for, whichever of the two says so."""
    doubles: dict[str, set[str]] = {name: set() for name in rules.types}
    for kind in rules.types.values():
        for other in kind.look_alikes:
            name = rules.names.get(other.type, other.type)
            doubles[kind.id].add(name)
            doubles.setdefault(name, set()).add(kind.id)
    return doubles


def joined_by(crowds: Crowds, regions: int) -> Crowds:
    """Return how many types fit where, once one more does in some regions."""
    found = []
    for crowded in crowds:
        found.append(crowded | regions)
        regions &= crowded
    if regions:
        found.append(regions)
    return tuple(found)


def rivals(crowds: Crowds, regions: int) -> int:
    """Return how many types fit in that of some regions where the fewest do."""
    for number, crowded in enumerate(crowds):
        if regions & ~crowded:
            return number
    return len(crowds)


def freest(crowds: Crowds, regions: int) -> int:
    """Return those of some regions where the fewest types fit."""
    for crowded in crowds:
        if free := regions & ~crowded:
            return free
    return regions
