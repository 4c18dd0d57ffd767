"""Published worked examples of agreement between observers."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from keygen.assemblage.agreement import Level, alpha, cohen, fleiss
from keygen.assemblage.ratings import MISSING, Codes

FLEISS = Path(__file__).parents[3] / "shared/reference/agreement_examples/data.csv"


def of_table(table: list[list[int]]) -> Codes:
    """Return two observers' codes that make a table of counts, rows the first's."""
    pairs = [
        (i, j) for i, row in enumerate(table) for j, count in enumerate(row) for _ in range(count)
    ]
    return np.array(pairs, dtype=np.int64)


@pytest.mark.parametrize(
    ("table", "kappa", "digits"),
    [
        # Artstein and Poesio 2008, Tables 1 and 4, as printed in scikit-learn's tests
        ([[20, 20], [10, 50]], 0.348, 3),
        ([[46, 0, 0], [6, 32, 6], [0, 0, 10]], 0.8013, 4),
        # a SAS printout in the tests of statsmodels
        ([[0, 4, 1], [0, 8, 0], [0, 1, 5]], 0.4842, 4),
        # an encyclopedia's examples, from memory
        ([[20, 5], [10, 15]], 0.400, 3),
        ([[45, 15], [25, 15]], 0.1304, 4),
        ([[25, 35], [5, 35]], 0.2593, 4),
    ],
)
def test_cohen(table: list[list[int]], kappa: float, digits: int) -> None:
    """Cohen's kappa of published tables, to the printed digits."""
    found = cohen(of_table(table))
    assert found is not None
    assert round(found, digits) == kappa


def test_cohen_weighted() -> None:
    """Linear weights on the same SAS table: 0.4701 (printed in the tests of statsmodels)."""
    found = cohen(of_table([[0, 4, 1], [0, 8, 0], [0, 1, 5]]), "linear")
    assert found is not None
    assert round(found, 4) == 0.4701


def test_fleiss_textbook() -> None:
    """The textbook's 10 subjects by 14 raters: 0.210 (read in the tests of statsmodels)."""
    counts = [
        [0, 0, 0, 0, 14], [0, 2, 6, 4, 2], [0, 0, 3, 5, 6], [0, 3, 9, 2, 0], [2, 2, 8, 1, 1],
        [7, 7, 0, 0, 0], [3, 2, 6, 3, 0], [2, 5, 3, 2, 2], [6, 5, 2, 1, 0], [0, 2, 2, 3, 7],
    ]  # fmt: skip
    rows = [[c for c, count in enumerate(row) for _ in range(count)] for row in counts]
    found = fleiss(np.array(rows, dtype=np.int64))
    assert found is not None
    assert round(found, 3) == 0.210


@pytest.mark.skipif(not FLEISS.is_file(), reason="the shared reference data are not here")
def test_fleiss_1971() -> None:
    """Fleiss 1971, 30 patients by 6 raters: 0.430 (value from memory); nominal alpha 0.4334.

    The alpha was worked out beside the data with the library `krippendorff` and plain arithmetic.
    """
    with FLEISS.open(encoding="utf-8", newline="") as file:
        rows = [row[1:] for row in list(csv.reader(file))[1:]]
    words = sorted({word for row in rows for word in row})
    codes = np.array([[words.index(word) for word in row] for row in rows], dtype=np.int64)
    found, nominal = fleiss(codes), alpha(codes)
    assert found is not None
    assert nominal is not None
    assert (round(found, 4), round(nominal, 4)) == (0.4302, 0.4334)


def units(text: str) -> Codes:
    """Return observers' values, a line each and `-` for a missing one, as codes."""
    lines = [[MISSING if v == "-" else int(v) for v in line.split()] for line in text.split("/")]
    return np.array(lines, dtype=np.int64).T


DATA_C = units(
    "1 2 3 3 2 1 4 1 2 - - - / 1 2 3 3 2 2 4 1 2 5 - 3 /"
    "- 3 3 3 2 3 4 2 2 5 1 - / 1 2 3 3 2 4 4 1 2 5 1 -"
)
THREE_CODERS = units(
    "- - - - - 3 4 1 2 1 1 3 3 - 3 / 1 - 2 1 3 3 4 3 - - - - - - - / - - 2 1 3 4 4 - 2 1 1 3 3 - 4"
)


@pytest.mark.parametrize(
    ("level", "value"),
    [("nominal", 0.743), ("ordinal", 0.815), ("interval", 0.849), ("ratio", 0.797)],
)
def test_alpha_of_data_c(level: Level, value: float) -> None:
    """Krippendorff 1980, data C: ordinal, ratio read; nominal, interval from memory (2011)."""
    found = alpha(DATA_C, level)
    assert found is not None
    assert round(found, 3) == value


@pytest.mark.parametrize(("level", "value"), [("nominal", 0.691358), ("interval", 0.810845)])
def test_alpha_of_three_coders(level: Level, value: float) -> None:
    """Three coders, 15 units: .691358 and .810845 (read in the tests of the library)."""
    found = alpha(THREE_CODERS, level)
    assert found is not None
    assert round(found, 6) == value
