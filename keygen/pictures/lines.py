"""The lines of an outline: what is observed, missing, unknown or in doubt, and the section."""

from __future__ import annotations

from collections.abc import Sequence

from keygen.pictures.breaks import Remains, break_line
from keygen.pictures.geometry import Path, Segment, line
from keygen.pictures.plan import Plan
from keygen.pictures.section import section
from keygen.pictures.sketch import Sketch
from keygen.pictures.svg import Stroke, Style

# The attribute that decides how a part of the outline runs.
_DECIDES = {
    "tip": "tip",
    "blade": "blade_shape",
    "shoulder": "shoulder_shape",
    "notch": "haft_style",
    "haft": "haft_style",
    "ear": "base_shape",
    "base": "base_shape",
}
OUTLINING = frozenset(_DECIDES.values())
_BLADE = frozenset({"blade", "tip"})
_HAFT = frozenset({"shoulder", "notch", "haft", "ear", "base"})
# The parts in which a further state of an attribute is drawn; all of the haft for the others.
_ABOUT = {
    "blade_shape": _BLADE,
    "tip": _BLADE,
    "shoulder_shape": frozenset({"shoulder"}),
    "barb_reach": frozenset({"shoulder"}),
    "barb_tip": frozenset({"shoulder"}),
    "base_shape": frozenset({"base", "ear"}),
    "ears": frozenset({"base", "ear"}),
    "stem_shape": frozenset({"haft", "base", "ear"}),
    "stem_length": frozenset({"haft", "base", "ear"}),
    "base_width_class": frozenset({"haft", "base", "ear"}),
}


def lines(there: Remains, unknown: frozenset[str]) -> list[Stroke]:
    """Return the outline: full where observed, dotted where not, dashed where broken off."""
    runs: dict[Style, list[Path]] = {"full": [], "open": [], "gone": [], "lost": [], "thin": []}
    for kept, run in there.runs:
        for seen, part in _by_knowledge(run, unknown):
            if kept:
                runs["full" if seen else "open"].append(part)
            elif seen:
                runs["gone"].append(part)
            else:
                # Nobody can tell what a lost haft was; a lost blade at least ended in a tip.
                runs["lost"] += [(segment,) for segment in part if segment.part in _BLADE]
    for start, end in (*there.edges, *there.cracks):
        runs["thin"].append(break_line(start, end))
    return [Stroke(style, tuple(paths)) for style, paths in runs.items() if paths]


def _by_knowledge(run: Path, unknown: frozenset[str]) -> list[tuple[bool, Path]]:
    """Return the stretches of a run whose form was observed (true) or not."""
    found: list[tuple[bool, list[Segment]]] = []
    for segment in run:
        seen = _DECIDES.get(segment.part, "") not in unknown
        if found and found[-1][0] == seen:
            found[-1][1].append(segment)
        else:
            found.append((seen, [segment]))
    if len(found) > 1 and found[0][0] == found[-1][0] and run[0].start == run[-1].end:
        found[0] = (found[0][0], [*found.pop()[1], *found[0][1]])
    return [(seen, tuple(part)) for seen, part in found]


def doubtful(main: Plan, faint: Sequence[tuple[str, Plan]]) -> list[Stroke]:
    """Return what further states change in the outline, each stretch once.

    Only the parts that an attribute is about are drawn: other shoulders move the whole blade a
    little, which says nothing.
    """
    seen = {_key(segment) for segment in main.path}
    paths: list[Path] = []
    for name, other in faint:
        about = _ABOUT.get(name, _HAFT)
        for side, own in ((other.right, main.right), (other.left, main.left)):
            run: list[Segment] = []
            for segment in side:
                if segment.part in about and _key(segment) not in seen:
                    seen.add(_key(segment))
                    run.append(segment)
                elif run:
                    paths.append(_tied(tuple(run), own))
                    run = []
            if run:
                paths.append(_tied(tuple(run), own))
    return [Stroke("faint", tuple(paths))] if paths else []


def _tied(run: Path, own: Path) -> Path:
    """Return a run, tied to where the main outline goes on if it ends at another place."""
    for part, end in ((run[-1].part, run[-1].end), (run[0].part, run[0].start)):
        if part != "shoulder":
            continue
        feet = [p for s in own if s.part == "blade" for p in (s.start, s.end)]
        foot = min(feet, key=lambda p: p[1], default=end)
        if end == run[-1].end and foot != end and abs(foot[0] - end[0]) < abs(end[0]):
            return (*run, line(end, foot, "shoulder"))
        if end == run[0].start and foot != end:
            return (line(foot, end, "shoulder"), *run)
    return run


def _key(segment: Segment) -> tuple[float, ...]:
    ends = sorted((segment.points, segment.points[::-1]))[0]
    return tuple(round(value, 2) for point in ends for value in point)


def beside(main: Plan, there: Remains, sketch: Sketch, left: float) -> list[Stroke]:
    """Return the cross-section beside the blade, with two ticks where the blade is cut."""
    form = main.form
    level = main.foot + 0.3 * (form.length - main.foot)
    if "cross_section" in sketch.unknown or "cross_section" not in sketch.states:
        return []
    if not there.low <= level <= there.high:
        return []
    half = (main.edge(level, 1)[0] - main.edge(level, -1)[0]) / 2
    middle = (left + half, level)
    first = section(sketch.states["cross_section"], half, form.thickness, middle)
    others = tuple(
        section(kind, half, form.thickness, middle)
        for kind in sketch.others.get("cross_section", ())[:2]
    )
    tick = 0.05 * form.length
    ticks = tuple(
        (line((x + side * 0.4 * tick, level), (x + side * 1.2 * tick, level)),)
        for side in (-1, 1)
        for x in (main.edge(level, side)[0],)
    )
    drawn = [Stroke("full", (first,)), Stroke("mark", ticks)]
    return [*drawn, Stroke("faint", others)] if others else drawn
