"""Indices held against published figures and worked examples.

Where a weight or limit is recalled and its source has not been seen, the check says `memory`: it
checks our arithmetic, not the source.
"""

from __future__ import annotations

import csv
from math import log
from pathlib import Path

import pytest

from keygen.core.model import Rules
from tests.published.indices import code, figure, indices, margin, score

GARY = Path(__file__).parents[3] / "shared" / "reference" / "gary_linear" / "data.csv"

# Selden 2020, Gary dart points: specimen, stem width, thickness and the index as printed there.
FIRST_TWELVE = """\
fs1363 28.55 15.50 44.05
fs406 30.62 11.55 42.17
fs1352 18.29 9.30 27.59
ds-35 28.43 12.04 40.47
fs1191 27.71 9.84 37.55
fs1558 27.37 9.18 36.55
fs1865 26.92 12.02 38.94
fs1711 25.38 9.43 34.81
fs143 26.78 10.23 37.01
fs762 29.03 10.59 39.62
fs1279 27.15 10.17 37.32
fs190 24.03 8.29 32.32
"""
STEMMED = {"haft_style": ("stemmed",)}


@pytest.mark.parametrize("line", FIRST_TWELVE.splitlines(), ids=lambda line: line.split()[0])
def test_gary_index_as_printed(rules: Rules, line: str) -> None:
    """The index of each of the first twelve Gary points is the one printed, and calls it a dart."""
    _, stem, thickness, printed = line.split()
    found = indices(rules, {"stem_width": stem, "thickness": thickness}, STEMMED)
    result = found["dart_arrow_index"]
    assert figure(result) == pytest.approx(float(printed), abs=1e-9)
    assert result.says == ("dart",)
    assert result.stood_in == (("neck_width", "stem_width"),)


