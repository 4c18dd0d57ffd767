"""Outlines keep to what was measured and observed, and never cross themselves."""

from __future__ import annotations

from itertools import combinations
from math import atan2, degrees, inf, isclose
from xml.etree import ElementTree

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from syrupy.assertion import SnapshotAssertion

from keygen.core.examine import Piece, examine
from keygen.core.measure import Reading
from keygen.core.model import Rules
from keygen.core.observe import Observation
from keygen.core.states import Box
from keygen.pictures.geometry import flatten
from keygen.pictures.outline import NOT_DRAWN, draw, drawing, outline
from keygen.pictures.plan import plan
from keygen.pictures.sketch import Sketch, of_box, of_type
from keygen.pictures.svg import path_data
from keygen.rulebase.load import shipped
from tests.pictures.pieces import (
    LANCEOLATE,
    NOTCHED,
    STEMMED,
    Point,
    across,
    blurred,
    boxes,
    crosses,
    flat,
    reading,
    single,
    sizes,
    strokes,
)

RULES = shipped()
SEGMENTS = list[tuple[str, list[Point]]]


def close(drawn: float, measured: float) -> bool:
    """Tell whether a drawn figure is within 1 % of the measured one."""
    return isclose(drawn, measured, rel_tol=0.01)


def main_line(svg: str) -> SEGMENTS:
    """Return the outline drawn in full."""
    return next(outlines[0] for look, outlines in strokes(svg) if look == "")


@settings(max_examples=250, deadline=None)
@given(box=boxes(RULES), taken=sizes(RULES))
def test_no_crossing(box: Box, taken: dict[str, float]) -> None:
    """No outline crosses itself, for any piece of the key and any measurements."""
    sketch = of_box(RULES, box, {name: reading(value) for name, value in taken.items()})
    points = flatten(plan(sketch.states, sketch.sizes).path, 24)
    assert points[0] == points[-1]
    assert not crosses(points)


@settings(max_examples=120, deadline=None)
@given(box=boxes(RULES), taken=sizes(RULES), length=st.floats(8, 300), width=st.floats(4, 150))
def test_length_is_kept_or_said(
    box: Box, taken: dict[str, float], length: float, width: float
) -> None:
    """Whatever else was measured, length and width are drawn as taken or named as not kept."""
    drawn = plan(of_box(RULES, box).states, {**taken, "length": length, "width": width})
    points = flatten(drawn.path, 24)
    high = max(p[1] for p in points) - min(p[1] for p in points)
    assert close(high, length) or "length" in drawn.remarks
    foot = next(s for s in drawn.right if s.part in ("blade", "tip")).start
    assert close(2 * foot[0], width) or "width" in drawn.remarks


SHARE = st.floats(0.0, 1.0)


@settings(max_examples=120, deadline=None)
@given(
    length=st.floats(20, 140),
    shares=st.tuples(SHARE, SHARE, SHARE, SHARE),
    shoulder=st.sampled_from(["tapered", "horizontal", "inverse", "barbed", "rounded"]),
    base=st.sampled_from(["straight", "incurvate"]),
    blade=st.sampled_from(["straight", "excurvate", "incurvate", "recurvate", "parallel"]),
    notch=st.sampled_from(["none", "side", "corner"]),
)
def test_measured_back(
    length: float,
    shares: tuple[float, float, float, float],
    shoulder: str,
    base: str,
    blade: str,
    notch: str,
) -> None:
    """Length, widths and haft measured on the emitted line agree with the input to 1 %."""
    a, b, c, d = shares
    width = length * (0.28 + 0.4 * a)
    neck = width * (0.4 + 0.35 * b)
    wide = neck * (1.05 + 0.2 * c) if notch != "none" else neck * (0.6 + 0.5 * c)
    haft = width * (0.3 + 0.3 * d)
    taken = dict(
        zip(
            ("length", "width", "neck_width", "base_width", "haft_length"),
            (length, width, neck, wide, haft),
            strict=True,
        )
    )
    states = {
        **(STEMMED if notch == "none" else {**NOTCHED, "notch_position": notch}),
        "shoulder_shape": shoulder,
        "barb_tip": "pointed" if shoulder == "barbed" else "none",
        "barb_reach": "short" if shoulder == "barbed" else "none",
        "base_shape": base,
        "blade_shape": blade,
        "stem_shape": "expanding" if wide > neck else "contracting",
        "blade_edge": "plain",
        "ears": "none",
        "tip": "acute",
        "blade_symmetry": "symmetrical",
        "reworked_as": "none",
        "resharpening": "none",
    }
    made = draw(Sketch(states, sizes=taken, measured=True), plan(states, taken), ())
    assert not made.remarks
    points = flat(main_line(_text(states, taken)))
    low = min(p[1] for p in points)
    assert close(max(p[1] for p in points) - low, length)
    assert close(2 * max(abs(p[0]) for p in points), width)
    assert close(2 * max(abs(x) for x, y in points if y < low + 0.02), wide)
    right = [x for x in across(points, low + haft + 1e-6) if x > 0]
    assert close(2 * right[0], neck)


