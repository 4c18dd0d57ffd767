"""Plan outlines of pieces and types, drawn from coded states and measurements.

Tip up. What was observed stands in a full line; further states still possible are faint; what
nobody observed is dotted; what is broken off is dashed. A bar gives centimetres where a size is
known. An outline is a schematic from coded attributes, never a drawing of the piece itself.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import islice

from keygen.core.examine import Examination
from keygen.core.measure import Reading
from keygen.core.model import Rules, Type
from keygen.pictures.breaks import remains
from keygen.pictures.geometry import Box, bounds, chain
from keygen.pictures.lines import OUTLINING, beside, doubtful, lines
from keygen.pictures.marks import marks
from keygen.pictures.plan import Plan, plan
from keygen.pictures.sketch import Sketch, doubts, of_box, of_piece, of_type
from keygen.pictures.svg import Drawing, Label, Stroke, picture

SCHEMATIC = "Schematic from coded attributes, not a drawing of the piece."
# Attributes that no picture shows, and why not. All others change the outline, the section, a mark
# or, where nothing was measured, the size.
NOT_DRAWN = {
    "sampling": "it is a plan, not a form",
    "handling": "it is what was done since the piece was found, not a form",
}
CAPTION = "schematic from coded attributes"
FAINT_AT_MOST = 5
ICON_MARKS = frozenset({"fluting", "flute_length"})
INK, ICON_INK = 0.0105, 0.032  # weight of a full line, as a share of the longer side


def outline(
    rules: Rules,
    subject: Examination | Type | Sequence[int],
    readings: Mapping[str, Reading] | None = None,
    *,
    title: str = "",
    caption: bool = False,
    icon: bool = False,
    height: str = "",
) -> str:
    """Return the outline of a piece, a type, or sets of states, as SVG text.

    Args:
        subject: an examined piece; a type; or one mask an attribute, with `readings` by id.
        title: name for readers who do not see the picture; the piece's label or type's name.
        caption: put a line under the picture that says what it is.
        icon: draw for a height of about 40 pixels: heavy lines, nothing fine, no bar.
        height: a length of CSS (`40px`); empty for the true size.
    """
    return picture(
        drawing(rules, subject, readings, title=title, caption=caption, icon=icon), height
    )


def drawing(
    rules: Rules,
    subject: Examination | Type | Sequence[int],
    readings: Mapping[str, Reading] | None = None,
    *,
    title: str = "",
    caption: bool = False,
    icon: bool = False,
    ink: float = 0.0,
    bar: bool = True,
    unsized: float = 0.0,
) -> Drawing:
    """Return the outline not yet as text, so that several can be put side by side.

    Args:
        ink: weight of a full line in mm; 0 to fit the size of the piece.
        bar: draw the bar of centimetres where the size is known.
        unsized: length in mm at which to draw what has no size of its own; 0 for a usual one.
    """
    if isinstance(subject, Examination):
        sketch = of_piece(rules, subject)
        title = title or subject.piece.label
    elif isinstance(subject, Type):
        sketch = of_type(rules, subject)
        title = title or subject.name
    else:
        sketch = of_box(rules, subject, readings)
    if unsized and not sketch.measured:
        sketch = replace(sketch, sizes={**sketch.sizes, "length": unsized})
    main = plan(sketch.states, sketch.sizes)
    further = islice(doubts(rules, sketch), 0 if icon else FAINT_AT_MOST)
    # A further state is no other size: what was not measured is taken from the main outline. Faint
    # edges go without teeth, which would only blur.
    same = {"length": main.form.length, "width": 2 * main.form.width, **sketch.sizes}
    faint = [(name, plan({**states, "blade_edge": "plain"}, same)) for name, states in further]
    return draw(sketch, main, faint, title, caption, icon, ink, bar)


def draw(
    sketch: Sketch,
    main: Plan,
    faint: Sequence[tuple[str, Plan]],
    title: str = "",
    caption: bool = False,
    icon: bool = False,
    ink: float = 0.0,
    bar: bool = True,
) -> Drawing:
    """Return the drawing of a sketch, with further outlines in faint lines behind it."""
    form = main.form
    there = remains(main, sketch.states.get("portion", "complete"), sketch.damage, sketch.at_least)
    ink = ink or max(form.length, 2 * form.width) * (ICON_INK if icon else INK)
    strokes = [*doubtful(main, faint), *lines(there, sketch.unknown)]
    labels: tuple[Label, ...] = ()
    box = bounds(path for stroke in strokes for path in stroke.paths)
    if icon:
        strokes += marks(main, there, frozenset(), frozenset(sketch.states) - ICON_MARKS)
    else:
        strokes += marks(main, there, sketch.damage, sketch.unknown)
        strokes += beside(main, there, sketch, box[2] + 0.14 * form.length)
        box = bounds(path for stroke in strokes for path in stroke.paths)
        if bar and sketch.measured:
            more, label, box = _bar(form.length, box)
            strokes.append(more)
            labels += (label,)
        if caption:
            label, box = _caption(box)
            labels += (label,)
    edge = 1.6 * ink
    return Drawing(
        strokes=tuple(strokes),
        labels=labels,
        box=(box[0] - edge, box[1] - edge, box[2] + edge, box[3] + edge),
        ink=ink,
        title=title or "Outline",
        says=_says(sketch, main),
        measured=sketch.measured,
        remarks=main.remarks,
    )


def _bar(length: float, box: Box) -> tuple[Stroke, Label, Box]:
    """Return a bar of whole centimetres below a box, ticked at each, its label and the new box."""
    left, bottom, right, top = box
    count = max(1, min(5, int(length / 30)))
    size, tick, half = max(2.2, 0.045 * length), 0.02 * length, 5.0 * count
    y = bottom - 0.06 * length
    stops = [-half + 10 * i for i in range(count + 1)]
    ticks = [chain([(x, y + tick), (x, y - tick)]) for x in stops]
    label = Label(f"{count} cm", (0.0, y - tick - 1.1 * size), size)
    below = label.at[1] - 0.3 * size
    stroke = Stroke("thin", (chain([(-half, y), (half, y)]), *ticks))
    return stroke, label, (min(left, -half), below, max(right, half), top)


def _caption(box: Box) -> tuple[Label, Box]:
    left, bottom, right, top = box
    size = max(2.2, 0.035 * (top - bottom))
    wide = 0.56 * size * len(CAPTION)  # about as wide as sans-serif letters run
    middle = (left + right) / 2
    label = Label(CAPTION, (middle, bottom - 1.2 * size), size)
    low = label.at[1] - 0.3 * size
    return label, (min(left, middle - wide / 2), low, max(right, middle + wide / 2), top)


def _says(sketch: Sketch, main: Plan) -> str:
    """Return the description of a picture: what it is, and what of it is not to be trusted."""
    parts = [SCHEMATIC]
    if sketch.others:
        parts.append("Faint: further states still possible.")
    if sketch.unknown & OUTLINING:
        parts.append("Dotted: not observed.")
    if sketch.states.get("portion", "complete") != "complete":
        parts.append("Dashed: missing.")
    parts.append("Drawn to size." if sketch.measured else "Not to scale.")
    if main.remarks:
        parts.append(f"Not drawn as measured: {', '.join(main.remarks)}.")
    return " ".join(parts)
