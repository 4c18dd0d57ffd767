"""Which types the same piece would be in other regions: the few that a reader has to know of."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from keygen.core.call import Judgement
from keygen.core.model import Dates, Rules
from keygen.prose.ages import before_1950 as before_1950
from keygen.prose.calling import haft
from keygen.prose.facts import Fact, Page, Slot
from keygen.prose.placed import Placed, places

MOST_TYPES = 3
MOST_PLACES = 2
MOST_COUNTED = 5  # more types than these are not counted out
WHOLE = frozenset({"complete", "near_complete"})
Key = tuple[object, ...]


class Away(NamedTuple):
    """A type in one other region: its place among the types that fit there, and their number."""

    region: str
    at: Placed
    place: int
    fitting: int


class Item(NamedTuple):
    """A type elsewhere: the regions told of it, and whether there are more."""

    type: str
    regions: tuple[str, ...]
    more: bool


class Others(NamedTuple):
    """The types told of other regions, and how many are not."""

    region: str
    own: tuple[str, ...]
    items: tuple[Item, ...]
    more: int
    afar: bool
    fragment: bool


def _elsewhere(page: Page) -> Others | None:
    """Return a few of the types that the piece would be in other regions.

    Known doubles of the called types go first, since those names are the ones that get confused:
    among them those that fit best in a region of their own, and whose age there is furthest from
    that at home. Then the type that fits best in each neighbouring region, then the rest.
    """
    rules, region = page.rules, page.examination.region
    if not page.examination.elsewhere:
        return None
    own = page.examination.call.types if page.examination.call else ()
    away = _of_interest(page, own)
    if not away:
        return None
    near = rules.regions[region].neighbours if region else ()
    alike = rules.once(_alike)
    doubles = {name for name in away if not alike[name].isdisjoint(own)}
    home = [places(rules)[name, region].middle for name in own] if doubles else []

    def worth(name: str) -> Key:
        entries = away[name]
        if name in doubles:
            leads = any(e.place == 0 for e in entries)
            furthest = max([apart(e.at.middle, home) for e in entries])
            return (name in own, False, not leads, False, -furthest, name)
        by = [e for e in entries if e.region in near]
        leads = any(e.place == 0 for e in by)
        return (name in own, True, not leads, not by, min([e.place for e in entries]), name)

    others = sorted(away, key=worth) if len(away) > 1 else list(away)
    portion, rest = page.voice("portion"), others[MOST_TYPES:]
    return Others(
        region=region,
        own=own,
        items=tuple(
            _item(name, away[name], near, home, name in doubles) for name in others[:MOST_TYPES]
        ),
        more=len(rest),
        afar=bool(near) and not any(e.region in near for name in rest for e in away[name]),
        fragment=bool(portion) and not WHOLE.intersection(portion.ids),
    )


def _item(
    name: str, entries: list[Away], near: Sequence[str], home: Sequence[float], double: bool
) -> Item:
    """Return a type with up to two of its regions where it has one age and name."""
    if len(entries) > 1:
        entries = sorted(entries, key=lambda e: _first(e, near, home, double))
    when = entries[0].at.when
    told = [e.region for e in entries if e.at.when == when][:MOST_PLACES]
    return Item(name, tuple(told), len(entries) > len(told))


def _first(entry: Away, near: Sequence[str], home: Sequence[float], double: bool) -> Key:
    """Return a key by which the regions of a type sort.

    For a double the region goes first where it would be called with the fewest rivals, and where
    its age is furthest from that at home; for another type what is near.
    """
    far = entry.region not in near
    if double:
        years = apart(entry.at.middle, home)
        return (entry.place > 0, entry.fitting, -years, far, entry.region)
    return (far, entry.place, entry.fitting, entry.region)


def _alike(rules: Rules) -> dict[str, set[str]]:
    """Return the types that each type is taken for, whichever of the two says so."""
    alike: dict[str, set[str]] = {name: set() for name in rules.types}
    for kind in rules.types.values():
        for other in kind.look_alikes:
            name = rules.names.get(other.type, other.type)
            alike[kind.id].add(name)
            alike.setdefault(name, set()).add(kind.id)
    return alike


def _of_interest(page: Page, own: tuple[str, ...]) -> dict[str, list[Away]]:
    """Return where else each type would fit.

    Only types count that rest on at least half as many observations of the haft as the best
    candidate at home (or, without one, as the best elsewhere) does. Left out is where a type has
    the very age that a type called here has by the same name.
    """
    rules, examination = page.rules, page.examination
    known, of_haft = places(rules), rules.once(haft)

    def weight(judgement: Judgement) -> int:
        return sum([c.attribute in of_haft for c in judgement.met])

    weights: dict[str, int] = {}
    by_region: dict[str, list[str]] = {}
    for region, judgement in [(e.region, e.judgement) for e in examination.elsewhere]:
        if judgement.type not in weights:
            weights[judgement.type] = weight(judgement)
        by_region.setdefault(region, []).append(judgement.type)
    home = examination.call.candidates[:1] if examination.call else ()
    needed = weight(home[0]) / 2 if home else max(weights.values()) / 2
    same = weights.keys() & own
    here = {known[name, examination.region].when_there for name in own} if same else set()
    by_type: dict[str, list[Away]] = {}
    for region, names in by_region.items():
        fitting = [name for name in names if weights[name] >= needed]
        for place, name in enumerate(fitting):
            at = known[name, region]
            if name not in same or at.when_there not in here:
                by_type.setdefault(name, []).append(Away(region, at, place, len(fitting)))
    return by_type


def apart(middle: float, others: Sequence[float]) -> float:
    """Return the years between the middle of an age and the nearest of some others; 0 if none."""
    return min([abs(middle - other) for other in others], default=0.0)


def relation(dates: Dates, home: Sequence[Dates]) -> str:
    """Return `older` or `younger` where a range is that on any scale, else nothing.

    Radiocarbon and calendar years differ by less than a fifth of an age in the time of these
    points, so ranges that lie a fifth apart are apart on every scale.
    """
    if not home:
        return ""
    start, end = before_1950(dates)
    oldest = max(before_1950(other)[0] for other in home)
    youngest = min(before_1950(other)[1] for other in home)
    if end > 1.2 * oldest:
        return "older"
    return "younger" if 1.2 * start < youngest else ""


def _told(rules: Rules, found: Others) -> Iterator[Fact]:
    known = places(rules)
    home = [known[name, found.region].record.dates for name in found.own]
    items, sources = [], []
    for name, regions, more in found.items:
        told = [known[name, region] for region in regions]
        items.append(
            {
                "name": rules.types[name].name,
                "places": [rules.regions[region].place for region in regions],
                "relation": relation(told[0].record.dates, home),
                "when": told[0].when,
                "more": more,
            }
        )
        sources += [key for at in told for key in at.record.sources]
    values = {
        "items": items,
        "more": found.more,
        "countable": found.more <= MOST_COUNTED,
        "afar": found.afar,
        "region": bool(found.region),
        "fragment": found.fragment,
    }
    types = tuple(item.type for item in found.items)
    yield Fact("elsewhere", values, types=types, sources=tuple(dict.fromkeys(sources)))


ELSEWHERE = Slot(_elsewhere, _told)