def _text(states: dict[str, str], taken: dict[str, float]) -> str:
    path = path_data([plan(states, taken).path])
    return f'<path d="{path}"/>'


@settings(max_examples=100, deadline=None)
@given(
    above=st.floats(120, 235),
    below=st.floats(55, 125),
    width=st.floats(18, 45),
    shape=st.sampled_from(["tapered", "horizontal", "inverse", "barbed", "rounded"]),
)
def test_angles_measured_back(above: float, below: float, width: float, shape: str) -> None:
    """Shoulder angles measured on the emitted line agree with the input to 1 %."""
    assume(above - below > 15)
    taken = {
        "length": 2.4 * width,
        "width": width,
        "neck_width": 0.5 * width,
        "haft_length": 0.4 * width,
        "dsa": above,
        "psa": below,
    }
    states = {**STEMMED, "shoulder_shape": shape, "barb_reach": "short", "barb_tip": "pointed"}
    assert plan(states, taken).remarks == ()
    segments = main_line(_text(states, taken))
    neck = (0.25 * width, 0.4 * width)
    at = min(
        range(len(segments)),
        key=lambda i: abs(segments[i][1][0][0] - neck[0]) + abs(segments[i][1][0][1] - neck[1]),
    )
    ends = segments[at - 1][1]
    assert close(_angle(ends[-1], ends[0]), below)
    wall = next(points for letter, points in segments[at:] if letter == "l")
    assert close(_angle(wall[0], wall[-1]), above)


def _angle(start: Point, end: Point) -> float:
    """Return a shoulder angle: from the way inward at the neck, turned down and out."""
    return degrees(atan2(start[1] - end[1], start[0] - end[0])) % 360


@given(
    push=st.floats(0.05, 0.95),
    taken=st.fixed_dictionaries({"length": st.floats(30, 90), "width": st.floats(15, 30)}),
)
@settings(max_examples=60, deadline=None)
def test_lopsided_blade_keeps_its_widths(push: float, taken: dict[str, float]) -> None:
    """A lopsided blade is as wide at every level as the symmetrical one."""
    drawn = plan(STEMMED, taken)
    even = flatten(drawn.path, 48)
    lopsided = flatten(plan({**STEMMED, "blade_symmetry": "asymmetrical"}, taken).path, 48)
    level = drawn.foot + push * (taken["length"] - drawn.foot)
    first, second = across(even, level), across(lopsided, level)
    assert isclose(first[-1] - first[0], second[-1] - second[0], rel_tol=0.01)
    assert abs(second[-1] + second[0]) > 1e-3


def test_side_notch_leaves_the_corner() -> None:
    """Below a side notch the base is as wide as at its corner; below a corner notch it is not."""
    wide = {}
    for position in ("side", "corner"):
        drawn = plan({**NOTCHED, "notch_position": position, "base_width_class": "equal"}, {})
        points = flatten(drawn.path)
        wide[position] = across(points, 0.3 * drawn.form.juncture)[-1] / drawn.form.base
    assert wide["side"] == pytest.approx(1.0)
    assert wide["corner"] < 0.95


def test_barb_reach() -> None:
    """Barbs end above, at, or below the lowest point of the haft, as their reach says."""
    ends = {}
    for reach in ("short", "level", "below"):
        states = {**STEMMED, "shoulder_shape": "barbed", "barb_tip": "pointed", "barb_reach": reach}
        drawn = plan(states, {})
        barb = min(s.end[1] for s in drawn.right if s.part == "shoulder")
        ends[reach] = barb - drawn.form.under
    assert ends["short"] > 0.1
    assert ends["level"] == pytest.approx(0.0, abs=1e-6)
    assert ends["below"] < -0.1


@settings(max_examples=80, deadline=None)
@given(box=blurred(RULES), taken=sizes(RULES), caption=st.booleans())
def test_well_formed(box: Box, taken: dict[str, float], caption: bool) -> None:
    """Every picture is well-formed, titled, called a schematic, and has no ids."""
    readings = {name: reading(value) for name, value in taken.items()}
    svg = outline(RULES, box, readings, title="A <piece> & more", caption=caption)
    root = ElementTree.fromstring(svg)
    assert root[0].text == "A <piece> & more"
    assert (root[1].text or "").startswith("Schematic from coded attributes, not a drawing")
    assert " id=" not in svg
    assert "nan" not in svg


def test_types_are_small(rules: Rules) -> None:
    """Every type has an outline of under 3 kB that does not cross itself."""
    for kind in rules.types.values():
        svg = outline(rules, kind)
        assert len(svg) < 3000, kind.id
        sketch = of_type(rules, kind)
        assert not crosses(flatten(plan(sketch.states, sketch.sizes).path, 16)), kind.id