@pytest.mark.skipif(not GARY.is_file(), reason="the shared Gary table is not beside us")
def test_all_gary_indices(rules: Rules) -> None:
    """All 212 printed values are met; none is 11.8 or less; they run from 16.74 to 46.83."""
    with GARY.open(newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    found = []
    for row in rows:
        figures = {"stem_width": row["maxstw"], "thickness": row["maxth"], "width": row["maxw"]}
        result = indices(rules, figures, STEMMED)["dart_arrow_index"]
        assert figure(result) == pytest.approx(float(row["dai"]), abs=1e-9), row["spec"]
        assert result.says == ("dart",), row["spec"]
        found.append(figure(result))
    assert (len(found), min(found), max(found)) == (212, 16.74, 46.83)


@pytest.mark.skipif(not GARY.is_file(), reason="the shared Gary table is not beside us")
def test_narrow_gary_darts(rules: Rules) -> None:
    """By the shoulder-width function 17 of 212 Gary darts are arrows; 26 are 20 mm or narrower."""
    with GARY.open(newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    found = [indices(rules, {"width": row["maxw"]})["shoulder_width_function"] for row in rows]
    assert sum(result.leads == "arrow" for result in found) == 17
    assert sum(result.says != ("dart",) for result in found) == 26


def test_index_at_its_threshold(rules: Rules) -> None:
    """Arrows lie at or under 11.8 mm; figures whose precision reaches both sides leave both."""

    def says(neck: str, thickness: str) -> tuple[str, ...]:
        return indices(rules, {"neck_width": neck, "thickness": thickness})["dart_arrow_index"].says

    assert indices(rules, {"neck_width": "7.4", "thickness": "4.4"})["dart_arrow_index"].leads == (
        "arrow"
    )
    assert says("7.4", "4.4") == ("dart", "arrow")
    assert says("7.000", "4.799") == ("arrow",)
    assert says("7.000", "4.802") == ("dart",)
    assert says("6", "5") == ("dart", "arrow")
    assert says("8+", "5+") == ("dart",)
    assert says("5+", "4+") == ("dart", "arrow")


@pytest.mark.parametrize(
    ("entered", "dart", "arrow", "called"),
    [
        ("31.1 14.7 4.0 9.8", 5.391, 7.899, "arrow"),
        ("45 24 6 14", 19.058, 16.398, "dart"),
        ("25 12 3 7", 1.223, 4.508, "arrow"),
        ("60 28 8 18", 26.590, 22.482, "dart"),
        ("20 15 3.5 8", 3.871, 6.024, "arrow"),
        ("42.8 15.8 5.8 10.6", 9.443, 11.406, "arrow"),
        ("53.5 27.8 7.2 20.2", 24.323, 21.466, "dart"),
    ],
)
def test_four_variables(rules: Rules, entered: str, dart: float, arrow: float, called: str) -> None:
    """Thomas 1978 (weights: memory; checks our arithmetic, not the source): scores and call."""
    names = ("length", "width", "thickness", "neck_width")
    figures = dict(zip(names, entered.split(), strict=True))
    result = indices(rules, figures)["four_variable_functions"]
    assert score(result, "dart") == pytest.approx(dart, abs=5e-4)
    assert score(result, "arrow") == pytest.approx(arrow, abs=5e-4)
    assert result.leads == called
    assert margin(result) == pytest.approx(abs(dart - arrow), abs=1.1e-3)


@pytest.mark.parametrize(
    ("width", "dart", "arrow", "leads", "says"),
    [
        ("12.0", -0.050, 3.460, "arrow", ("arrow",)),
        ("18.8", 9.470, 9.512, "arrow", ("dart", "arrow")),
        ("18.9", 9.610, 9.601, "dart", ("dart", "arrow")),
        ("19.26", 10.114, 9.921, "dart", ("dart", "arrow")),
        ("20.0", 11.150, 10.580, "dart", ("dart", "arrow")),
        ("25.0", 18.150, 15.030, "dart", ("dart",)),
    ],
)
def test_shoulder_width(
    rules: Rules, width: str, dart: float, arrow: float, leads: str, says: tuple[str, ...]
) -> None:
    """Shott 1997 (weights: memory; checks our arithmetic, not the source); 18.8 to 20 is open."""
    result = indices(rules, {"width": width})["shoulder_width_function"]
    assert score(result, "dart") == pytest.approx(dart, abs=5e-4)
    assert score(result, "arrow") == pytest.approx(arrow, abs=5e-4)
    assert (result.leads, result.says) == (leads, says)


def test_recalled_functions_agree_with_themselves(rules: Rules) -> None:
    """Functions from one pooled variance have one weight-to-mean ratio, and cross midway.

    The recalled weights of Shott 1997 (memory) with equal priors give means of 23.08 and 14.67 mm.
    """
    groups = {g.outcome: g for g in rules.indices["shoulder_width_function"].groups}
    means = {o: 2 * (-g.constant + log(0.5)) / g.weights[0].by for o, g in groups.items()}
    assert means["dart"] == pytest.approx(23.08, abs=0.005)
    assert means["arrow"] == pytest.approx(14.67, abs=0.005)
    ratios = [groups[o].weights[0].by / means[o] for o in groups]
    assert ratios[0] == pytest.approx(ratios[1], rel=1e-3)


@pytest.mark.parametrize(
    ("width", "says"),
    [
        ("13.9", ("arrow",)),
        ("14.5", ("dart", "arrow")),
        ("15.1", ("dart",)),
        ("15", ("dart", "arrow")),
    ],
)
def test_gap_in_width(rules: Rules, width: str, says: tuple[str, ...]) -> None:
    """Hafted arrows and darts leave a gap at 14-15 mm (abstract read); in it nothing is said."""
    assert indices(rules, {"width": width})["width_gap"].says == says


# The Society for California Archaeology's paper on the Gunther series, table 5 (read): width,
# distal shoulder length, stem length, basal width, neck width; scores and name.
@pytest.mark.parametrize(
    ("entered", "gunther", "sutter", "called", "close"),
    [
        ("18 8 6 4 6", -82.595, -85.252, "gunther", False),
        ("14 3 4 4 6", -162.939, -156.577, "sutter", False),
        ("20 6 5 3 5", -31.952, -31.270, "sutter", True),
    ],
)
def test_gunther_and_sutter(
    rules: Rules, entered: str, gunther: float, sutter: float, called: str, close: bool
) -> None:
    """The larger score names the type; a margin under 1 is told as close."""
    names = ("width", "distal_shoulder_length", "haft_length", "base_width", "neck_width")
    figures = dict(zip(names, entered.split(), strict=True))
    result = indices(rules, figures)["gunther_or_sutter"]
    assert score(result, "gunther") == pytest.approx(gunther, abs=6e-4)
    assert score(result, "sutter") == pytest.approx(sutter, abs=6e-4)
    assert (result.leads, result.close) == (called, close)
    width, distal, stem, base, neck = map(float, entered.split())
    printed = 0.226 * width + 0.995 * distal + 1.570 * stem - 0.099 * base
    printed += 4.954 * base / neck - 21.698  # the difference of the two functions, rounded
    signed = margin(result) if called == "gunther" else -margin(result)
    assert signed == pytest.approx(printed, abs=0.02)


FLUTED = {"fluting": ("both_faces",)}
PLAIN = {"fluting": ("none",)}
# O'Brien, Lyman, Mesoudi and VanPool 2010, table 1 (read).
TWO = {
    "length": "60.0",
    "axial_length": "58.0",
    "width": "25.0",
    "min_blade_width": "23.0",
    "outer_tang_angle": "90",
}
ONE = {
    "length": "42.0",
    "axial_length": "42.0",
    "width": "24.0",
    "min_blade_width": "24.0",
    "outer_tang_angle": "85",
}
SCORED = {"widest_quarter": "second", "base_outline": "arc", "tang_tip": "round"}
OTHER = {"widest_quarter": "first", "base_outline": "triangle", "tang_tip": "pointed"}


def test_class_codes(rules: Rules) -> None:
    """The two worked pieces have the classes 2 1 2 2 2 2 2 2 and 1 3 1 1 3 1 1 1."""
    fluted = indices(rules, TWO, FLUTED, SCORED)["class_code"]
    assert (code(fluted), fluted.computed) == ("2 1 2 2 2 2 2 2", True)
    assert code(indices(rules, ONE, PLAIN, OTHER)["class_code"]) == "1 3 1 1 3 1 1 1"


@pytest.mark.parametrize(
    ("changed", "place", "wanted"),
    [
        ({"outer_tang_angle": "116"}, 4, "-"),
        ({"outer_tang_angle": "115"}, 4, "1"),
        ({"axial_length": "47.00"}, 2, "-"),
        ({"min_blade_width": "12.00"}, 3, "-"),
        ({"min_blade_width": "12.50"}, 3, "6"),
        ({"length": "200.0", "axial_length": "190.0"}, 7, "6"),
        ({"axial_length": "53.700", "length": "60.000"}, 2, "2/3"),
        ({"axial_length": "53.702", "length": "60.000"}, 2, "2"),
        ({"length": "60.0+"}, 7, "2/3/4/5/6"),
        ({"outer_tang_angle": "92.5"}, 4, "1/2"),
    ],
)
def test_limits_of_codes(rules: Rules, changed: dict[str, str], place: int, wanted: str) -> None:
    """Figures are rounded half up before coding; beyond the table's states nothing is codable."""
    result = indices(rules, {**TWO, **changed}, FLUTED, SCORED)["class_code"]
    assert code(result).split()[place] == wanted
    assert result.characters[place].beyond == (wanted == "-")


def test_rounding_is_half_up(rules: Rules) -> None:
    """0.895 as entered is coded as 0.90, and 0.8949 as 0.89."""
    figures = {**TWO, "length": "100.0", "axial_length": "89.5"}
    assert indices(rules, figures, FLUTED, SCORED)["class_code"].characters[2].digit == 2
    figures |= {"length": "1000.0", "axial_length": "894.9"}
    assert indices(rules, figures, FLUTED, SCORED)["class_code"].characters[2].digit == 3


def test_place_of_width_by_figure(rules: Rules) -> None:
    """The quarter can be measured too; on the limit of two quarters both are possible."""
    rest = {name: marks for name, marks in SCORED.items() if name != "widest_quarter"}
    for position, wanted in (("10.0", "1"), ("15.0", "1/2"), ("29.0", "2"), ("50.0", "4")):
        figures = {**TWO, "max_width_position": position}
        assert code(indices(rules, figures, FLUTED, rest)["class_code"])[: len(wanted)] == wanted


def test_no_class_without_all_characters(rules: Rules) -> None:
    """Where a character is wanting there is no class, and the reasons name it."""
    figures = {name: text for name, text in TWO.items() if name != "outer_tang_angle"}
    result = indices(rules, figures, FLUTED, {"base_outline": "arc"})["class_code"]
    assert not result.computed
    wanting = {(lack.term, lack.why) for lack in result.lacks}
    assert wanting >= {("outer_tang_angle", "not_measured"), ("tang_tip", "not_scored")}
    assert code(result).split()[1:4] == ["1", "2", "2"]


@pytest.mark.parametrize(
    ("marks", "value", "counted"),
    [
        (" ".join(["0"] * 16), 0.0, 16),
        (" ".join(["1"] * 16), 1.0, 16),
        (" ".join(["1"] * 8 + ["0.5"] * 4 + ["0"] * 4), 0.625, 16),
        (" ".join(["1"] * 5 + ["0.5"] * 2 + ["0"] * 8 + ["-"]), 0.400, 15),
    ],
)
def test_retouch_index(rules: Rules, marks: str, value: float, counted: int) -> None:
    """Andrefsky 2006 (formula: memory; checks our arithmetic): the mean of the segments scored."""
    result = indices(rules, {}, scored={"retouch_segments": marks})["retouch_index"]
    assert figure(result) == pytest.approx(value, abs=1e-9)
    assert result.counted == counted


def test_lost_segments_widen_the_index(rules: Rules) -> None:
    """With 15 of 16 segments the index is 6/15, and lies between 6/16 and 7/16 for the whole."""
    marks = " ".join(["1"] * 5 + ["0.5"] * 2 + ["0"] * 8 + ["-"])
    found = indices(rules, {}, scored={"retouch_segments": marks})["retouch_index"].figure
    assert found is not None
    assert (found.low, found.high) == (6 / 16, 7 / 16)
