"""Points and paths: cutting, dividing, crossing."""

from __future__ import annotations

from itertools import pairwise
from math import isclose

from hypothesis import given
from hypothesis import strategies as st

from keygen.pictures.geometry import (
    Segment,
    bounds,
    chain,
    crossing,
    curve,
    cut,
    distance,
    divide,
    flatten,
    line,
    mirrored,
)

NUMBER = st.floats(-50, 50)
POINT = st.tuples(NUMBER, NUMBER)
CURVE = st.builds(curve, POINT, POINT, POINT, POINT)


@given(segment=CURVE, t=st.floats(0.05, 0.95), u=st.floats(0, 1))
def test_cut_keeps_the_curve(segment: Segment, t: float, u: float) -> None:
    """The two pieces of a curve run where the curve ran."""
    first, second = cut(segment, t)
    for piece, where in ((first, u * t), (second, t + u * (1 - t))):
        assert distance(piece.at(u), segment.at(where)) < 1e-9


@given(segment=CURVE, level=NUMBER)
def test_divide_keeps_to_its_sides(segment: Segment, level: float) -> None:
    """Divided at a level, runs follow on one another and lie above or below it."""
    runs = divide((segment,), lambda p: p[1] - level)
    pieces = [piece for _, run in runs for piece in run]
    assert pieces[0].start == segment.start
    assert distance(pieces[-1].end, segment.end) < 1e-9
    assert all(distance(a.end, b.start) < 1e-9 for a, b in pairwise(pieces))
    for kept, run in runs:
        assert all((piece.at(0.5)[1] >= level) == kept for piece in run)


@given(path=st.lists(POINT, min_size=2, max_size=6, unique=True))
def test_mirror_twice(path: list[tuple[float, float]]) -> None:
    """Mirrored twice a path is itself again."""
    there = chain(path)
    assert mirrored(mirrored(there)) == there


def test_crossing_is_found() -> None:
    """A loop crosses itself; a zigzag and a closed square do not."""
    loop = (curve((0, 0), (30, 20), (-20, 20), (10, 0), "loop"),)
    assert crossing(loop, -100) == ("loop", "loop")
    bow = chain([(0, 0), (10, 10), (10, 0), (0, 10)], "bow")
    assert crossing(bow) == ("bow", "bow")
    assert crossing(chain([(0, 0), (1, 5), (2, 0), (3, 5)])) is None
    assert crossing(chain([(0, 0), (5, 0), (5, 5), (0, 5), (0, 0)])) is None


def test_crossing_sees_the_axis_and_folds() -> None:
    """Going left of the axis, and running back on one's own line, count as crossing."""
    assert crossing((line((0, 0), (-1, 1), "side"),)) == ("side", "side")
    assert crossing(chain([(0, 0), (5, 0), (2, 0)], "fold")) == ("fold", "fold")


def test_bounds() -> None:
    """Bounds hold the curve, not its handles."""
    left, bottom, right, top = bounds([(curve((0, 0), (0, 10), (10, 10), (10, 0)),)])
    assert (left, bottom, right) == (0, 0, 10)
    assert isclose(top, 7.5)
    assert len(flatten([line((0, 0), (1, 1))])) == 2
