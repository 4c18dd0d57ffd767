"""Figures in sentences, and what could not be observed beside them."""

from __future__ import annotations

import pytest

from keygen.core.examine import Examination
from keygen.prose import sentences
from tests.prose.pieces import examined, rules


def texts(examination: Examination) -> str:
    """Return the report's sentences about the piece."""
    return " ".join(s.text for s in sentences(rules(), examination, "report"))


def test_measures_have_units_and_bounds() -> None:
    """Each figure has its unit, and one taken across a break is at least that."""
    told = sentences(
        rules(),
        examined(measures={"length": "41+", "width": "20.5", "neck_width": "(9.5)", "psa": "110"}),
        "report",
    )
    assert told[0].text == "The specimen is a point, at least 41 mm long and 20.5 mm wide."
    assert told[1].text == ("Neck width is at least 9.5 mm and proximal shoulder angle 110°.")


@pytest.mark.parametrize(
    ("length", "text"),
    [
        ("short", "The stem is short, contracting and 12.3 mm long."),
        ("medium", "The stem is about as long as wide, contracting and 12.3 mm in length."),
        ("long", "The stem is long, contracting and 12.3 mm in length."),
    ],
)
def test_a_long_stem_is_not_so_long_long(length: str, text: str) -> None:
    """The length of a stem is worded so that nothing is long twice."""
    found = examined(stem_length=length, stem_shape="contracting", measures={"haft_length": "12.3"})
    assert text in texts(found)


def test_symmetry_that_could_not_be_observed() -> None:
    """What could not be observed is named as in running text."""
    told = texts(examined(blade_shape="straight", how={"blade_symmetry": "missing"}))
    assert "The symmetry of the blade could not be observed." in told
