"""Which types the same piece would be in other regions: the few that a reader has to know of."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any, NamedTuple

from keygen.core.call import Call, Elsewhere
from keygen.core.memo import Memo
from keygen.core.model import Rules
from keygen.prose.calling import haft_flags
from keygen.prose.facts import Fact, Page, Slot
from keygen.prose.placed import places
from keygen.prose.spread import (
    ABROAD,
    NOBODY,
    Crowds,
    Home,
    Span,
    Spread,
    World,
    freest,
    joined_by,
    rivals,
)

MOST_TYPES = 3
MOST_PLACES = 2
MOST_COUNTED = 5  # more types than these are not counted out
WHOLE = frozenset({"complete", "near_complete"})
Key = tuple[Any, ...]


class Item(NamedTuple):
    """A type elsewhere: the regions told of it, whether there are more, and its age beside home."""

    type: str
    regions: tuple[str, ...]
    more: bool
    relation: str


class Others(NamedTuple):
    """The types told of other regions, and how many are not."""

    items: tuple[Item, ...]
    more: int
    afar: bool
    home: bool
    fragment: bool


class Away(NamedTuple):
    """A type that the piece would be in some other regions.

    Attributes:
        regions: those where it is told, as a set.
        better: how many better types fit in which region.
        own: it is one of the types called.
        double: it is taken for one of them.
    """

    type: str
    spread: Spread
    regions: int
    better: Crowds
    own: bool
    double: bool


def _elsewhere(page: Page) -> Others | None:
    """Return a few of the types that the piece would be in other regions, see `_worth`."""
    examination, rules = page.examination, page.rules
    call, found = examination.call, tuple(examination.elsewhere)
    if not found:
        return None
    world = rules.once(World)
    home = world.home(call.region, call.types) if call else ABROAD
    others, crowds = _away(world, _resting(rules, call, found), home)
    if not others:
        return None
    if len(others) > 1:
        several = len([away for away in others if away.double]) > 1
        others.sort(key=lambda away: _worth(away, home, several))
    items = tuple([_item(away, crowds, home) for away in others[:MOST_TYPES]])
    rest, near = others[MOST_TYPES:], home.near
    afar = near != 0 and not any(away.regions & near for away in rest)
    portion = page.voice("portion")
    fragment = portion.spoken and WHOLE.isdisjoint(portion.ids)
    return Others(items, len(rest), afar, call is not None, fragment)


def _resting(rules: Rules, call: Call | None, found: Sequence[Elsewhere]) -> list[str]:
    """Return the types elsewhere that rest on enough, best first.

    That is on at least half as many observations of the haft as the best candidate at home (or,
    without one, as the best elsewhere) does.
    """
    of_haft = rules.once(haft_flags)
    rests = [(judgement.shared & of_haft).bit_count() for judgement, _ in found]
    best = call.candidates[0] if call and call.candidates else None
    most = (best.shared & of_haft).bit_count() if best else max(rests)
    return [away[0].type for away, on in zip(found, rests, strict=True) if 2 * on >= most]


def _away(world: World, names: Sequence[str], home: Home) -> tuple[list[Away], Crowds]:
    """Return some types, best first, with the regions where they are told, and how many fit where.

    Left out is where a type called here has, by the same name, the very age of one called here.
    """
    spreads, crowds, found = world.spreads, NOBODY, []
    types, beyond = home.own, ~home.region
    for name in names:
        spread = spreads[name]
        regions = told = spread.regions & beyond
        if own := name in types:
            told &= ~home.same(spread)
        if told:
            double = not spread.doubles.isdisjoint(types)
            found.append(Away(name, spread, told, crowds, own, double))
        crowds = joined_by(crowds, regions)
    return found, crowds


def _worth(away: Away, home: Home, several: bool) -> Key:
    """Return a key by which the types that are to be told sort first.

    Known doubles of the called types go first, since those names are the ones that get confused:
    among them those that fit best in a region of their own, and whose age there is furthest from
    that at home. Then the type that fits best in each neighbouring region, then the rest.

    Args:
        several: there are several doubles, of which the ages have to be compared.
    """
    name, spread, regions, better, own, double = away
    best = regions & ~better[0]
    if double:
        furthest = max(_years(spread, regions, home))[0] if several else 0.0
        return own, False, not best, False, -furthest, name
    near = regions & home.near
    return own, True, not near & best, not near, rivals(better, regions), name


def _years(spread: Spread, regions: int, home: Home) -> list[tuple[float, int]]:
    """Return how far the ages of a type are from those at home, for some regions one by one."""
    others = home.middles
    return [
        (apart(middle, others), region) for region, middle in spread.middles if region & regions
    ]


def _item(away: Away, crowds: Crowds, home: Home) -> Item:
    """Return a type with up to two of its regions where it has one age and name."""
    at, regions = away.spread.places, away.regions
    foremost = _foremost(away, regions, crowds, home)
    region, alike, span = at[foremost]
    told, left = [region], regions & alike & ~foremost
    while left and len(told) < MOST_PLACES:
        foremost = _foremost(away, left, crowds, home)
        told.append(at[foremost].region)
        left ^= foremost
    more = regions.bit_count() > len(told)
    return Item(away.type, tuple(told), more, relation(span, home.span))


def _foremost(away: Away, regions: int, crowds: Crowds, home: Home) -> int:
    """Return the one of some regions that is told first, as a set.

    For a double that is where it would be called with the fewest rivals, and where its age is
    furthest from that at home; for another type what is near.
    """
    if not regions & regions - 1:
        return regions
    if away.double:
        regions = freest(crowds, regions & ~away.better[0] or regions)
        if regions & regions - 1:
            years = _years(away.spread, regions, home)
            most = max(years)[0]
            regions = sum([region for far, region in years if far == most])
        regions = regions & home.near or regions
    else:
        regions = freest(crowds, freest(away.better, regions & home.near or regions))
    return regions & -regions


def apart(middle: float, others: Sequence[float]) -> float:
    """Return the years between the middle of an age and the nearest of some others; 0 if none."""
    return min([abs(middle - other) for other in others]) if others else 0.0


def relation(span: Span, home: Span | None) -> str:
    """Return `older` or `younger` where a range is that on any scale, else nothing.

    Radiocarbon and calendar years differ by less than a fifth of an age in the time of these
    points, so ranges that lie a fifth apart are apart on every scale.

    Args:
        span: both ends in years before 1950, older first, see `ages.before_1950`.
        home: the earliest beginning and the latest end of what it is held against, if anything.
    """
    if not home:
        return ""
    if span[1] > 1.2 * home[0]:
        return "older"
    return "younger" if 1.2 * span[0] < home[1] else ""


def _worded(rules: Rules) -> Memo[Item, tuple[dict[str, object], tuple[str, ...]]]:
    """Return what is said of a type elsewhere, and its sources."""
    known = places(rules)

    def worded(item: Item) -> tuple[dict[str, object], tuple[str, ...]]:
        told = [known[item.type, region] for region in item.regions]
        values: dict[str, object] = {
            "name": rules.types[item.type].name,
            "places": [rules.regions[region].place for region in item.regions],
            "relation": item.relation,
            "when": told[0].when,
            "more": item.more,
        }
        return values, tuple([key for at in told for key in at.record.sources])

    return Memo(worded)


def _told(rules: Rules, found: Others) -> Iterator[Fact]:
    kept = rules.once(_worded)
    told = [kept[item] for item in found.items]
    values = {
        "items": [item for item, _ in told],
        "more": found.more,
        "countable": found.more <= MOST_COUNTED,
        "afar": found.afar,
        "region": found.home,
        "fragment": found.fragment,
    }
    types = tuple([item.type for item in found.items])
    sources = dict.fromkeys([key for _, keys in told for key in keys])
    yield Fact("elsewhere", values, types=types, sources=tuple(sources))


ELSEWHERE = Slot(_elsewhere, _told)
