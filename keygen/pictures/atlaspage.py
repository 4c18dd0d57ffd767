"""The type atlas as one HTML page: no script, no font, no picture from afar; for screen and paper.

Every outline stands once in the page and is shown again by reference. A millimetre of a piece is
half a millimetre of paper; ranges are drawn in shares of the axis, so that they fit any width.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from html import escape
from pathlib import Path

from keygen.core.chronology import cal_bp_of_year
from keygen.pictures.atlas import Atlas, Plate
from keygen.pictures.atlasentry import Bar, Entry
from keygen.pictures.keypages import quoted
from keygen.pictures.portrait import SCALE, UNSIZED
from keygen.pictures.svg import Drawing, body, number
from keygen.prose.grammar import sentence
from keygen.prose.render import render

BAR = 20.0  # mm of a piece that the bar under an outline stands for
_DEEP = 4.4  # mm of a piece that the bar takes up under the outline
_STEPS = (500, 1000, 2000, 2500, 5000)  # years from label to label
_MOST_LABELS = 7
_CLEAR = 0.97  # share of the axis beyond which a label of BC would run into its heading


@dataclass(frozen=True)
class Tick:
    """A place on the axis, in percent from its older end, and what stands there."""

    at: str
    text: str


@dataclass(frozen=True)
class Axis:
    """Both scales over the bars: years before 1950, and BC/AD."""

    cal_bp: tuple[Tick, ...]
    years: tuple[Tick, ...]
    grid: tuple[str, ...]


def atlas_html(atlas: Atlas, folder: Path | None = None) -> str:
    """Return an atlas as an HTML page.

    Args:
        folder: a folder of the user's own templates, if any.

    Raises:
        KeygenError: a template cannot be used.
    """
    scale = axis(atlas.oldest)
    values = {
        "atlas": atlas,
        "axis": scale,
        "outlines": {name: body(drawn) for name, drawn in sorted(atlas.outlines.items())},
        "bars": {
            plate.region: {
                e.type: bar_svg(e.bar, atlas.oldest, scale) for e in plate.dated if e.bar
            }
            for plate in atlas.plates
        },
        "pictures": pictures([e for plate in atlas.plates for e in plate.entries]),
        "legend": legend(),
        "scale": SCALE,
        "bar": int(BAR / 10),
        "common": int(UNSIZED),
        "foot": quoted(f"Type atlas - edition {atlas.edition} - digest {atlas.digest}"),
    }
    return render("types/atlas.html.j2", values, folder) + "\n"


def _bars(plate: Plate, oldest: int, scale: Axis) -> dict[str, str]:
    return {e.type: bar_svg(e.bar, oldest, scale) for e in plate.dated if e.bar}


def share(cal: float, oldest: int) -> str:
    """Return where a year before 1950 lies on the axis, in percent from the older end."""
    return f"{number(100 * (oldest - cal) / oldest)}%"


def axis(oldest: int) -> Axis:
    """Return the ticks of an axis that runs from a year before 1950 to 1950."""
    step = next((s for s in _STEPS if oldest / s <= _MOST_LABELS), _STEPS[-1])
    places = range(0, oldest + 1, step)
    first = (1950 - oldest) // step * step
    years = [year or 1 for year in range(first, 1950, step)]
    years = [year for year in years if cal_bp_of_year(year) < _CLEAR * oldest]
    return Axis(
        tuple(Tick(share(cal, oldest), _year(cal)) for cal in reversed(places)),
        tuple(Tick(share(cal_bp_of_year(y), oldest), _dated(y, step)) for y in years),
        tuple(share(cal, oldest) for cal in places if 0 < cal < oldest),
    )


def _year(year: int) -> str:
    return f"{year:,}" if year >= 10_000 else str(year)


def _dated(year: int, step: int) -> str:
    """Return a year on the axis; BC and AD stand where they meet, the rest goes without."""
    return (
        f"{_year(-year)} BC" if year == -step else f"AD {year}" if year == 1 else _year(abs(year))
    )


def bar_svg(bar: Bar, oldest: int, scale: Axis) -> str:
    """Return a range as a picture as wide as there is room, with the lines of the axis behind."""
    lines = "".join(f'<line x1="{at}" x2="{at}" y1="0" y2="100%"/>' for at in scale.grid)
    return (
        '<svg class="range" width="100%" height="100%" aria-hidden="true">'
        f'<g class="grid">{lines}</g>{_rectangle(bar, oldest)}</svg>'
    )


def _rectangle(bar: Bar, oldest: int) -> str:
    """Return the bar: ink or white for what it rests on, striped if in doubt, low for a period."""
    high = 5 if bar.period else 12
    fill = {
        (True, True): "#000",
        (True, False): "url(#dark)",
        (False, True): "#fff",
        (False, False): "url(#light)",
    }[bar.read, bar.sure]
    left, wide = share(bar.start, oldest), number(100 * (bar.start - bar.end) / oldest)
    return (
        f'<rect x="{left}" y="50%" width="{wide}%" height="{high}" '
        f'transform="translate(0 {-high / 2:g})" fill="{fill}"/>'
    )


def legend() -> tuple[tuple[str, str], ...]:
    """Return a small bar for each kind of range, with the words for it."""
    kinds = (
        ((True, False, True), "read in its source"),
        ((True, False, False), "from memory (or common practice)"),
        ((False, False, True), "read, scale of the source uncertain"),
        ((False, False, False), "from memory, scale uncertain"),
        ((True, True, True), "low: the range of the period, not the type's own"),
    )
    start = '<svg class="range" width="48" height="16" aria-hidden="true">'
    return tuple(
        (f"{start}{_rectangle(Bar(9, 1, *kind, 'printed'), 10)}</svg>", words)
        for kind, words in kinds
    )


def pictures(entries: list[Entry]) -> Mapping[str, str]:
    """Return the picture of each type: its outline by reference, and a bar under it."""
    return {e.type: _picture(e.drawn, e) for e in entries if e.drawn}


def _picture(drawn: Drawing, entry: Entry) -> str:
    left, bottom, right, top = drawn.box
    left, right = min(left, -BAR / 2 - 0.5), max(right, BAR / 2 + 0.5)
    wide, high = right - left, top - bottom + _DEEP
    y, x = number(-bottom + _DEEP / 2), number(-BAR / 2)
    dashes = ' stroke-dasharray="1.6 1.6"' if entry.sized == "none" else ""
    ends = "" if dashes else f"M{x} {number(-bottom + 1)}v2.4m{number(BAR)} 0v-2.4"
    says = f"{drawn.says} {sentence(entry.caveat)}".rstrip()
    return (
        f'<svg class="outline" width="{number(wide / SCALE)}mm" height="{number(high / SCALE)}mm" '
        f'viewBox="{number(left)} {number(-top)} {number(wide)} {number(high)}" role="img">'
        f"<title>Outline of {escape(drawn.title)}</title><desc>{escape(says)}</desc>"
        f'<use href="#o-{escape(entry.type)}"/>'
        f'<path fill="none" stroke="currentColor" stroke-width=".6"{dashes} '
        f'd="M{x} {y}h{number(BAR)}{ends}"/></svg>'
    )
