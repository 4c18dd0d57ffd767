"""Facts about measurements as analysts write them."""

from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from keygen.core.measure import doubts, read
from keygen.core.model import Rules


@pytest.mark.parametrize(
    ("entered", "value", "low", "high"),
    [
        ("34.2", 34.2, 34.15, 34.25),
        ("34", 34.0, 33.5, 34.5),
        ("34,2", 34.2, 34.15, 34.25),
        ("34.20", 34.2, 34.195, 34.205),
        ("3.42 cm", 34.2, 34.15, 34.25),
        ("1.5 in", 38.1, 36.83, 39.37),
        ("34.2+", 34.2, 34.15, inf),
        ("(34.2)", 34.2, 34.15, inf),
        ("34.2 mm +", 34.2, 34.15, inf),
    ],
)
def test_reading(entered: str, value: float, low: float, high: float) -> None:
    """A figure keeps its precision as an interval; a broken one has no upper end."""
    found = read(entered, "mm")
    assert (found.value, found.low, found.high) == pytest.approx((value, low, high))
    assert found.entered == entered
    assert found.incomplete == (high == inf)


@pytest.mark.parametrize("entered", ["", "about 34", "34..2", "0", "(34.2", "34.2)", "-3", "12 g"])
def test_not_a_measurement(entered: str) -> None:
    """What is not a positive figure in a fitting unit is refused, with the text in the message."""
    with pytest.raises(ValueError, match="is "):
        read(entered, "mm")


@given(st.integers(1, 9999), st.sampled_from(["mm", "cm"]))
def test_units_change_nothing(tenths: int, unit: str) -> None:
    """The same length in millimetres and in centimetres has the same interval."""
    as_mm = read(f"{tenths / 10:.1f} mm", "mm")
    shown = f"{tenths / 10:.1f} mm" if unit == "mm" else f"{tenths / 100:.2f} cm"
    again = read(shown, "mm")
    assert (again.low, again.high) == pytest.approx((as_mm.low, as_mm.high))


def test_hardly_possible_figures_are_doubted(rules: Rules) -> None:
    """A slip of unit, a stem longer than the piece and a neck wider than it are remarked on."""

    def told(**entered: str) -> tuple[str, ...]:
        units = rules.measurements
        return doubts(rules, {name: read(text, units[name].unit) for name, text in entered.items()})

    assert told(length="48.2", haft_length="14", neck_width="15.1", width="27", thickness="8") == ()
    assert "is the unit right?" in told(length="4.3")[0]
    assert "more than the maximum length 20 mm" in told(length="20", haft_length="60")[0]
    assert (
        "more than the maximum (shoulder) width 17.5 mm" in told(width="17.5", neck_width="21.1")[0]
    )
    assert told(length="20+", haft_length="60") == ()  # a broken length can have been any


def test_may_lie_counts_both_ends() -> None:
    """A range includes its ends, and a broken figure may lie anywhere above it."""
    assert read("30", "mm").may_lie(30.5, 40)
    assert not read("30", "mm").may_lie(30.6, 40)
    assert read("30+", "mm").may_lie(90, 95)
    assert not read("30+", "mm").may_lie(10, 20)


def test_doubts_in_words(rules: Rules) -> None:
    """A remark names the figure, what is to be expected, and the figure that it exceeds."""

    def told(**entered: str) -> tuple[str, ...]:
        units = rules.measurements
        return doubts(rules, {name: read(text, units[name].unit) for name, text in entered.items()})

    length, angle = rules.measurements["length"], rules.measurements["outer_tang_angle"]
    asked = "is to be expected; is the unit right?"
    span = f"{length.low:g} to {length.high:g} mm"
    assert told(length="4.3") == (f"{length.label} 4.3 mm is doubtful: {span} {asked}",)
    high = angle.high + 50
    said, span = f"{angle.label} {high:g} degrees", f"{angle.low:g} to {angle.high:g} degrees"
    assert told(outer_tang_angle=f"{high:g}") == (f"{said} is doubtful: {span} {asked}",)
    assert told(length="20", haft_length="21") == ()  # 20.5 may be the figure of both
    stem = rules.measurements["haft_length"].label
    assert told(length="20", haft_length="22") == (
        f"{stem} 22 mm is doubtful: it is more than the maximum length 20 mm",
    )


def test_a_figure_is_not_a_page(small_rules: Rules) -> None:
    """A figure has at most sixty characters as entered, and a unit of its own kind."""
    assert read("1" + " " * 57 + "mm", "mm").value == 1.0
    with pytest.raises(ValueError, match="is not a measurement"):
        read("1" + " " * 58 + "mm", "mm")
    with pytest.raises(ValueError, match="'12 g' is in g, but this is measured in mm"):
        read("12 g", "mm")
    with pytest.raises(ValueError, match=r"'0\.0' is not above zero"):
        read("0.0", "mm")
    assert read("1 oz", "g").value == pytest.approx(28.3495, abs=1e-4)
    assert (read("90°", "deg").value, read("90 deg", "deg").low) == (90.0, 89.5)
