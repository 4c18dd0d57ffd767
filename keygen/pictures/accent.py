"""A drawing in which what one attribute is about stands out by its weight alone."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from keygen.pictures.breaks import Remains, break_line, remains
from keygen.pictures.geometry import Path, Point, bounds, distance, divide, line
from keygen.pictures.lines import doubtful
from keygen.pictures.marks import marks
from keygen.pictures.plan import Plan
from keygen.pictures.section import section
from keygen.pictures.sketch import Sketch
from keygen.pictures.svg import Drawing, Stroke

_INK = 0.9  # mm
_HAFT = ("haft", "notch", "shoulder", "ear", "base")
# Parts of the outline that a form is about; what is not named is about marks on the faces.
_PARTS: dict[str, tuple[str, ...]] = {
    "haft_style": _HAFT,
    "notch_position": ("notch", "shoulder"),
    "notch_form": ("notch", "shoulder"),
    "stem_shape": ("haft",),
    "stem_length": ("haft",),
    "haft_sides": ("haft",),
    "haft_waist": ("haft",),
    "base_shape": ("base",),
    "ears": ("ear", "base", "haft"),
    "base_width_class": ("base",),
    "shoulder_shape": ("shoulder",),
    "shoulder_strength": ("shoulder",),
    "barb_tip": ("shoulder",),
    "barb_reach": ("shoulder",),
    "blade_shape": ("blade", "tip"),
    "blade_edge": ("blade",),
    "blade_symmetry": ("blade", "tip"),
    "tip": ("blade", "tip"),
    "resharpening": ("blade",),
    "reworked_as": ("blade", "tip"),
    "size_class": (*_HAFT, "blade", "tip"),
    "portion": (*_HAFT, "blade", "tip"),
    "psa": ("haft", "notch"),
    "notch_opening": ("haft", "notch", "shoulder"),
    "base_width": ("base", "ear"),
    "basal_concavity": ("base",),
}
_FLUTES = frozenset({"fluting", "flute_length"})


def accented(
    sketch: Sketch,
    main: Plan,
    further: Sequence[tuple[str, Plan]],
    about: Sequence[str],
    title: str,
) -> Drawing:
    """Return a drawing of a sketch with some attributes in heavy line and the rest in thin.

    Args:
        further: other outlines, faint, each with the attribute in which it differs.
        about: ids of attributes; items of damage as `damage.item`.
    """
    damage = any(name.startswith("damage.") for name in about)
    if about[0] == "cross_section" and len(about) == 1:
        strokes = _sections(sketch, [other.form.states["cross_section"] for _, other in further])
    else:
        there = remains(main, sketch.states["portion"], sketch.damage)
        strokes = [*_behind(main, further, about), *_outline(main, there, about, damage)]
        shown = set(about) | (_FLUTES if _FLUTES & set(about) else set())
        unseen = frozenset(sketch.states) - shown
        strokes += [
            Stroke("full" if stroke.style == "mark" else stroke.style, stroke.paths)
            for stroke in marks(main, there, sketch.damage, unseen)
        ]
        strokes += _guides(main, about)
        if "cross_section" in about:
            strokes += _sections(sketch, [], 1.9 * main.form.width, 0.55 * main.form.length)
    box = bounds(path for stroke in strokes for path in stroke.paths)
    edge = 1.6 * _INK
    return Drawing(
        strokes=tuple(strokes),
        labels=(),
        box=(box[0] - edge, box[1] - edge, box[2] + edge, box[3] + edge),
        ink=_INK,
        title=title,
        says="Schematic: heavy lines show what the lead is about.",
    )


def _behind(main: Plan, further: Sequence[tuple[str, Plan]], about: Sequence[str]) -> list[Stroke]:
    if about[0] == "size_class":
        return [Stroke("faint", tuple(other.path for _, other in further))] if further else []
    return doubtful(main, further)


def _outline(main: Plan, there: Remains, about: Sequence[str], damage: bool) -> list[Stroke]:
    wanted = {part for name in about for part in _PARTS.get(name, ())}
    zone = _zone(main, about)
    if "haft" in wanted and all(segment.part != "haft" for segment in main.right):
        wanted.add("blade")  # the sides run in one line: the lowest third of it is the haft
        zone = _below(main.form.under + main.form.haft)
    heavy: list[Path] = []
    thin: list[Path] = []
    gone = tuple(run for kept, run in there.runs if not kept)
    for kept, run in there.runs:
        if not kept:
            continue
        for inside, stretch in divide(run, zone):
            for is_wanted, part in _grouped(stretch, wanted):
                (heavy if inside and is_wanted else thin).append(part)
    breaks = tuple(break_line(start, end) for start, end in (*there.edges, *there.cracks))
    strokes = [
        Stroke("full" if damage else "thin", tuple(thin)),
        Stroke("full" if "blade_edge" in about else "heavy", tuple(heavy)),
        Stroke("gone", gone),
        Stroke("heavy" if damage else "full", breaks),
    ]
    return [stroke for stroke in strokes if stroke.paths]


def _grouped(run: Path, wanted: set[str]) -> list[tuple[bool, Path]]:
    found: list[tuple[bool, Path]] = []
    for segment in run:
        inside = segment.part in wanted
        if found and found[-1][0] == inside:
            found[-1] = (inside, (*found[-1][1], segment))
        else:
            found.append((inside, (segment,)))
    return found


def _below(level: float) -> Callable[[Point], float]:
    return lambda p: level - p[1]


def _zone(main: Plan, about: Sequence[str]) -> Callable[[Point], float]:
    """Return where the heavy line is to be seen: above zero inside."""
    form = main.form
    if about[0] == "tip":
        level = main.foot + (0.3 if form.states["tip"] == "bit" else 0.62) * (
            form.length - main.foot
        )
        return lambda p: p[1] - level
    if about[0] == "ears":
        corner = (form.base, form.under + max(0.0, -form.depth))
        reach = 0.5 * form.base
        return lambda p: reach - distance((abs(p[0]), p[1]), corner)
    return lambda _: 1.0


def _guides(main: Plan, about: Sequence[str]) -> list[Stroke]:
    """Return the line that is measured, or dotted ones to hold the base against.

    The dotted ones run down from the widest place.
    """
    form = main.form
    if "neck_width" in about:
        neck = line((-form.neck, form.juncture), (form.neck, form.juncture))
        return [Stroke("heavy", ((neck,),))]
    if "base_width_class" not in about:
        return []
    top = (
        form.under + form.haft + form.floor / 2 + min(form.rise, 0.0) if form.set_off else form.haft
    )
    low = form.under - 0.06 * form.length
    return [Stroke("open", tuple((line((x, top), (x, low)),) for x in (-form.width, form.width)))]


def _sections(
    sketch: Sketch, others: Sequence[str], left: float = 0.0, level: float = 0.0
) -> list[Stroke]:
    """Return cross-sections large enough to be told apart: one, or all that are left in a field."""
    half = 12.0 if left or others else 20.0
    columns = 2 if others else 1
    paths = []
    for i, kind in enumerate((sketch.states["cross_section"], *others)):
        middle = (left + half + (i % columns) * 2.5 * half, level - (i // columns) * 1.4 * half)
        thick = 0.6 * half if kind == "flattened" else 0.9 * half
        paths.append(section(kind, half, thick, middle))
    return [Stroke("full" if left else "heavy", tuple(paths))]
