"""Facts about states that follow from measurements: intervals, limits, several figures, units."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from math import inf
from typing import Literal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from keygen import data
from keygen.core.examine import Piece, examine
from keygen.core.measure import Reading, derive, figure, read, states_of
from keygen.core.model import Band, Derivation, Gauge, Rules
from keygen.rulebase.load import load, shipped
from tests.core.test_examine import piece


@cache
def every_rule() -> tuple[tuple[Rules, Derivation], ...]:
    """Return every rule of the main rules and of each shipped pack, with the rules it is of."""
    packs = [load(folder) for folder in data.packs().values()]
    return tuple((rules, d) for rules in (shipped(), *packs) for d in rules.derivations)


NUMBERS = st.integers(0, 99)  # which rule, counted round
SPANS = st.tuples(st.floats(0, 300), st.floats(0.01, 50), st.booleans())


def numbered(number: int) -> tuple[Rules, Derivation]:
    """Return one of all rules."""
    return every_rule()[number % len(every_rule())]


def reading(low: float, width: float, broken: bool = False) -> Reading:
    """Return a reading that may lie from `low` up."""
    return Reading("", low, low, inf if broken else low + width)


@given(NUMBERS, st.lists(SPANS, min_size=3, max_size=3), st.floats(0, 30), st.floats(0, 30))
def test_widening_an_interval_never_removes_a_state(
    number: int, spans: list[tuple[float, float, bool]], less: float, more: float
) -> None:
    """What a rule leaves of narrow intervals it leaves of wider ones around them too."""
    _, derivation = numbered(number)
    narrow = {t: reading(*span) for t, span in zip(derivation.terms, spans, strict=False)}
    wide = {t: Reading("", r.value, max(r.low - less, 0), r.high + more) for t, r in narrow.items()}
    left, wider = states_of(derivation, narrow), states_of(derivation, wide)
    if left is not None:  # no narrow figure, or figures that no piece can have together
        assert wider is not None
        assert left & ~wider == 0


@given(NUMBERS, st.lists(st.integers(10, 9999), min_size=3, max_size=3))
def test_unit_of_entry_changes_no_state(number: int, tenths: list[int]) -> None:
    """Entered in centimetres a length says what it says in millimetres."""
    rules, derivation = numbered(number)
    units = {t: rules.measurements[t].unit for t in derivation.terms}
    in_mm, in_cm = {}, {}
    for (term, of), n in zip(units.items(), tenths, strict=False):
        in_mm[term] = read(f"{n / 10:.1f}", of)
        in_cm[term] = read(f"{n / 100:.2f} cm", of) if of == "mm" else in_mm[term]
    exact, again = states_of(derivation, in_mm), states_of(derivation, in_cm)
    if exact != again:  # only where a figure falls on a limit to the last bit
        assert any(on_a_limit(gauge, in_mm) for gauge in derivation.by)


def on_a_limit(gauge: Gauge, readings: Mapping[str, Reading]) -> bool:
    """Tell whether an end of a figure's interval is a limit, but for the last digits."""
    ends = figure(gauge, readings) or ()
    limits = [limit for band in gauge.bands for limit in (band.low, band.high)]
    return any(end == pytest.approx(limit, rel=1e-9) for end in ends for limit in limits)


@given(st.integers(20, 999), st.integers(20, 999))
def test_ratio_of_inches_is_the_ratio_of_millimetres(above: int, below: int) -> None:
    """The same digits in inches and in millimetres make the same interval of a ratio."""
    gauge = Gauge("ratio", ("a", "b"), ())
    digits = {"a": f"{above / 10:.1f}", "b": f"{below / 10:.1f}"}
    found = [
        figure(gauge, {name: read(f"{text} {unit}", "mm") for name, text in digits.items()})
        for unit in ("mm", "in")
    ]
    assert found[0] is not None
    assert found[1] == pytest.approx(found[0])


