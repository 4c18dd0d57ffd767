"""The key as a graph: in the DOT language, and as a drawing.

The drawing shows the sections of the key side by side, each in layers from top to bottom. Lines
that lead to the same couplet flow together; what leaves a section ends in the number of the couplet
with which another begins.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from html import escape
from textwrap import wrap

from keygen.core.model import Rules
from keygen.pictures.keybook import PrintedCouplet, PrintedLead, Section, book
from keygen.pictures.layers import Layout, Spot, layout
from keygen.pictures.svg import number

WIDE, HIGH, GAP = 206.0, 60.0, 38.0  # a box of a couplet and the way to the next layer, in pixels
PASS = 30.0  # room of a line that runs past a layer
BESIDE = 26.0  # from box to box
PANEL = 40.0  # between sections
TITLE = 40.0  # room for the title of a section
START = 26.0  # how far from the middle of a box its leads begin
ROUND = 15.0  # half the height of an end
LINE = 12.8
LETTERS = 28  # letters in a line of a box
FONT = 'font-family="Liberation Sans,Arial,Helvetica,sans-serif"'


def dot(rules: Rules) -> str:
    """Return the graph of the key in the DOT language, a cluster a section."""
    found = book(rules)
    lines = [
        "digraph key {",
        f"  label={_quoted(f'Key, edition {found.edition}, digest {found.digest}')};",
        "  node [shape=box];",
        "  end [shape=oval];",
    ]
    for i, section in enumerate(found.sections):
        lines += [f"  subgraph cluster_{i} {{", f"    label={_quoted(section.title)};"]
        for couplet in section.couplets:
            lines.append(
                f"    {couplet.number} [label={_quoted(f'{couplet.number} {couplet.ask}')}];"
            )
        lines.append("  }")
    for section in found.sections:
        for couplet in section.couplets:
            for lead in couplet.leads:
                told = f"label={lead.letter}, tooltip={_quoted(lead.say)}"
                lines.append(f"  {couplet.number} -> {lead.to or 'end'} [{told}];")
    return "\n".join([*lines, "}"]) + "\n"


def _quoted(text: str) -> str:
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{escaped}"'


@dataclass(frozen=True)
class _Panel:
    """A section laid out: its spots relative to its own upper left corner, and its size."""

    section: Section
    plan: Layout
    left: float
    width: float
    height: float

    def x(self, spot: Spot) -> float:
        """Return the middle of a spot."""
        return self.plan.x[spot] - self.left

    @staticmethod
    def y(layer: int) -> float:
        """Return the upper edge of a layer."""
        return TITLE + layer * (HIGH + GAP)


def svg(rules: Rules) -> str:
    """Return the graph of the key as an SVG drawing, in black, white and grey."""
    found = book(rules)
    panels = [_panel(section) for section in found.sections]
    columns = _columns(panels)
    titles = {s.couplets[0].number: s.title for s in found.sections}
    parts: list[str] = []
    x, high = PANEL, 0.0
    for column in columns:
        y = 2 * PANEL
        for panel in column:
            inside = "".join(_drawn(panel, titles))
            parts.append(f'<g transform="translate({number(x)} {number(y)})">{inside}</g>')
            y += panel.height + PANEL
        high = max(high, y)
        x += max(panel.width for panel in column) + 1.5 * PANEL
    title = f"Key to chipped-stone points, edition {found.edition}, digest {found.digest}"
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{number(x)}" height="{number(high)}" '
        f'viewBox="0 0 {number(x)} {number(high)}" role="img"><title>{escape(title)}</title>'
        '<rect width="100%" height="100%" fill="#fff"/>'
        f'<text x="{number(PANEL)}" y="{number(1.2 * PANEL)}" {FONT} font-size="22" '
        f'font-weight="bold">{escape(title)}</text>'
        f'<g {FONT} font-size="11.5" stroke-linejoin="round">{"".join(parts)}</g></svg>\n'
    )


def _panel(section: Section) -> _Panel:
    """Lay out a section; where its leads leave it are the last nodes."""
    own = [str(couplet.number) for couplet in section.couplets]
    edges = [(str(c.number), _end(lead)) for c in section.couplets for lead in c.leads]
    outside = sorted({end for _, end in edges} - set(own), key=_rank)
    plan = layout([*own, *outside], edges, WIDE + BESIDE, PASS)
    half = {
        spot: WIDE / 2 if spot[1] == plan.layer[spot[0]] else PASS / 2
        for row in plan.layers
        for spot in row
    }
    left = min(plan.x[spot] - wide for spot, wide in half.items())
    right = max(plan.x[spot] + wide for spot, wide in half.items())
    height = _Panel.y(len(plan.layers)) - GAP
    return _Panel(section, plan, left, right - left, height)


def _end(lead: PrintedLead) -> str:
    return str(lead.to) if lead.to else "end"


def _rank(name: str) -> tuple[bool, int]:
    return (name == "end", 0 if name == "end" else int(name))


def _columns(panels: Sequence[_Panel]) -> list[list[_Panel]]:
    """Return the sections in columns, none higher than the highest section."""
    most = max((panel.height for panel in panels), default=0.0)
    columns: list[list[_Panel]] = []
    for panel in panels:
        together = [*columns[-1], panel] if columns else []
        if together and sum(p.height + PANEL for p in together) - PANEL <= most:
            columns[-1].append(panel)
        else:
            columns.append([panel])
    return columns


def _drawn(panel: _Panel, titles: dict[int, str]) -> Iterator[str]:
    """Yield the lines, then the boxes over them, then the letters of the leads."""
    own = {str(couplet.number): couplet for couplet in panel.section.couplets}
    yield (
        f'<text y="16" font-size="17" font-weight="bold">{escape(panel.section.title)}</text>'
        f'<path d="M0 24H{number(panel.width)}" stroke="#000" stroke-width="2.5"/>'
    )
    yield f'<path d="{"".join(_lines(panel, own))}" fill="none" stroke="#000" stroke-width="1.1"/>'
    for row in panel.plan.layers:
        for name, layer in row:
            x, y = panel.x((name, layer)), panel.y(layer)
            if panel.plan.layer[name] == layer:
                yield _head(x, y)
                yield _box(own[name], x, y) if name in own else _exit(name, titles, x, y)
    for couplet in own.values():
        yield from _letters(panel, couplet)


def _starts(panel: _Panel, couplet: PrintedCouplet) -> list[tuple[PrintedLead, float, Spot]]:
    """Return each lead with where it begins and the spot below: the one further left begins left.

    Where both go the same way, a is left.
    """
    name = str(couplet.number)
    layer = panel.plan.layer[name]
    below = [(lead, (_end(lead), layer + 1)) for lead in couplet.leads]
    below.sort(key=lambda found: (round(panel.x(found[1]), 3), found[0].letter))
    middle = panel.x((name, layer))
    return [
        (lead, middle + offset, spot)
        for (lead, spot), offset in zip(below, (-START, START), strict=True)
    ]


def _lines(panel: _Panel, own: dict[str, PrintedCouplet]) -> Iterator[str]:
    """Yield the path data of all lines: leads to the next layer, and on through the passes."""
    for couplet in own.values():
        y = panel.y(panel.plan.layer[str(couplet.number)]) + HIGH
        for _, x, spot in _starts(panel, couplet):
            yield _bend(x, y, panel.x(spot), y + GAP)
    for one, other in sorted(panel.plan.links):
        if one[0] == other[0]:  # a pass on the way
            x, y = panel.x(one), panel.y(one[1])
            yield f"M{number(x)} {number(y)}v{number(HIGH)}"
            yield _bend(x, y + HIGH, panel.x(other), y + HIGH + GAP)


def _bend(x: float, y: float, to: float, bottom: float) -> str:
    middle = number((y + bottom) / 2)
    curve = f"{number(x)} {middle} {number(to)} {middle} {number(to)} {number(bottom)}"
    return f"M{number(x)} {number(y)}C{curve}"


def _head(x: float, y: float) -> str:
    return f'<path d="M{number(x - 4)} {number(y - 7)}h8l-4 7z"/>'


def _box(couplet: PrintedCouplet, x: float, y: float) -> str:
    """Return a couplet: its number in a dark field, and its question."""
    left = x - WIDE / 2
    lines = wrap(couplet.ask, LETTERS)
    first = y + HIGH / 2 - LINE * (len(lines) - 1) / 2 + 4
    text = "".join(
        f'<tspan x="{number(left + 36)}" y="{number(first + i * LINE)}">{escape(line)}</tspan>'
        for i, line in enumerate(lines)
    )
    return (
        f'<rect x="{number(left)}" y="{number(y)}" width="{number(WIDE)}" height="{number(HIGH)}" '
        'fill="#fff" stroke="#000" stroke-width="1.2"/>'
        f'<rect x="{number(left)}" y="{number(y)}" width="30" height="{number(HIGH)}"/>'
        f'<text x="{number(left + 15)}" y="{number(y + HIGH / 2 + 5)}" font-size="14" '
        f'font-weight="bold" fill="#fff" text-anchor="middle">{couplet.number}</text>'
        f"<text>{text}</text>"
    )


def _exit(name: str, titles: dict[int, str], x: float, y: float) -> str:
    """Return where leads leave a section."""
    title = f"{name}  {titles.get(int(name), '')}".strip() if name != "end" else "end"
    return (
        f'<rect x="{number(x - WIDE / 2)}" y="{number(y)}" width="{number(WIDE)}" '
        f'height="{number(2 * ROUND)}" rx="{number(ROUND)}" fill="#ddd" stroke="#000"/>'
        f'<text x="{number(x)}" y="{number(y + ROUND + 5)}" font-size="13" font-weight="bold" '
        f'text-anchor="middle">{escape(title)}</text>'
    )


def _letters(panel: _Panel, couplet: PrintedCouplet) -> Iterator[str]:
    """Yield the letter of each lead, on the side from which its line bends away."""
    y = panel.y(panel.plan.layer[str(couplet.number)]) + HIGH + 12
    for lead, x, spot in _starts(panel, couplet):
        side = -8 if panel.x(spot) > x else 8
        yield (
            f'<text x="{number(x + side)}" y="{number(y)}" font-weight="bold" text-anchor="middle">'
            f"{lead.letter}<title>{escape(lead.say)}</title></text>"
        )
