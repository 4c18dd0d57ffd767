"""Derived states held against what one analyst coded by eye: the Fort Hood dart points.

Source: see `fort_hood.py`. No published limit was found for stems; the table of basal by juncture
width that the limits rest on is in the notes of the rules. The rule was not fitted to single rows.
"""

from __future__ import annotations

import pytest

from keygen.core.measure import Reading, read, states_of
from keygen.core.model import Derivation, Rules
from tests.published.fort_hood import SHARED, shared_rows, typed_rows

COLUMNS = {"base_width": "B.Width", "neck_width": "J.Width", "thickness": "Thickness"}
RUN = {"E": "expanding", "P": "straight", "T": "contracting"}


def rule(rules: Rules, name: str) -> Derivation:
    """Return a rule by its id."""
    return next(d for d in rules.derivations if d.id == name)


def readings(row: dict[str, str]) -> dict[str, Reading]:
    """Return the measurements of a row that the rules tested here ask for."""
    return {name: read(row[column], "mm") for name, column in COLUMNS.items() if row[column]}


def stems(rules: Rules, rows: list[dict[str, str]]) -> list[bool]:
    """Tell, of each row with both widths and a plain code, whether the code is among the states."""
    stem = rule(rules, "stem_shape_by_widths")
    found = ((row["Haft.Or"], states_of(stem, readings(row))) for row in rows)
    return [
        bool(left & rules.mask("stem_shape", RUN[code]))
        for code, left in found
        if code in RUN and left is not None
    ]


def test_typed_stems(rules: Rules) -> None:
    """Of the typed rows at least nine in ten keep the coded run of the stem."""
    kept = stems(rules, typed_rows())
    assert len(kept) == 10
    assert sum(kept) >= 9


@pytest.mark.skipif(not SHARED.is_file(), reason="the shared Fort Hood table is not beside us")
def test_shared_stems(rules: Rules) -> None:
    """Of 29 coded stems with both widths, 25 or more keep the code among the derived states."""
    kept = stems(rules, shared_rows())
    assert len(kept) == 29
    assert sum(kept) >= 25


@pytest.mark.skipif(not SHARED.is_file(), reason="the shared Fort Hood table is not beside us")
def test_no_dart_is_measured_as_small(rules: Rules) -> None:
    """Neck width and thickness make none of the published darts an arrow point."""
    size = rule(rules, "size_by_neck_and_thickness")
    left = [states_of(size, readings(row)) for row in shared_rows()]
    assert {mask for mask in left if mask is not None} == {
        rules.mask("size_class", "medium", "large")
    }