@pytest.mark.parametrize(
    ("kind", "expected"),
    [
        ("value", (9.5, 10.5)),
        ("ratio", (9.5 / 4.5, 10.5 / 3.5)),
        ("sum", (13.0, 15.0)),
        ("difference", (5.0, 7.0)),
    ],
)
def test_interval_runs_through_each_figure(kind: str, expected: tuple[float, float]) -> None:
    """10 and 4, each to the unit: half a unit of both goes into the figure made of them."""
    terms = ("a",) if kind == "value" else ("a", "b")
    gauge = Gauge(kind, terms, ())  # type: ignore[arg-type]
    assert figure(gauge, {"a": read("10", "mm"), "b": read("4", "mm")}) == pytest.approx(expected)


def test_broken_dimensions_leave_an_end_open() -> None:
    """A ratio to a broken dimension goes down to zero; a difference from one has no upper end."""
    whole, broken = read("10", "mm"), read("4+", "mm")
    ratio = figure(Gauge("ratio", ("a", "b"), ()), {"a": whole, "b": broken})
    assert ratio == pytest.approx((0.0, 3.0))
    assert figure(Gauge("difference", ("a", "b"), ()), {"a": broken, "b": whole}) == (-7.0, inf)
    assert figure(Gauge("difference", ("a", "b"), ()), {"a": whole}) is None
    tiny = figure(Gauge("ratio", ("a", "b"), ()), {"a": whole, "b": Reading("", 0.2, 0.0, 0.4)})
    assert tiny is not None
    assert tiny[1] == inf


def hollow(rules: Rules, **measures: str) -> tuple[str, ...]:
    """Return what the main rules make of a hollow base."""
    readings = {name: read(text, "mm") for name, text in measures.items()}
    mask, _ = derive(rules, readings, rules.full)[rules.index["base_shape"]]
    return rules.attributes[rules.index["base_shape"]].ids(mask)


def test_several_figures_leave_what_all_of_them_leave(rules: Rules) -> None:
    """Depth alone, then depth against width: each says what it can, and both hold together."""
    assert hollow(rules, basal_concavity="0.3") == ("straight", "incurvate")
    assert "straight" not in hollow(rules, basal_concavity="2.0")
    assert "deep_incurvate" in hollow(rules, basal_concavity="2.0")
    assert "deep_incurvate" not in hollow(rules, basal_concavity="2.0", base_width="20.0")
    assert "incurvate" not in hollow(rules, basal_concavity="8.0", base_width="20.0")
    doubtful = hollow(rules, basal_concavity="5.0", base_width="20.0")
    assert {"incurvate", "deep_incurvate"} <= set(doubtful)


def test_contradicting_figures_say_nothing() -> None:
    """Where no state is left by all figures of a rule, the rule is silent."""
    gauges = (
        Gauge("value", ("a",), (Band(1, 0, 1), Band(2, 1, inf))),
        Gauge("value", ("b",), (Band(2, 0, 1), Band(1, 1, inf))),
    )
    rule = Derivation("r", 0, gauges, {}, "common", (), "")
    readings = {"a": read("0.5", "mm"), "b": read("0.5", "mm")}
    assert states_of(rule, readings) is None
    assert states_of(rule, {"a": readings["a"]}) == 1
    assert rule.terms == ("a", "b")


@pytest.mark.parametrize(
    ("measure", "value", "attribute", "states"),
    [
        ("psa", "90", "stem_shape", ("straight",)),
        ("psa", "80", "stem_shape", ("straight", "contracting")),
        ("psa", "70", "stem_shape", ("contracting",)),
        ("psa", "120", "stem_shape", ("expanding",)),
        ("psa", "120", "notch_position", ("corner",)),
        ("psa", "140", "notch_position", ("side", "corner")),
        ("psa", "170", "notch_position", ("side",)),
        ("psa", "80", "notch_position", ("basal",)),
        ("dsa", "180", "shoulder_shape", ("horizontal", "rounded")),
        ("dsa", "150", "shoulder_shape", ("inverse", "barbed", "rounded")),
        ("dsa", "220", "shoulder_shape", ("tapered", "rounded")),
        ("dsa", "170", "shoulder_shape", ("horizontal", "inverse", "barbed", "rounded")),
    ],
)
def test_classes_from_angles(
    rules: Rules, measure: str, value: str, attribute: str, states: tuple[str, ...]
) -> None:
    """Within 10 degrees of the axis a stem is straight, of square a shoulder horizontal."""
    known = list(rules.full)
    known[rules.index["haft_style"]] = rules.mask("haft_style", "notched")
    mask, _ = derive(rules, {measure: read(value, "deg")}, known)[rules.index[attribute]]
    assert mask == rules.mask(attribute, *states)


