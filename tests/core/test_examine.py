"""Facts about examining a piece: eye and caliper, what follows, what is gone."""

from __future__ import annotations

from keygen.core.examine import Piece, examine
from keygen.core.measure import read
from keygen.core.model import Rules
from keygen.core.observe import Observation


def piece(rules: Rules, measures: dict[str, str], **states: str | tuple[str, ...]) -> Piece:
    """Return a piece with named states and measurements."""
    seen = {}
    for name, words in states.items():
        mask = rules.mask(name, *([words] if isinstance(words, str) else words))
        seen[rules.index[name]] = Observation(mask, "seen" if isinstance(words, str) else "unsure")
    readings = {k: read(v, rules.measurements[k].unit) for k, v in measures.items()}
    return Piece(observations=seen, readings=readings)


def test_measurement_fills_in_what_nobody_judged(small_rules: Rules) -> None:
    """A stem shape that nobody judged by eye comes from the widths, marked as measured."""
    made = examine(
        small_rules,
        piece(small_rules, {"base_width": "10.0", "neck_width": "14.0"}, haft_style="stemmed"),
        "hills",
    )
    stem = made.observations[small_rules.index["stem_shape"]]
    assert (stem.mask, stem.how) == (small_rules.mask("stem_shape", "contracting"), "measured")
    assert not made.disagreements


def test_straddled_limit_leaves_both_states(small_rules: Rules) -> None:
    """A ratio whose interval crosses a limit yields the states on both sides."""
    made = examine(
        small_rules,
        piece(small_rules, {"base_width": "9", "neck_width": "10"}, haft_style="stemmed"),
        "hills",
    )
    stem = made.observations[small_rules.index["stem_shape"]]
    assert stem.mask == small_rules.mask("stem_shape", "contracting", "straight")


def test_the_eye_is_never_overruled(small_rules: Rules) -> None:
    """Where eye and caliper disagree the eye's state stands, and the disagreement is kept."""
    made = examine(
        small_rules,
        piece(
            small_rules,
            {"base_width": "20.0", "neck_width": "10.0"},
            haft_style="stemmed",
            stem_shape="contracting",
        ),
        "hills",
    )
    stem = small_rules.index["stem_shape"]
    assert made.known[stem] == small_rules.mask("stem_shape", "contracting")
    (found,) = made.disagreements
    assert (found.attribute, found.measured) == (stem, small_rules.mask("stem_shape", "expanding"))


def test_rule_does_not_apply_where_its_condition_is_open(small_rules: Rules) -> None:
    """Widths say nothing of a stem while it is not known that there is one."""
    made = examine(
        small_rules, piece(small_rules, {"base_width": "10", "neck_width": "14"}), "hills"
    )
    assert made.observations[small_rules.index["stem_shape"]].how == "not_asked"


def test_broken_width_still_says_something(small_rules: Rules) -> None:
    """A base at least twice as wide as the neck is expanding, however wide it was."""
    made = examine(
        small_rules,
        piece(small_rules, {"base_width": "28.0+", "neck_width": "14.0"}, haft_style="stemmed"),
        "hills",
    )
    assert made.known[small_rules.index["stem_shape"]] == small_rules.mask(
        "stem_shape", "expanding"
    )


def test_gone_parts_are_missing(small_rules: Rules) -> None:
    """Of a distal fragment the haft is missing, and no call is made."""
    made = examine(small_rules, piece(small_rules, {}, portion="distal"), "hills")
    assert made.gone >= {"haft", "base"}
    assert made.observations[small_rules.index["base_shape"]].how == "missing"
    assert made.call is not None
    assert (made.call.status, made.call.reason) == ("untyped", "haft_unknown")


def test_without_a_region(small_rules: Rules) -> None:
    """Without a region there is no call, and elsewhere speaks of every region."""
    made = examine(
        small_rules,
        piece(small_rules, {}, haft_style="stemmed", stem_shape="straight", base_shape="straight"),
    )
    assert made.call is None
    assert {e.region for e in made.elsewhere} == {"hills", "coast"}


def test_region_turns_the_call(small_rules: Rules) -> None:
    """The same form is another type in another region."""
    same = piece(
        small_rules, {}, haft_style="stemmed", stem_shape="contracting", base_shape="excurvate"
    )
    calls = {region: examine(small_rules, same, region).call for region in ("hills", "coast")}
    assert {region: made.types for region, made in calls.items() if made} == {
        "hills": ("alder",),
        "coast": ("dogwood",),
    }
    away = examine(small_rules, same, "hills").elsewhere
    assert [(e.region, e.judgement.type) for e in away] == [("coast", "dogwood")]
