"""The type atlas: all types of a region in order of age, before it is laid out."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from keygen.core.basis import Basis
from keygen.core.model import Rules
from keygen.pictures.atlasentry import Bar, Entry, bar_of, entry, outlined
from keygen.pictures.svg import Drawing
from keygen.prose.ages import full_citation
from keygen.prose.typepage import cautions


@dataclass(frozen=True)
class Plate:
    """A region: its types oldest first, those without a date, and forms that go by another name."""

    region: str
    label: str
    dated: tuple[Entry, ...]
    undated: tuple[Entry, ...]
    otherwise: tuple[tuple[str, str], ...]

    @property
    def entries(self) -> tuple[Entry, ...]:
        """Return all types, the undated last."""
        return (*self.dated, *self.undated)


@dataclass(frozen=True)
class Atlas:
    """A whole atlas: one axis and one scale for all regions.

    Attributes:
        oldest: cal BP at the left end of the axis; the right end is 0.
        curve: the curve by which radiocarbon years were calibrated, if any were.
        works: full references, each with whether it was cited from memory.
    """

    plates: tuple[Plate, ...]
    oldest: int
    edition: str
    digest: str
    cautions: str
    curve: str
    works: tuple[tuple[str, str], ...]

    @property
    def outlines(self) -> dict[str, Drawing]:
        """Return the outline of each type once, by its id."""
        entries = (e for plate in self.plates for e in plate.entries)
        return {e.type: e.drawn for e in entries if e.drawn}


def atlas(rules: Rules, regions: Sequence[str], folder: Path | None = None) -> Atlas:
    """Return the atlas of some regions, in the order given.

    Args:
        regions: ids of regions in which some type is known.
        folder: a folder of the user's own templates, if any.

    Raises:
        KeygenError: a template cannot be used.
    """
    drawn: dict[str, Drawing | None] = {}
    plates = tuple(_plate(rules, name, drawn, folder) for name in regions)
    bars = [entry.bar for plate in plates for entry in plate.entries if entry.bar]
    radiocarbon = any(bar.how in ("calibrated", "either") for bar in bars)
    return Atlas(
        plates,
        end_of_axis(bars),
        rules.edition,
        rules.digest,
        cautions(rules),
        rules.curve.label if rules.curve and radiocarbon else "",
        tuple(_works(rules, regions)),
    )


def end_of_axis(bars: Iterable[Bar | None]) -> int:
    """Return the year before 1950 at which an axis begins: a full thousand beyond all ranges."""
    return max((-(-bar.start // 1000) * 1000 for bar in bars if bar), default=1000)


def _plate(
    rules: Rules, region: str, drawn: dict[str, Drawing | None], folder: Path | None
) -> Plate:
    known = [
        (bar_of(rules, record), kind, record)
        for kind in rules.in_region(region)
        if (record := kind.record(region))
    ]
    known.sort(key=lambda each: (*_by_age(each[0]), each[1].name.casefold()))
    numbers = {kind.id: i for i, (_, kind, _) in enumerate(known, 1)}
    for _, kind, _ in known:
        if kind.id not in drawn:
            drawn[kind.id] = outlined(rules, kind)
    entries = [
        entry(rules, kind, record, drawn[kind.id], numbers, folder) for _, kind, record in known
    ]
    otherwise = sorted(
        (kind.name, rules.types[record.local_type].name)
        for kind in rules.types.values()
        if (record := kind.record(region)) and record.local_type in rules.types
    )
    return Plate(
        region,
        rules.regions[region].label,
        tuple(e for e in entries if e.bar),
        tuple(e for e in entries if not e.bar),
        tuple(otherwise),
    )


def _by_age(bar: Bar | None) -> tuple[bool, int, int]:
    """Return what a range sorts by: the older beginning first, then the older end, none last."""
    return (False, -bar.start, -bar.end) if bar else (True, 0, 0)


def _works(rules: Rules, regions: Iterable[str]) -> Iterator[tuple[str, str]]:
    """Yield the works that entries cite, with `all`, `some` or nothing of them from memory."""
    bases: dict[str, set[Basis]] = {}
    for region in regions:
        for kind in rules.in_region(region):
            record = kind.record(region)
            for cited in (kind, *((record,) if record else ()), *kind.measures):
                for key in cited.sources:
                    bases.setdefault(key, set()).add(cited.basis)
    for key, found in sorted(bases.items(), key=lambda each: full_citation(rules.sources[each[0]])):
        memory = "" if "memory" not in found else "some" if len(found) > 1 else "all"
        yield full_citation(rules.sources[key]), memory
