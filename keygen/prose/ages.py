"""Ages and citations: dates in the scale of their source, and short references."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import lru_cache

from keygen.core.basis import Basis
from keygen.core.model import Dates, Record, Rules, Source
from keygen.prose.grammar import KEPT, listed, number

UNCERTAIN = "scale of the source not certain"
PERIOD = "the range of the period, not a direct date"
# period names that cannot stand alone: "in the Contact period", but "in the Late Archaic"
_ADJECTIVES = "(Contact|Paleoindian|Caddo|Prehistoric|Coles Creek|Plains Village|Cherokee)"
BASIS = {"read": "", "memory": "from memory, to be verified", "common": "common practice"}


def figures(dates: Dates) -> str:
    """Return a date range in the scale of its source.

    `9500-8700 radiocarbon years BP`, `13,050-12,750 cal BP`, `5500-5000 BC`, `1000 BC-AD 500`.
    What is to be known about the scale is told by `scale_remark`.
    """
    if dates.scale in ("cal BP", "rcybp"):
        unit = "cal BP" if dates.scale == "cal BP" else "radiocarbon years BP"
        return f"{_run(dates.start, dates.end)} {unit}"
    if dates.end < 0:
        return f"{_run(-dates.start, -dates.end)} BC"
    if dates.start > 0:
        return f"AD {_run(dates.start, dates.end)}"
    return f"{_year(-dates.start)} BC-AD {_year(dates.end)}"


def _run(start: int, end: int) -> str:
    return _year(start) if start == end else f"{_year(start)}-{_year(end)}"


def _year(year: int) -> str:
    return f"{year:,}" if year >= 10_000 else str(year)


def scale_remark(dates: Dates) -> str:
    """Say what a reader has to know of the scale: uncalibrated, or not certain."""
    if not dates.sure:
        return UNCERTAIN
    return "uncalibrated" if dates.scale == "bc/ad" else ""


def dated(dates: Dates) -> str:
    """Return a date range with its scale: `5500-5000 BC (uncalibrated)`."""
    remark = scale_remark(dates)
    return f"{figures(dates)} ({remark})" if remark else figures(dates)


@lru_cache(KEPT)
def short_citation(source: Source) -> str:
    """Return surnames and year of a cited work: `Ellis and Deller 1982`, `Ray et al. 2009`.

    A letter that tells works of one year apart is taken from the source's key (`chapman1975b`). A
    work whose year is not known (0) is cited as `n.d.`.
    """
    printed = str(source.year) if source.year else "n.d."
    authors = re.split(rf"[.,]?\s+{re.escape(printed)}(?!\w)", source.cite)[0]
    authors = re.sub(r"\s*\((editors?|eds?\.?)\)|,\s*(assemblers|editors?|eds?\.?)$", "", authors)
    authors = re.sub(r",?\s+(Jr|Sr|III|II)\b\.?", "", authors)
    letter = re.search(rf"{source.year}([a-z])$", source.key)
    year = f"{printed}{letter[1] if letter else ''}"
    first, _, rest = authors.partition(", ")
    given, *others = re.split(r",?\s+and\s+|,\s+", rest)
    if re.search(r"\b(of|for|the)\b", given):  # a body, with its section
        return f"{first} {year}"
    if not others:
        return f"{first} {year}"
    if len(others) == 1 and others[0] != "others":
        return f"{first} and {others[0].split()[-1]} {year}"
    return f"{first} et al. {year}"


def full_citation(source: Source) -> str:
    """Return the full reference, with the letter by which short citations tell works of a year."""
    letter = re.search(rf"{source.year}[a-z]$", source.key)
    return source.cite.replace(str(source.year), letter[0], 1) if letter else source.cite


def citations(rules: Rules, keys: tuple[str, ...], most: int = 3) -> str:
    """Return short references to up to `most` sources, and how many more there are."""
    named = [short_citation(rules.sources[key]) for key in keys[:most]]
    if len(keys) > most:
        return f"{', '.join(named)} and {number(len(keys) - most)} more"
    return listed(named)


def grounds(rules: Rules, keys: tuple[str, ...], basis: Basis, most: int = 3) -> str:
    """Return references with what they rest on: `Coe 1964, from memory, to be verified`."""
    cited = [citations(rules, keys, most), BASIS[basis]]
    return ", ".join(text for text in cited if text)


def unbracketed(text: str) -> str:
    """Return a text without brackets at its end, so that it can stand in brackets itself."""
    return re.sub(r"\s*\(([^()]*)\)$", r", \1", text)


def in_period(period: str) -> str:
    """Return a period as a phrase of place in time: `in the Late Archaic`, `at the end of ...`."""
    if period.startswith("end of"):
        return f"at the {period}"
    named = re.sub(rf"{_ADJECTIVES}(?=$| \()", r"\1 period", period)
    return f"in the {named}"


def remarks(record: Record) -> list[str]:
    """Return what a reader has to know of an age: its scale, its kind, and what it rests on."""
    kind = PERIOD if record.period_range else ""
    return [r for r in (scale_remark(record.dates), kind, BASIS[record.basis]) if r]


def said_of_all(shared: Sequence[str]) -> dict[str, str]:
    """Return remarks made of several ages together, by what they are about, for a template.

    Empty if there are none; else `scale` is uncalibrated, uncertain or empty, `period` is empty
    unless they are ranges of the period, and `basis` is memory, common or empty.
    """
    if not shared:
        return {}
    scale = "uncertain" if UNCERTAIN in shared else ""
    basis = next((name for name, text in BASIS.items() if text and text in shared), "")
    return {
        "scale": "uncalibrated" if "uncalibrated" in shared else scale,
        "period": "period" if PERIOD in shared else "",
        "basis": basis,
    }


def age(rules: Rules, record: Record, most: int = 3, unsaid: Sequence[str] = ()) -> str:
    """Return the age of a type in one region with scale, kind, sources and basis.

    Args:
        most: how many sources are named.
        unsaid: remarks that are left out, because they are made of several ages together.
    """
    own = [r for r in remarks(record) if r not in unsaid]
    basis = BASIS[record.basis]
    cited = citations(rules, record.sources, most)
    if basis in own:
        own.remove(basis)
        cited += f", {basis}"
    return f"{figures(record.dates)} ({'; '.join([*own, cited])})"


def before_1950(dates: Dates) -> tuple[int, int]:
    """Return both ends of a range in years before 1950, older first, whatever their scale.

    Radiocarbon years are not calibrated: this orders ages that lie far apart and dates nothing.
    """
    if dates.scale in ("cal BP", "rcybp"):
        return dates.start, dates.end
    return 1950 - dates.start, 1950 - dates.end


def middle(dates: Dates) -> float:
    """Return the middle of a range in years before 1950, whatever its scale."""
    return sum(before_1950(dates)) / 2
