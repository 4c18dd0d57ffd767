"""What each measure of dart or arrow calls the Fort Hood darts, and ratios of single rows.

Source: see `fort_hood.py`. The expected figures are worked out here from the table by plain
arithmetic, without the rules. Weights of the two functions and the weight groups are `memory`: for
them this checks our arithmetic, not the source.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping

import pytest

from keygen.core.model import Rules
from keygen.core.result import Result
from keygen.core.scores import answered, results
from tests.published.fort_hood import SHARED, examined, shared_rows
from tests.published.indices import figure, indices

Row = Mapping[str, str]
SHARED_ONLY = pytest.mark.skipif(
    not SHARED.is_file(), reason="the shared Fort Hood table is not beside us"
)
COLUMNS = {
    "Length": "length",
    "Width": "width",
    "Thickness": "thickness",
    "B.Width": "base_width",
    "J.Width": "neck_width",
    "H.Length": "haft_length",
    "Weight": "weight",
}


def worked(rules: Rules, row: Row) -> dict[str, Result]:
    """Return the indices of a row, from its figures alone."""
    return indices(rules, {name: row[column] for column, name in COLUMNS.items() if row[column]})


def thomas(row: Row) -> bool:
    """Tell whether the four-variable functions call a row a dart."""
    length, width, thick, neck = (
        float(row[c]) for c in ("Length", "Width", "Thickness", "J.Width")
    )
    dart = 0.188 * length + 1.205 * width + 0.392 * thick - 0.223 * neck - 17.552
    arrow = 0.108 * length + 0.470 * width + 0.864 * thick + 0.214 * neck - 7.922
    return dart > arrow


PLAIN: Mapping[str, Callable[[Row], bool]] = {
    "dart_arrow_index": lambda row: float(row["J.Width"]) + float(row["Thickness"]) > 11.8,
    "shoulder_width_function": lambda row: float(row["Width"]) > 9.63 / 0.51,
    "four_variable_functions": thomas,
    "weight_groups": lambda row: float(row["Weight"]) > 4.5 - 1e-9,
    "width_gap": lambda row: float(row["Width"]) > 15 - 1e-9,
}


@SHARED_ONLY
@pytest.mark.parametrize("index", PLAIN)
def test_darts_called_darts(rules: Rules, index: str) -> None:
    """Row by row each measure leans the way that plain arithmetic on the table does."""
    rows = shared_rows()
    found = [worked(rules, row)[index] for row in rows]
    assert [r.leads == "dart" for r in found] == [PLAIN[index](row) for row in rows]


@SHARED_ONLY
def test_measures_disagree_on_known_darts(rules: Rules, capsys: pytest.CaptureFixture[str]) -> None:
    """On known darts the measures disagree badly: all by one index, fewer than half by another."""
    rows = shared_rows()
    every = [worked(rules, row) for row in rows]
    called = {name: sum(found[name].leads == "dart" for found in every) for name in PLAIN}
    with capsys.disabled():
        told = ", ".join(f"{name} {count}" for name, count in called.items())
        print(f"\nFort Hood, {len(rows)} darts called darts: {told}")
    assert called["dart_arrow_index"] == len(rows)
    assert called["shoulder_width_function"] == sum(float(r["Width"]) > 18.88 for r in rows)
    assert called["four_variable_functions"] < len(rows) / 2
    narrow = sum(float(r["Width"]) > 20.04 for r in rows)
    certain = sum(found["shoulder_width_function"].says == ("dart",) for found in every)
    assert certain == narrow


@SHARED_ONLY
def test_weight_groups(rules: Rules) -> None:
    """Darts of over 3.5 g are no arrows by weight; those of 3.5-4.5 g are left open."""
    found = [(float(r["Weight"]), worked(rules, r)["weight_groups"]) for r in shared_rows()]
    told = Counter(result.leads or "open" for _, result in found)
    assert told["arrow"] == sum(weight <= 3.5 for weight, _ in found)
    assert told["open"] == sum(3.5 < weight < 4.5 for weight, _ in found)
    assert told["dart"] == sum(weight >= 4.5 for weight, _ in found)


@SHARED_ONLY
def test_ratios_of_every_row(rules: Rules) -> None:
    """Ratios and blade length of every row are those of plain arithmetic; a blank gives none."""
    for row in shared_rows():
        found = worked(rules, row)
        length, haft = float(row["Length"]), float(row["H.Length"])
        width, neck = float(row["Width"]), float(row["J.Width"])
        assert figure(found["blade_by_difference"]) == pytest.approx(length - haft)
        assert figure(found["blade_haft_ratio"]) == pytest.approx((length - haft) / haft)
        assert figure(found["shoulder_haft_ratio"]) == pytest.approx(width / neck)
        assert figure(found["length_width_ratio"]) == pytest.approx(length / width)
        ratio = found["base_neck_ratio"]
        assert ratio.computed == bool(row["B.Width"])
        if ratio.computed:
            assert figure(ratio) == pytest.approx(float(row["B.Width"]) / neck)


# Rows of the whole table: L, W, T, basal, juncture, haft length; index, basal/juncture, blade
# length, L/W.
@pytest.mark.parametrize(
    ("row", "entered", "dai", "base_neck", "blade", "length_width"),
    [
        (1, "42.8 15.8 5.8 11.3 10.6 11.6", 16.4, 1.066, 31.2, 2.71),
        (29, "43.5 20.1 6.0 15.2 11.2 5.8", 17.2, 1.357, 37.7, 2.16),
        (44, "109.5 49.3 7.5 12.9 20.9 16.4", 28.4, 0.617, 93.1, 2.22),
        (86, "65.4 25.1 8.6 7.1 15.1 16.1", 23.7, 0.470, 49.3, 2.61),
    ],
)
def test_sample_rows(
    rules: Rules,
    row: int,
    entered: str,
    dai: float,
    base_neck: float,
    blade: float,
    length_width: float,
) -> None:
    """Single rows typed in give the figures worked out for them beforehand."""
    names = ("length", "width", "thickness", "base_width", "neck_width", "haft_length")
    found = indices(rules, dict(zip(names, entered.split(), strict=True)))
    assert figure(found["dart_arrow_index"]) == pytest.approx(dai), row
    assert figure(found["base_neck_ratio"]) == pytest.approx(base_neck, abs=5e-4), row
    assert figure(found["blade_by_difference"]) == pytest.approx(blade), row
    assert figure(found["length_width_ratio"]) == pytest.approx(length_width, abs=5e-3), row


def test_missing_basal_width(rules: Rules) -> None:
    """A Darl (35-0164) lacks its basal width: no ratio, and why; its index is given still."""
    found = indices(rules, {"width": "19.2", "neck_width": "11.6", "thickness": "7.7"})
    assert figure(found["dart_arrow_index"]) == pytest.approx(11.6 + 7.7)
    (lack,) = found["base_neck_ratio"].lacks
    assert (lack.term, lack.why) == ("base_width", "not_measured")


@SHARED_ONLY
def test_indices_of_examined_rows(rules: Rules) -> None:
    """Coded rows have the same index by way of a whole examination; no row is short of a part."""
    for (_, examination), row in zip(examined(rules, shared_rows()), shared_rows(), strict=True):
        found = {r.index: r for r in results(rules, examination)}
        answers = {a.id: a.says for a in answered(rules, examination, "dart_or_arrow")}
        assert answers == {name: found[name].says for name in PLAIN}
        expected = float(row["J.Width"]) + float(row["Thickness"])
        assert figure(found["dart_arrow_index"]) == pytest.approx(expected)
        assert not any(r.short for r in found.values())
