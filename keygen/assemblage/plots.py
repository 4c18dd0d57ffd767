"""Plots of tallies and timelines in plain SVG: black ink, no script, readable without colour."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from html import escape

from keygen.assemblage.tally import Tally, wilson
from keygen.assemblage.timeline import Span, reach

FONT = 12  # px; text is set in the reader's own sans serif
LINE = 22  # px, height of a row
LETTER = 6.6  # px, the room that a letter takes on average
LONGEST = 36  # characters of a column's name; the whole of it stands in the table
FEW = 10  # specimens; a group with fewer is drawn hollow
AXIS_STEPS = (100, 200, 500, 1000, 2000, 5000)
HATCH = (
    '<defs><pattern id="memory" width="5" height="5" patternUnits="userSpaceOnUse" '
    'patternTransform="rotate(45)"><path d="M0 0V5" stroke="#000"/></pattern></defs>'
)


@dataclass
class Sheet:
    """Marks gathered on one drawing."""

    width: float
    height: float
    title: str
    marks: list[str] = field(default_factory=list)

    def text(self, x: float, y: float, words: str, anchor: str = "start", turn: int = 0) -> None:
        """Write words; `turn` in degrees."""
        turned = f' transform="rotate({turn} {_n(x)} {_n(y)})"' if turn else ""
        self.marks.append(
            f'<text x="{_n(x)}" y="{_n(y)}" text-anchor="{anchor}"{turned}>{escape(words)}</text>'
        )

    def bar(self, x: float, y: float, width: float, height: float, fill: str) -> None:
        """Draw a bar from its upper left corner."""
        self.marks.append(
            f'<rect x="{_n(x)}" y="{_n(y)}" width="{_n(width)}" height="{_n(height)}" '
            f'fill="{fill}" stroke="#000"/>'
        )

    def line(self, x1: float, y1: float, x2: float, y2: float, style: str = "") -> None:
        """Draw a line."""
        self.marks.append(f'<path d="M{_n(x1)} {_n(y1)}L{_n(x2)} {_n(y2)}" stroke="#000"{style}/>')

    def svg(self) -> str:
        """Return the drawing."""
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" role="img" width="{_n(self.width)}" '
            f'height="{_n(self.height)}" viewBox="0 0 {_n(self.width)} {_n(self.height)}" '
            f'font-family="sans-serif" font-size="{FONT}" fill="#000">'
            f"<title>{escape(self.title)}</title>{HATCH}{''.join(self.marks)}</svg>\n"
        )


def _n(value: float) -> str:
    return f"{value:.1f}".removesuffix(".0")


def _short(name: str) -> str:
    return name if len(name) <= LONGEST else f"{name[: LONGEST - 3].rstrip()}..."


def _room(words: Iterable[str]) -> float:
    return LETTER * max((len(w) for w in words), default=0) + 12


def centred_bars(table: Tally, title: str, column: float = 90) -> str:
    """Return shares as bars centred on a line, a column a category and a row a group.

    Thin lines beside each bar reach as far as the 95 % interval of the share, so that a small
    sample is seen as one; a group of fewer than ten specimens is drawn hollow.

    Args:
        table: the counts.
        title: what the drawing is called, for those who do not see it.
        column: the width (px) that stands for 100 %.
    """
    heads = [_short(name) for name in table.categories]
    left, top = _room(table.groups), _room(heads) * 0.75 + 20
    width = left + column * len(table.categories) + 70
    legend = f"width: share of the group; lines: 95 % interval; hollow: fewer than {FEW} specimens"
    height = top + LINE * len(table.groups) + 40
    sheet = Sheet(max(width, _room([legend])), height, title)
    for c, name in enumerate(heads):
        sheet.text(left + column * (c + 0.5), top - 8, name, turn=-35)
    sheet.text(left + column * len(table.categories) + 12, top - 8, "n")
    for g, group in enumerate(table.groups):
        y = top + LINE * g
        sheet.text(left - 8, y + LINE * 0.68, group, "end")
        total = table.totals[g]
        sheet.text(left + column * len(table.categories) + 12, y + LINE * 0.68, f"{total:g}")
        for c in range(len(table.categories)):
            share, middle = table.share(g, c), left + column * (c + 0.5)
            if share is None:
                continue
            reach_of = wilson(table.counts[g][c], total)[1] * column / 2
            if share:
                half = share * column / 2
                fill = "#fff" if total < FEW else "#555"
                sheet.bar(middle - half, y + 3, 2 * half, LINE - 6, fill)
                for side in (-1, 1):
                    sheet.line(
                        middle + side * half, y + LINE / 2, middle + side * reach_of, y + LINE / 2
                    )
            else:
                sheet.line(middle, y + 3, middle, y + LINE - 3)
    sheet.text(8, height - 12, legend)
    return sheet.svg()


def timeline(spans: Sequence[Span], names: Sequence[str], title: str, span: float = 520) -> str:
    """Return date ranges on one cal BP axis, the oldest at the left.

    A range that is seen in its source is drawn solid, one recalled from memory hatched, one of
    common practice white; ends are dashed where nobody can tell the scale of the source.

    Args:
        spans: the ranges, in the order of the rows.
        names: what each row is called.
        title: what the drawing is called, for those who do not see it.
        span: the width (px) of the axis.
    """
    ends = reach(spans)
    if ends is None:
        return Sheet(span, LINE, title).svg()
    step = next((s for s in AXIS_STEPS if (ends[0] - ends[1]) / s <= 9), AXIS_STEPS[-1])
    old, young = -(-ends[0] // step) * step, max(0, ends[1] // step * step)
    left = _room(names)
    counts = [_count(s) for s in spans]
    legend = "solid: read in the source; hatched: from memory; dashed: scale not certain"
    height = LINE * len(spans) + 70
    sheet = Sheet(max(left + span + _room(counts), _room([legend])), height, title)

    def at(year: int) -> float:
        return left + span * (old - year) / max(1, old - young)

    bottom = LINE * len(spans) + 8
    for year in range(young, old + 1, step):
        sheet.line(at(year), 4, at(year), bottom, ' stroke-opacity="0.15"')
        sheet.text(at(year), bottom + 14, f"{year:,}", "middle")
    sheet.text(left + span, bottom + 30, "cal BP", "end")
    for row, (s, name, count) in enumerate(zip(spans, names, counts, strict=True)):
        y = LINE * row + 6
        sheet.text(left - 8, y + LINE * 0.62, name, "end")
        fill = {"read": "#555", "memory": "url(#memory)"}.get(s.basis, "#fff")
        if s.how == "either":
            middle = y + (LINE - 8) / 2
            sheet.line(at(s.start), middle, at(s.end), middle, ' stroke-dasharray="4 3"')
            quarter = (s.start - s.end) // 8
            sheet.bar(
                at(s.start - quarter),
                y,
                at(s.end + quarter) - at(s.start - quarter),
                LINE - 8,
                fill,
            )
        else:
            sheet.bar(at(s.start), y, at(s.end) - at(s.start), LINE - 8, fill)
        sheet.text(left + span + 10, y + LINE * 0.62, count)
    sheet.text(8, height - 8, legend)
    return sheet.svg()


def _count(s: Span) -> str:
    told = [
        f"{s.assigned} assigned" if s.assigned else "",
        f"{s.possible} possible" if s.possible else "",
    ]
    return ", ".join(part for part in told if part)