HOSTS = {
    **dict.fromkeys(("notch_position", "notch_form", "notch_count"), NOTCHED),
    **dict.fromkeys(("haft_sides", "base_shape", "ears", "fluting", "basal_thinning"), LANCEOLATE),
    "flute_length": {**LANCEOLATE, "fluting": "one_face"},
    "haft_waist": {**LANCEOLATE, "haft_sides": "expanding"},
    "barb_tip": {**STEMMED, "shoulder_shape": "barbed", "barb_reach": "short"},
    "barb_reach": {**STEMMED, "shoulder_shape": "barbed", "barb_tip": "pointed"},
    "base_width_class": {**STEMMED, "stem_shape": "expanding"},
}
# "None" of these cannot stand beside the rest of its host; the nearest that can is drawn.
NOT_WITHOUT = {
    *("notch_position", "notch_form", "notch_count", "stem_shape", "stem_length", "haft_sides"),
    *("shoulder_strength", "flute_length", "barb_tip", "barb_reach"),
}


def test_every_state_shows(rules: Rules) -> None:
    """Two states of one attribute never give the same picture, save those named above."""
    for attribute in rules.attributes:
        if attribute.id in NOT_DRAWN:
            continue
        host = HOSTS.get(attribute.id, STEMMED)
        pictures = {}
        for state in attribute.states:
            damage = frozenset({attribute.id.partition(".")[2]} if state.id == "present" else ())
            states = host if attribute.item_of else {**host, attribute.id: state.id}
            if damage & {"barb_loss", "ear_loss", "tip_snap"}:
                states = {**states, "portion": "near_complete"}
            if states["portion"] == "near_complete" and attribute.id == "portion":
                damage = frozenset({"tip_snap"})
            sketch = Sketch(states, damage=damage)
            pictures[state.id] = draw(sketch, plan(states, {}), ()).strokes
        if attribute.id in NOT_WITHOUT:
            del pictures["none"]
        for a, b in combinations(pictures, 2):
            assert pictures[a] != pictures[b], (attribute.id, a, b)


def test_unknown_is_open(rules: Rules) -> None:
    """Of a piece of which nothing is known nothing is drawn in full."""
    svg = outline(rules, rules.full)
    assert all("stroke-dasharray" in look for look, _ in strokes(svg))
    assert "Dotted: not observed." in svg
    assert "Not to scale." in svg


def test_doubt_is_faint(rules: Rules) -> None:
    """A stem straight to contracting is drawn straight in full and contracting faint."""
    states = {**STEMMED, "ears": "none", "haft_edge": "plain", "fluting": "none"}
    known = list(single(rules, states))
    known[rules.index["stem_shape"]] = rules.mask("stem_shape", "straight", "contracting")
    svg = outline(rules, known)
    faint = [outlines for look, outlines in strokes(svg) if "stroke-opacity" in look]
    widths = {max(abs(p[0]) for p in flat(run) if p[1] < 0.5) for run in faint[0]}
    full = [p for look, runs in strokes(svg) if look == "" for run in runs for p in flat(run)]
    assert max(widths) < max(abs(x) for x, y in full if y < 0.5)


def test_fragment_is_as_long_as_measured(rules: Rules) -> None:
    """What survives of a proximal fragment is as long as was measured; the rest is dashed."""
    obs = {
        rules.index[name]: Observation(rules.mask(name, state), "seen")
        for name, state in {
            "portion": "proximal",
            "haft_style": "stemmed",
            "base_shape": "straight",
            "shoulder_shape": "tapered",
            "stem_shape": "straight",
        }.items()
    }
    piece = Piece("P", obs, {"length": Reading("34+", 34.0, 33.5, inf), "width": reading(26)})
    svg = outline(rules, examine(rules, piece))
    top = max(
        p[1]
        for look, runs in strokes(svg)
        if look == "" or "0 " in look
        for run in runs
        for p in flat(run)
        if abs(p[0]) < 20
    )
    assert close(top, 34.0)
    assert "Dashed: missing." in svg


def test_bar_only_where_measured(rules: Rules) -> None:
    """A bar of centimetres stands under what has a size, and under nothing else."""
    box = single(rules, STEMMED)
    assert "<text" not in outline(rules, box)
    measured = outline(rules, box, {"length": reading(62)})
    assert ">2 cm</text>" in measured
    assert "Drawn to size." in measured


def test_inconsistent_measurements_are_said(rules: Rules) -> None:
    """A neck wider than the shoulders is drawn as far as it goes, and the picture says so."""
    taken = {"length": reading(50), "width": reading(20), "neck_width": reading(30)}
    made = drawing(rules, single(rules, STEMMED), taken)
    assert made.remarks == ("neck_width",)
    assert "Not drawn as measured: neck_width." in made.says


def test_icons_are_heavy_and_bare(rules: Rules) -> None:
    """An icon has heavier lines than the picture, no letters and no faint lines."""
    kind = rules.types["clovis"]
    full, icon = drawing(rules, kind), drawing(rules, kind, icon=True)
    assert icon.ink > 2 * full.ink
    assert icon.labels == ()
    assert {stroke.style for stroke in icon.strokes}.isdisjoint({"faint", "dots"})


@pytest.mark.parametrize("name", ["clovis", "lecroy", "morrow_mountain_ii"])
def test_text(rules: Rules, snapshot: SnapshotAssertion, name: str) -> None:
    """The SVG text of three types is as reviewed."""
    assert outline(rules, rules.types[name], caption=True) == snapshot
