"""Which types the same piece would be in other regions: the few that a reader has to know of."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from keygen.core.call import Elsewhere, Judgement
from keygen.core.examine import Examination
from keygen.core.model import Dates, Record, Rules
from keygen.prose.ages import figures, scale_remark, unbracketed
from keygen.prose.facts import Fact
from keygen.prose.naming import local_name
from keygen.prose.seen import NOTHING, Seen

MOST_TYPES = 3
MOST_PLACES = 2
MOST_COUNTED = 5  # more types than these are not counted out
WHOLE = frozenset({"complete", "near_complete"})


@dataclass(frozen=True)
class _Away:
    """A type in one other region: its record, its place there, and how many types fit there."""

    region: str
    record: Record
    place: int
    fitting: int


def elsewhere(rules: Rules, examination: Examination, seen: Mapping[str, Seen]) -> list[Fact]:
    """Return a few of the types that the piece would be in other regions.

    Known doubles of the called types go first, since those names are the ones that get confused:
    among them those that fit best in a region of their own, and whose age there is furthest from
    that at home. Then the type that fits best in each neighbouring region, then the rest.
    """
    call = examination.call
    own = call.types if call else ()
    near = rules.regions[examination.region].neighbours if examination.region else ()
    away = {n: _of_interest(rules, examination, n, a) for n, a in _away(rules, examination).items()}
    doubles = _doubles(rules, own)
    home = [r.dates for name in own if (r := rules.types[name].record(examination.region))]

    def worth(name: str) -> tuple[object, ...]:
        entries = away[name]
        leads = any(e.place == 0 for e in entries)
        leads_near = any(e.place == 0 and e.region in near for e in entries)
        nearer = not any(e.region in near for e in entries)
        apart = max(distance(e.record.dates, home) for e in entries)
        if name in doubles:
            return (name in own, False, not leads, False, -apart, name)
        return (name in own, True, not leads_near, nearer, min(e.place for e in entries), name)

    others = sorted((name for name, entries in away.items() if entries), key=worth)
    if not others:
        return []
    shown, rest = others[:MOST_TYPES], others[MOST_TYPES:]
    items, sources = [], []
    for name in shown:
        entries = sorted(away[name], key=lambda e: _first(e, near, home, name in doubles))
        item, told = _item(rules, name, entries, home)
        items.append(item)
        sources += [key for entry in told for key in entry.record.sources]
    portion = seen.get("portion", NOTHING)
    values = {
        "items": items,
        "more": len(rest),
        "countable": len(rest) <= MOST_COUNTED,
        "afar": bool(near) and not any(e.region in near for name in rest for e in away[name]),
        "region": bool(examination.region),
        "fragment": bool(portion) and not set(portion.ids) & WHOLE,
    }
    return [Fact("elsewhere", values, types=tuple(shown), sources=tuple(dict.fromkeys(sources)))]


def _first(
    entry: _Away, near: Sequence[str], home: Sequence[Dates], double: bool
) -> tuple[object, ...]:
    """Return a key by which the regions of a type sort.

    For a double the region goes first where it would be called with the fewest rivals, and where
    its age is furthest from that at home; for another type what is near.
    """
    far = entry.region not in near
    if double:
        apart = distance(entry.record.dates, home)
        return (entry.place > 0, entry.fitting, -apart, far, entry.region)
    return (far, entry.place, entry.fitting, entry.region)


def _doubles(rules: Rules, own: Sequence[str]) -> frozenset[str]:
    """Return the types that are taken for one of these, whichever of the two says so."""
    named = {other.type for name in own for other in rules.types[name].look_alikes}
    naming = {
        kind.id for kind in rules.types.values() if {o.type for o in kind.look_alikes} & set(own)
    }
    return frozenset(named | naming)


def _away(rules: Rules, examination: Examination) -> dict[str, list[_Away]]:
    """Return where else each type would fit, by the name that it has there.

    Only types count that rest on at least half as many observations of the haft as the best
    candidate at home (or, without one, as the best elsewhere) does.
    """
    candidates = examination.call.candidates if examination.call else ()
    best = candidates[:1] or tuple(found.judgement for found in examination.elsewhere)
    needed = max((_of_the_haft(rules, judgement) for judgement in best), default=0) / 2
    by_region: dict[str, dict[str, Record]] = {}
    for found in examination.elsewhere:
        name = _known_as(rules, found)
        record = rules.types[name].record(found.region)
        if record is not None and _of_the_haft(rules, found.judgement) >= needed:
            by_region.setdefault(found.region, {}).setdefault(name, record)
    by_type: dict[str, list[_Away]] = {}
    for region, named in by_region.items():
        for place, (name, record) in enumerate(named.items()):
            by_type.setdefault(name, []).append(_Away(region, record, place, len(named)))
    return by_type


def _of_the_haft(rules: Rules, judgement: Judgement) -> int:
    return sum(rules.attributes[c.attribute].stability == "haft" for c in judgement.met)


def _known_as(rules: Rules, found: Elsewhere) -> str:
    """Return the type whose name the form bears in a region, where that has an entry there."""
    record = rules.types[found.judgement.type].record(found.region)
    local = record.local_type if record else ""
    known = local in rules.types and rules.types[local].record(found.region)
    return local if known else found.judgement.type


def _of_interest(
    rules: Rules, examination: Examination, name: str, entries: Sequence[_Away]
) -> list[_Away]:
    """Leave out where a type has the very age that a type called here has by the same name."""
    call = examination.call
    if call is None or name not in call.types:
        return list(entries)
    records = [rules.types[other].record(examination.region) for other in call.types]
    here = {(r.dates, r.period) for r in records if r is not None}
    return [e for e in entries if (e.record.dates, e.record.period) not in here]


def before_1950(dates: Dates) -> tuple[int, int]:
    """Return both ends of a range in years before 1950, older first, whatever their scale.

    Radiocarbon years are not calibrated: this orders ages that lie far apart and dates nothing.
    """
    if dates.scale in ("cal BP", "rcybp"):
        return dates.start, dates.end
    return 1950 - dates.start, 1950 - dates.end


def distance(dates: Dates, home: Sequence[Dates]) -> float:
    """Return the years between the middles of a range and the nearest of some others; 0 if none."""
    middle = sum(before_1950(dates)) / 2
    return min((abs(middle - sum(before_1950(other)) / 2) for other in home), default=0.0)


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


def _item(
    rules: Rules, name: str, entries: Sequence[_Away], home: Sequence[Dates]
) -> tuple[dict[str, object], list[_Away]]:
    """Return a type with up to two of its regions, those of the first one's age and local name."""
    kind = rules.types[name]

    def when(entry: _Away) -> str:
        dates = entry.record.dates
        remark = scale_remark(dates) if dates.sure else "scale uncertain"
        text = ", ".join(t for t in (unbracketed(entry.record.period), figures(dates), remark) if t)
        local = local_name(rules, kind, entry.record)
        return f"{text}; locally {local}" if local else text

    told = [e for e in entries if when(e) == when(entries[0])][:MOST_PLACES]
    item = {
        "name": kind.name,
        "places": [rules.regions[e.region].place for e in told],
        "relation": relation(entries[0].record.dates, home),
        "when": when(entries[0]),
        "more": len(entries) > len(told),
    }
    return item, told