def test_the_first_rule_whose_figures_were_taken_holds(rules: Rules) -> None:
    """Widths are the surer sign of a stem: with both, the angle is not asked."""
    known = list(rules.full)
    known[rules.index["haft_style"]] = rules.mask("haft_style", "stemmed")
    both = {"base_width": read("8", "mm"), "neck_width": read("14", "mm"), "psa": read("91", "deg")}
    _, rule = derive(rules, both, known)[rules.index["stem_shape"]]
    assert rule.id == "stem_shape_by_widths"
    _, rule = derive(rules, {"psa": both["psa"]}, known)[rules.index["stem_shape"]]
    assert rule.id == "stem_shape_by_angle"


def test_ranges_of_types_never_exclude(rules: Rules) -> None:
    """A length far outside every range leaves the same candidates as no length at all."""
    seen = piece(rules, {}, portion="complete", haft_style="stemmed", stem_shape="contracting")
    plain = examine(rules, seen, "ozarks").call
    far = examine(
        rules,
        Piece(observations=seen.observations, readings={"length": read("390", "mm")}),
        "ozarks",
    ).call
    assert plain is not None
    assert far is not None
    assert set(far.types) == set(plain.types)
    assert any(judgement.measures_out for judgement in far.candidates)


def test_a_type_defined_by_size_is_excluded_by_size(rules: Rules) -> None:
    """A size class in a definition is a criterion: neck and thickness of a dart rule out arrows."""
    seen = {"portion": "complete", "haft_style": "notched", "notch_position": "side"}
    index, small = rules.index["size_class"], rules.mask("size_class", "small")
    arrows = {
        kind.id
        for kind in rules.in_region("central_texas")
        if any(c.attribute == index and c.allowed == small for c in kind.defined_by)
    }
    calls = [
        examine(rules, piece(rules, measures, **seen), "central_texas").call
        for measures in ({}, {"neck_width": "16.0", "thickness": "8.0"})
    ]
    plain, dart = (set(call.types) if call else set() for call in calls)
    assert plain & arrows
    assert dart
    assert not dart & arrows


def test_bands_hold_both_of_their_ends() -> None:
    """A figure that only touches a band leaves its states too; a rule without figures is silent."""
    bands = (Band(1, 0.0, 10.0), Band(2, 10.0, 20.0), Band(4, 20.0, inf))
    rule = Derivation("r", 0, (Gauge("value", ("w",), bands),), {}, "common", (), "")

    def left(low: float, high: float) -> int | None:
        return states_of(rule, {"w": Reading("", (low + high) / 2, low, high)})

    assert left(9, 10) == 0b011
    assert left(10, 11) == 0b011
    assert left(10.5, 11) == 0b010
    assert left(11, 20) == 0b110
    assert left(1, inf) == 0b111
    assert states_of(rule, {}) is None
    apart = replace(rule, by=(rule.by[0], Gauge("value", ("v",), bands)))
    one, other = Reading("", 5, 5, 5), Reading("", 15, 15, 15)
    assert states_of(apart, {"w": one, "v": other}) is None
    assert states_of(apart, {"w": one}) == 0b001
    assert states_of(apart, {"v": other}) == 0b010


def test_figures_of_gauges() -> None:
    """Sums, differences and ratios are worked out from the ends that make them least and most."""
    taken = {"a": Reading("", 6, 5, 7), "b": Reading("", 0.75, 0.5, 1), "c": Reading("", 0, 0, 1)}

    def of(kind: Literal["value", "ratio", "sum", "difference"], *terms: str) -> object:
        return figure(Gauge(kind, terms, ()), taken)

    assert of("value", "a") == (5, 7)
    assert of("sum", "a", "b") == (5.5, 8)
    assert of("difference", "a", "b") == (4, 6.5)
    assert of("ratio", "a", "b") == (5, 14)
    assert of("ratio", "a", "c") == (5, inf)
    assert of("ratio", "a", "d") is None
