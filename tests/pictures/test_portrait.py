"""Outlines for reports, and the same lines as DrawingML."""

from __future__ import annotations

import re
from math import isclose
from xml.etree import ElementTree as ET

from keygen.core.examine import Examination, Piece, examine
from keygen.core.observe import Observation
from keygen.pictures.drawingml import EMU, frame
from keygen.pictures.portrait import INK, SCALE, UNSIZED, Portraits
from keygen.pictures.svg import body
from keygen.rulebase.load import shipped
from tests.pictures.pieces import STEMMED, flat, reading, strokes

RULES = shipped()
A = "{http://schemas.openxmlformats.org/drawingml/2006/main}"
WPS = "{http://schemas.microsoft.com/office/word/2010/wordprocessingShape}"
SPACES = f'xmlns:a="{A[1:-1]}" xmlns:wps="{WPS[1:-1]}"'


def found(states: dict[str, str], label: str = "T-1", **sizes: float) -> Examination:
    """Return a piece of these states and measurements, examined."""
    observations = {
        RULES.index[name]: Observation(RULES.mask(name, state), "seen")
        for name, state in states.items()
    }
    readings = {name: reading(value) for name, value in sizes.items()}
    return examine(RULES, Piece(label=label, observations=observations, readings=readings), "")


def test_nothing_seen_nothing_drawn() -> None:
    """A piece of whose outline nothing was seen or measured has no picture."""
    portraits = Portraits(RULES)
    assert portraits.of(found({})) is None
    assert portraits.of(found({"flaking": "random"}, weight=10.0)) is None
    assert portraits.of(found({"base_shape": "straight"}))
    assert portraits.of(found({}, width=20.0))


def test_a_fragment_shows_what_is_left() -> None:
    """Of a tip the tip is drawn, and what is missing is dashed."""
    drawn = Portraits(RULES).of(found({"portion": "distal", "blade_shape": "straight"}))
    assert drawn
    assert "gone" in {stroke.style for stroke in drawn.strokes if stroke.paths}


def test_pieces_are_drawn_to_size_or_to_a_common_length() -> None:
    """A measured piece is as long as measured and has a bar; others are 50 mm long, without one."""
    portraits = Portraits(RULES)
    sized = portraits.of(found(STEMMED, length=42.0, width=20.0))
    unsized = portraits.of(found(STEMMED))
    assert sized
    assert unsized
    for drawn, length in ((sized, 42.0), (unsized, UNSIZED)):
        (outline, *_) = (runs for look, runs in strokes(body(drawn)) if look == "")
        levels = [y for run in outline for _, y in flat(run)]
        assert isclose(max(levels) - min(levels), length, rel_tol=0.01)
        assert drawn.ink == INK
        assert drawn.labels == ()
    assert (sized.measured, unsized.measured) == (True, False)
    assert len(sized.strokes) == len(unsized.strokes) + 1


def test_what_looks_alike_is_drawn_once() -> None:
    """Two pieces with the same observations and figures share one drawing, whatever their name."""
    portraits = Portraits(RULES)
    one = portraits.of(found(STEMMED, "T-1", length=42.0))
    assert portraits.of(found(STEMMED, "T-2", length=42.0)) is one
    assert portraits.of(found(STEMMED, "T-3", length=43.0)) is not one


def test_drawingml_draws_the_same_lines() -> None:
    """Each stroke is a shape whose points, in EMU of the paper, are those of the SVG."""
    drawn = Portraits(RULES).of(found(STEMMED, length=42.0, width=20.0))
    assert drawn
    made = frame(drawn, SCALE)
    left, bottom, right, top = drawn.box
    assert made.width == round((right - left) * EMU / SCALE)
    assert made.height == round((top - bottom) * EMU / SCALE)
    shapes = ET.fromstring(f"<g {SPACES}>{made.shapes}</g>").findall(f"{WPS}wsp")
    lines = strokes(body(drawn))
    assert len(shapes) == len(lines)
    for shape, (_, runs) in zip(shapes, lines, strict=True):
        (path,) = shape.iter(f"{A}path")
        assert (path.get("w"), path.get("h")) == (
            str(round((right - left) * 100)),
            str(round((top - bottom) * 100)),
        )
        moves = [p for step in path.iter(f"{A}moveTo") for p in step]
        starts = [(int(str(p.get("x"))) / 100, int(str(p.get("y"))) / 100) for p in moves]
        assert len(starts) == len(runs)
        for (x, y), run in zip(starts, runs, strict=True):
            assert isclose(left + x, run[0][1][0][0], abs_tol=0.02)
            assert isclose(top - y, run[0][1][0][1], abs_tol=0.02)
        curves = sum(letter == "c" for run in runs for letter, _ in run)
        assert len(list(path.iter(f"{A}cubicBezTo"))) == curves


def test_drawingml_tells_lines_apart_in_black_and_white() -> None:
    """Lines are solid, dashed or dotted, in black or grey; no other colour is used."""
    states = {**STEMMED, "portion": "proximal"}
    del states["blade_shape"], states["stem_shape"]
    drawn = Portraits(RULES).of(found(states))
    assert drawn
    shapes = frame(drawn, SCALE).shapes
    styles = {stroke.style for stroke in drawn.strokes if stroke.paths}
    assert {"full", "lost", "open"} <= styles
    dashes = set(re.findall(r'prstDash val="(\w+)"', shapes))
    assert {"solid", "sysDash", "sysDot"} <= dashes
    assert set(re.findall(r'srgbClr val="(\w+)"', shapes)) <= {"000000", "7F7F7F", "595959"}
