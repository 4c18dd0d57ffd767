"""Facts about what can still be measured on a fragment."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from math import inf

import pytest

from keygen.core.complete import Shortfall, remarks, shortfalls, surviving, why
from keygen.core.complete import told as remark_on
from keygen.core.examine import Piece, examine
from keygen.core.indices import Cut
from keygen.core.measure import Reading, read
from keygen.core.model import Rules
from keygen.core.observe import Observation
from keygen.core.states import Box

MEASURED = {"length": "34.2", "width": "18.0", "neck_width": "11.0", "base_width": "9.0"}


def known(rules: Rules, states: Mapping[str, tuple[str, ...]]) -> Box:
    """Return what is known of a piece; damage is written `damage.heat`."""
    masks = list(rules.full)
    for name, words in states.items():
        masks[rules.index[name]] = rules.mask(name, *words)
    return tuple(masks)


def readings(rules: Rules, entered: Mapping[str, str] = MEASURED) -> dict[str, Reading]:
    """Return measurements entered as text."""
    return {name: read(text, rules.measurements[name].unit) for name, text in entered.items()}


@pytest.mark.parametrize(
    ("states", "cut"),
    [
        ({"portion": ("complete",)}, set()),
        ({"portion": ("proximal",)}, {"length"}),
        ({"portion": ("distal",)}, {"length", "neck_width", "base_width"}),
        (
            {"portion": ("distal",), "damage.haft_snap": ("absent",)},
            {"length", "width", "neck_width", "base_width"},
        ),
        ({"portion": ("lateral",)}, {"width", "neck_width", "base_width"}),
        ({"portion": ("near_complete",), "damage.tip_snap": ("present",)}, {"length"}),
        ({"portion": ("complete",), "damage.tip_snap": ("present",)}, set()),
        ({"damage.barb_loss": ("present",)}, {"width"}),
        ({"damage.ear_loss": ("present",)}, {"base_width"}),
        ({"portion": ("complete", "proximal")}, set()),
    ],
)
def test_what_a_break_leaves(
    rules: Rules, states: dict[str, tuple[str, ...]], cut: set[str]
) -> None:
    """A length needs both ends, a width both edges at its widest place; doubt cuts nothing."""
    working, shown = surviving(rules, known(rules, states), readings(rules))
    assert {name for name, reading in working.items() if reading.high == inf} == cut
    assert shown == working
    assert all(working[name].entered == text for name, text in MEASURED.items())


def test_what_may_be_lost_is_shown_as_entered(rules: Rules) -> None:
    """The thickest place of a fragment may be lost: worked with as "at least", shown as it is."""
    states = {"portion": ("proximal",)}
    working, shown = surviving(rules, known(rules, states), readings(rules, {"thickness": "6.0"}))
    assert working["thickness"].incomplete
    assert not shown["thickness"].incomplete


def test_remarks_name_what_is_lost(rules: Rules) -> None:
    """A remark is made where a figure was entered as if it were whole, and only there."""
    state = known(rules, {"portion": ("proximal",), "damage.ear_loss": ("present",)})
    entered = {**MEASURED, "base_width": "9.0+"}
    (remark,) = remarks(rules, state, readings(rules, entered))
    assert remark.startswith("maximum length is taken as at least that: the tip and the blade are")
    short = shortfalls(rules, state, entered)
    assert why(rules, short["base_width"]) == "an ear or basal corner is broken"
    assert short["length"] == Shortfall("length", ("tip", "blade"))


def test_examination_shows_at_least(rules: Rules) -> None:
    """An examined fragment has no whole length, whatever was entered, and keeps what was."""
    i = rules.index["portion"]
    piece = Piece(
        observations={i: Observation(rules.mask("portion", "proximal"), "seen")},
        readings=readings(rules),
    )
    found = examine(rules, piece).piece.readings
    assert (found["length"].entered, found["length"].high) == ("34.2", inf)
    assert found["neck_width"].high < inf


def test_a_narrow_fragment_leaves_its_class_of_width_open(rules: Rules) -> None:
    """Where the widest place may be lost, the base is not derived to be as wide as the blade."""
    styles = {"haft_style": ("lanceolate",), "base_shape": ("straight",)}
    entered = {"base_width": "20.0", "width": "20.0"}

    def derived(portion: str) -> set[str]:
        states = {**styles, "portion": (portion,)}
        seen = {
            rules.index[name]: Observation(rules.mask(name, *words), "seen")
            for name, words in states.items()
        }
        found = examine(rules, Piece(observations=seen, readings=readings(rules, entered)))
        attribute = rules.attributes[rules.index["base_width_class"]]
        return set(attribute.ids(found.observations[rules.index["base_width_class"]].mask))

    assert derived("complete") == {"equal"}
    assert derived("proximal") == {"narrower", "equal"}


@pytest.mark.parametrize(
    ("parts", "words"),
    [
        (("tip",), "the tip is gone"),
        (("shoulder",), "the shoulders are gone"),
        (("tip", "blade"), "the tip and the blade are gone"),
        (("haft", "base", "tip"), "the haft and the base and the tip are gone"),
    ],
)
def test_what_is_gone_in_words(small_rules: Rules, parts: tuple[str, ...], words: str) -> None:
    """One part is gone and several are, and so is a part whose name is a plural."""
    assert why(small_rules, Shortfall("width", parts, "a break")) == words
    told = f"maximum width is taken as at least that: {words}"
    assert remark_on(small_rules, Shortfall("width", parts)) == told
    assert why(small_rules, Shortfall("width", because="a break")) == "a break"


def test_certain_damage_goes_before_what_may_be(small_rules: Rules) -> None:
    """Of several kinds of damage that shorten a figure the certain one is told."""
    heat = {small_rules.index["damage.heat"]: 2}
    cuts = (Cut(("width",), heat, "perhaps", True), Cut(("width", "length"), heat, "broken off"))
    rules = replace(small_rules, cuts=cuts)
    state = known(rules, {"damage.heat": ("present",)})
    assert shortfalls(rules, state, ["width", "neck_width"]) == {
        "width": Shortfall("width", (), "broken off", False)
    }
    assert shortfalls(rules, small_rules.full, ["width"]) == {}
    only = replace(small_rules, cuts=cuts[:1])
    assert shortfalls(only, state, ["width"])["width"] == Shortfall("width", (), "perhaps", True)
    assert remarks(only, state, readings(only, {"width": "18.0"})) == ()
    assert remarks(rules, state, readings(rules, {"width": "18.0+"})) == ()
    assert len(remarks(rules, state, readings(rules, {"width": "18.0"}))) == 1
