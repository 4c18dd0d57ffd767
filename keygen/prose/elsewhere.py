"""Which types the same piece would be in other regions: the few that a reader has to know of."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any, NamedTuple

from keygen.core.call import Judgement
from keygen.core.model import Rules
from keygen.prose.ages import before_1950 as before_1950
from keygen.prose.calling import haft_flags
from keygen.prose.facts import Fact, Page, Slot
from keygen.prose.placed import Placed, places

MOST_TYPES = 3
MOST_PLACES = 2
MOST_COUNTED = 5  # more types than these are not counted out
WHOLE = frozenset({"complete", "near_complete"})
Key = tuple[Any, ...]
Span = tuple[int, int]
Entry = tuple[int, str, Placed]  # types that fit better in a region, the region, the type there


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
    """Where else a piece would be of which type.

    Attributes:
        entries: by type, the regions told of it; best first.
        fitting: how many types fit in each region.
    """

    entries: dict[str, list[Entry]]
    fitting: dict[str, int]


class Home(NamedTuple):
    """The types called in the region of the piece, with their ages, and its neighbours."""

    own: tuple[str, ...]
    ages: list[Placed]
    near: tuple[str, ...]
    spans: list[Span]
    middles: list[float]


def _elsewhere(page: Page) -> Others | None:
    """Return a few of the types that the piece would be in other regions.

    Known doubles of the called types go first, since those names are the ones that get confused:
    among them those that fit best in a region of their own, and whose age there is furthest from
    that at home. Then the type that fits best in each neighbouring region, then the rest.
    """
    if not page.examination.elsewhere:
        return None
    home = _home(page)
    away = _away(page, home)
    if not away.entries:
        return None
    own, near, alike = home.own, home.near, page.rules.once(_alike)
    doubles = {name for name in away.entries if not alike[name].isdisjoint(own)}

    def worth(name: str) -> Key:
        entries = away.entries[name]
        fits = [place for place, _, _ in entries]
        if name in doubles:
            furthest = max([apart(at.middle, home.middles) for _, _, at in entries])
            return (name in own, False, 0 not in fits, False, -furthest, name)
        by = [place for place, region, _ in entries if region in near]
        return (name in own, True, 0 not in by, not by, min(fits), name)

    others = sorted(away.entries, key=worth) if len(away.entries) > 1 else [*away.entries]
    shown, rest = others[:MOST_TYPES], others[MOST_TYPES:]
    afar = near and not any(region in near for name in rest for _, region, _ in away.entries[name])
    portion = page.voice("portion")
    return Others(
        items=tuple([_item(away, home, name, name in doubles) for name in shown]),
        more=len(rest),
        afar=bool(afar),
        home=bool(page.examination.region),
        fragment=bool(portion) and not WHOLE.intersection(portion.ids),
    )


def _item(away: Away, home: Home, name: str, double: bool) -> Item:
    """Return a type with up to two of its regions where it has one age and name.

    For a double the region goes first where it would be called with the fewest rivals, and where
    its age is furthest from that at home; for another type what is near.
    """
    entries, near, fitting = away.entries[name], home.near, away.fitting

    def first(entry: Entry) -> Key:
        place, region, at = entry
        far = region not in near
        if double:
            return (place > 0, fitting[region], -apart(at.middle, home.middles), far, region)
        return (far, place, fitting[region], region)

    if len(entries) > 1:
        entries = sorted(entries, key=first)
    best = entries[0][2]
    told = [region for _, region, at in entries if at.when == best.when][:MOST_PLACES]
    return Item(name, tuple(told), len(entries) > len(told), relation(best.span, home.spans))


def _home(page: Page) -> Home:
    rules, examination = page.rules, page.examination
    region, own = examination.region, examination.call.types if examination.call else ()
    known = places(rules)
    ages = [known[name, region] for name in own]
    near = rules.regions[region].neighbours if region else ()
    return Home(own, ages, near, [at.span for at in ages], [at.middle for at in ages])


def _away(page: Page, home: Home) -> Away:
    """Return where else the piece would be of which type.

    Only types count that rest on at least half as many observations of the haft as the best
    candidate at home (or, without one, as the best elsewhere) does. Left out is where a type has
    the very age that a type called here has by the same name.
    """
    rules, call = page.rules, page.examination.call
    of_haft, regions = rules.once(haft_flags), rules.once(_regions)
    judged = {found.judgement.type: found.judgement for found in page.examination.elsewhere}
    weights = {name: _weight(of_haft, judgement) for name, judgement in judged.items()}
    best = call.candidates[:1] if call else ()
    needed = (_weight(of_haft, best[0]) if best else max(weights.values())) / 2
    kept = [judged[name] for name, weight in weights.items() if weight >= needed]
    if len(kept) > 1:
        kept.sort(key=_order)
    away, here = Away({}, {}), page.examination.region
    fitting = away.fitting
    for name in [judgement.type for judgement in kept]:
        found: list[Entry] = []
        for region, at in regions[name]:
            if region != here:
                place = fitting.get(region, 0)
                fitting[region] = place + 1
                found.append((place, region, at))
        if name in home.own:
            ages = [at.age_told for at in home.ages]
            found = [entry for entry in found if entry[2].age_told not in ages]
        if found:
            away.entries[name] = found
    return away


def _order(judgement: Judgement) -> Key:
    return judgement.rank, judgement.type


def _regions(rules: Rules) -> dict[str, list[tuple[str, Placed]]]:
    """Return the regions in which each type is known."""
    regions: dict[str, list[tuple[str, Placed]]] = {name: [] for name in rules.types}
    for (name, region), at in places(rules).items():
        regions[name].append((region, at))
    return regions


def _alike(rules: Rules) -> dict[str, set[str]]:
    """Return the types that each type is taken for, whichever of the two says so."""
    alike: dict[str, set[str]] = {name: set() for name in rules.types}
    for kind in rules.types.values():
        for other in kind.look_alikes:
            name = rules.names.get(other.type, other.type)
            alike[kind.id].add(name)
            alike.setdefault(name, set()).add(kind.id)
    return alike


def _weight(of_haft: int, judgement: Judgement) -> int:
    return (judgement.shared & of_haft).bit_count()


def apart(middle: float, others: Sequence[float]) -> float:
    """Return the years between the middle of an age and the nearest of some others; 0 if none."""
    return min([abs(middle - other) for other in others], default=0.0)


def relation(span: Span, home: Sequence[Span]) -> str:
    """Return `older` or `younger` where a range is that on any scale, else nothing.

    Radiocarbon and calendar years differ by less than a fifth of an age in the time of these
    points, so ranges that lie a fifth apart are apart on every scale.

    Args:
        span: both ends in years before 1950, older first, see `ages.before_1950`.
        home: the ranges that it is held against.
    """
    if not home:
        return ""
    if span[1] > 1.2 * max([other[0] for other in home]):
        return "older"
    return "younger" if 1.2 * span[0] < min([other[1] for other in home]) else ""


def _told(rules: Rules, found: Others) -> Iterator[Fact]:
    known = places(rules)
    items, sources = [], []
    for item in found.items:
        told = [known[item.type, region] for region in item.regions]
        items.append(
            {
                "name": rules.types[item.type].name,
                "places": [rules.regions[region].place for region in item.regions],
                "relation": item.relation,
                "when": told[0].when,
                "more": item.more,
            }
        )
        sources += [key for at in told for key in at.record.sources]
    values = {
        "items": items,
        "more": found.more,
        "countable": found.more <= MOST_COUNTED,
        "afar": found.afar,
        "region": found.home,
        "fragment": found.fragment,
    }
    types = tuple(item.type for item in found.items)
    yield Fact("elsewhere", values, types=types, sources=tuple(dict.fromkeys(sources)))


ELSEWHERE = Slot(_elsewhere, _told)
