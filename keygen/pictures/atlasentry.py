"""What the atlas says of a type in one region: its age as a bar, its outline, its text.

Nothing is dated here: a range is that of the record, in cal BP for one axis, and how sure it is
comes along. An outline is drawn to scale from the middle of the recorded sizes.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from keygen.core.basis import Basis
from keygen.core.chronology import How
from keygen.core.model import Dates, Record, Rules, Type
from keygen.pictures.kindred import drawable
from keygen.pictures.outline import drawing
from keygen.pictures.portrait import INK, UNSIZED
from keygen.pictures.svg import Drawing
from keygen.prose.ages import BASIS, citations, figures, grounds, remarks
from keygen.prose.grammar import listed, plain, sentence
from keygen.prose.naming import local_name
from keygen.prose.typepage import definition, in_cal_bp

Sized = Literal["both", "part", "none"]
_LENGTHS = ("length", "width", "neck_width", "base_width")


@dataclass(frozen=True)
class Bar:
    """A range on the axis, in cal BP, and how sure it is.

    Attributes:
        start, end: the older and the younger end.
        sure: the scale of the source is certain; else the range takes in both readings.
        period: it is the range of the period, not the type's own.
        read: it was seen in its source, not recalled from it.
        how: how the range in cal BP came about; see `CalBP`.
    """

    start: int
    end: int
    sure: bool
    period: bool
    read: bool
    how: How


@dataclass(frozen=True)
class Alike:
    """A look-alike: its number in this region (0 if it is not known there), its name, its tell."""

    number: int
    name: str
    tell: str


@dataclass(frozen=True)
class Entry:
    """A type in one region: all that its entry says.

    Attributes:
        number: its place in the order of age.
        local: what it is called there, if that is another name.
        age: the published range as printed; `marks` what is to be known of it, in few words.
        grounds: what the age rests on; `defined` the same of the definition.
        bar: the range on the axis; None if it cannot be placed there.
        placed: the same in cal BP, in words; nothing where it is printed so.
        sizes: the recorded ranges, with what they rest on.
        drawn: the outline; None where the pictures do not know the vocabulary's hafts.
        sized: whether length and width are recorded, some size is, or none; `caveat` says so.
    """

    number: int
    type: str
    name: str
    also: tuple[str, ...]
    local: str
    cluster: str
    period: str
    age: str
    marks: tuple[str, ...]
    remarks: tuple[str, ...]
    grounds: str
    bar: Bar | None
    placed: str
    definition: str
    defined: str
    sizes: tuple[str, ...]
    alike: tuple[Alike, ...]
    notes: tuple[str, ...]
    drawn: Drawing | None
    sized: Sized
    caveat: str


def entry(
    rules: Rules,
    kind: Type,
    record: Record,
    drawn: Drawing | None,
    numbers: Mapping[str, int],
    folder: Path | None = None,
) -> Entry:
    """Return the entry of a type in one region.

    Args:
        drawn: its outline, if it has one.
        numbers: the numbers of the region's types, by id.
        folder: a folder of the user's own templates, if any.

    Raises:
        KeygenError: a template cannot be used.
    """
    bar = bar_of(rules, record)
    alike = [
        Alike(numbers.get(name, 0), rules.types[name].name, sentence(a.tell))
        for a in kind.look_alikes
        if (name := rules.names.get(a.type, ""))
    ]
    notes = (record.note, record.period_note, kind.note)
    return Entry(
        number=numbers.get(kind.id, 0),
        type=kind.id,
        name=kind.name,
        also=kind.also,
        local=local_name(rules, kind, record),
        cluster=kind.cluster,
        period=record.period,
        age=figures(record.dates).replace("radiocarbon years BP", "rcybp"),
        marks=_marks(record),
        remarks=tuple(r for r in remarks(record) if r != BASIS[record.basis]),
        grounds=_grounds(rules, record.sources, record.basis),
        bar=bar,
        placed=_placed(bar) if bar else "",
        definition=definition(rules, kind, folder),
        defined=_grounds(rules, kind.sources, kind.basis),
        sizes=tuple(_sizes(rules, kind)),
        alike=tuple(sorted(alike, key=lambda a: (not a.number, a.number))),
        notes=tuple(sentence(text) for text in notes if text),
        drawn=drawn,
        sized=sized(kind),
        caveat=caveat(rules, kind),
    )


def bar_of(rules: Rules, record: Record) -> Bar | None:
    """Return the range of a record on the axis; None if it cannot be placed there."""
    found = in_cal_bp(rules, record.dates)
    if found is None:
        return None
    return Bar(
        found.start,
        found.end,
        record.dates.sure,
        record.period_range,
        record.basis == "read",
        found.how,
    )


def outlined(rules: Rules, kind: Type) -> Drawing | None:
    """Return the outline of a type without a bar; of a common length if no size is recorded."""
    if not drawable(rules):
        return None
    return drawing(rules, kind, ink=INK, bar=False, unsized=UNSIZED)


def sized(kind: Type) -> Sized:
    """Tell whether length and width of a type are recorded, some size of its outline, or none."""
    found = {m.measurement for m in kind.measures} & set(_LENGTHS)
    return "both" if {"length", "width"} <= found else "part" if found else "none"


def caveat(rules: Rules, kind: Type) -> str:
    """Say of what size an outline is not, if length and width are not both recorded."""
    if sized(kind) == "both":
        return ""
    found = [m.measurement for m in kind.measures if m.measurement in _LENGTHS]
    labels = [plain(rules.measurements[m].label).removeprefix("maximum ") for m in found]
    return f"only {listed(labels)} recorded" if labels else "size not recorded"


def _placed(bar: Bar) -> str:
    """Return a range in cal BP, and how it came about where that has to be known."""
    text = figures(Dates(bar.start, bar.end, "cal BP"))
    if bar.how == "either":
        return f"within {text} on either reading"
    return {"calibrated": f"about {text}", "calendar": text}.get(bar.how, "")


def _marks(record: Record) -> tuple[str, ...]:
    """Return what is to be known of a range, in the fewest words."""
    certain = "" if record.dates.sure else "scale uncertain"
    if record.dates.sure and record.dates.scale == "bc/ad":
        certain = "uncalibrated"
    found = (certain, "period" if record.period_range else "", record.basis)
    return tuple(mark for mark in found if mark)


def _grounds(rules: Rules, sources: tuple[str, ...], basis: Basis) -> str:
    """Return sources with their basis, which is always said: `read` too."""
    if basis == "read":
        return f"{citations(rules, sources, 9)}, read"
    return grounds(rules, sources, basis, 9)


def _sizes(rules: Rules, kind: Type) -> Iterator[str]:
    """Yield the recorded ranges, those that rest on the same together."""
    groups: dict[str, list[str]] = {}
    for m in kind.measures:
        unit = rules.measurements[m.measurement].unit
        label = plain(rules.measurements[m.measurement].label).removeprefix("maximum ")
        text = f"{label} {m.low:g}-{m.high:g} {unit}"
        groups.setdefault(_grounds(rules, m.sources, m.basis), []).append(text)
    for why, texts in groups.items():
        yield sentence(f"{', '.join(texts)} ({why})")
