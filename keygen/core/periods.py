"""Named periods: which of a region's periods a text means, and whether a date falls into them."""

from __future__ import annotations

import re
from dataclasses import dataclass

from keygen.core.chronology import CalBP, Curve, cal_bp, curve_of
from keygen.core.model import Dates, Period, Rules

BETWEEN = 100
_JOINS = ("to", "and", "or")


@dataclass(frozen=True)
class Named:
    """A period named in a text, and the region's periods that it means.

    A name without a division (Woodland) means all of its divisions. `periods` is empty where the
    region's table does not list the name.
    """

    name: str
    periods: tuple[Period, ...]


def named_periods(rules: Rules, region: str, text: str) -> tuple[Named, ...]:
    """Return the periods that a text names, in its order: `Middle to Late Archaic` names two.

    Remarks in brackets are passed over, and so are words that no region's table knows. Of several
    divisions in a row the last counts: `late Middle Archaic` lies in the Middle Archaic.
    """
    names = [period.name.lower().split() for group in rules.periods.values() for period in group]
    heads = {words[-1] for words in names}
    divisions = {word for words in names for word in words[:-1]}
    listed = {period.name.lower(): period for period in rules.periods.get(region, ())}
    words = re.findall(r"[a-z]+|[;,]", re.sub(r"\([^)]*\)", " ", text.lower()))
    return tuple(
        _named(division, head, listed)
        for i, head in enumerate(words)
        if head in heads
        for division in _divisions(words[:i], divisions)
    )


def _divisions(before: list[str], known: set[str]) -> list[str]:
    """Return the divisions that stand before a head: middle and late in `middle to late`."""
    found = [""]
    rest = list(before)
    while rest:
        word = rest.pop()
        if word in known:
            found[-1] = found[-1] or word
        elif word in _JOINS and found[-1] and rest and rest[-1] in known:
            found.append("")
        else:
            break
    return found[::-1]


def _named(division: str, head: str, listed: dict[str, Period]) -> Named:
    name = f"{division} {head}".strip()
    if name in listed:
        return Named(name.title(), (listed[name],))
    family = tuple(period for key, period in listed.items() if key.split()[-1] == head)
    whole = division == "" or (len(family) == 1 and family[0].name.lower() == head)
    return Named(name.title(), family if whole else ())


def span(periods: tuple[Period, ...], curve: Curve) -> CalBP:
    """Return the span in cal BP from the start of the first to the end of the last period."""
    spans = [cal_bp(period.dates, curve) for period in periods]
    how = spans[0].how if len({s.how for s in spans}) == 1 else "either"
    return CalBP(max(s.start for s in spans), min(s.end for s in spans), how)


def misses(rules: Rules, region: str, text: str, dates: Dates) -> tuple[Named, ...]:
    """Return the periods named in a text that a date range contradicts.

    Where one period is named, the range has to share years with it. Where several are, the range
    may stop short of one of them by up to `BETWEEN` years: the limits of periods are round figures,
    and `Late Archaic to Early Woodland` is said of what begins on that limit. Names that the
    region does not list are not among the answers: nothing can be said of those.

    Raises:
        KeygenError: the rules have no curve.
        ValueError: a date lies beyond the curve.
    """
    curve = curve_of(rules)
    own = cal_bp(dates, curve)
    listed = [named for named in named_periods(rules, region, text) if named.periods]
    least = 1 if len(listed) == 1 else -BETWEEN
    return tuple(n for n in listed if own.overlap(span(n.periods, curve)) < least)
