"""Facts about examining a piece: eye and caliper, what follows, what is gone."""

from __future__ import annotations

from dataclasses import replace

from keygen.core.call import by_region
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
    assert {region for region, _ in by_region(made.elsewhere)} == {"hills", "coast"}


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
    assert [(e.judgement.type, e.regions) for e in away] == [("dogwood", ("coast",))]


def test_the_next_look_and_the_lost_one(rules: Rules) -> None:
    """What cannot be seen is passed over as the next look, and told as the lost one."""
    stemmed = piece(rules, {}, haft_style="stemmed", portion="complete")
    made = examine(rules, stemmed, "central_texas")
    best = made.next_look
    assert best == made.looks[0]
    assert made.lost_look is None
    assert all(rules.attributes[look.attribute].stability != "record" for look in made.looks)
    hidden = Observation(rules.full[best.attribute], "missing")
    seen = {**stemmed.observations, best.attribute: hidden}
    lost = examine(rules, Piece(observations=seen), "central_texas")
    assert lost.lost_look is not None
    assert lost.lost_look.attribute == best.attribute
    assert lost.next_look is not None
    assert lost.next_look.attribute == made.looks[1].attribute
    assert lost.observations[best.attribute].how == "missing"


def test_observations_of_a_walk_keep_their_couplets(small_rules: Rules) -> None:
    """What was seen at couplets keeps them, whatever is added by calipers or follows."""
    base, stem, style = (small_rules.index[n] for n in ("base_shape", "stem_shape", "haft_style"))
    curved = small_rules.mask("base_shape", "excurvate", "incurvate")
    seen = {
        base: Observation(curved, "unsure", ("base_line",)),
        stem: Observation(small_rules.full[stem], "missing", ("stem_spreads",)),
        style: Observation(small_rules.mask("haft_style", "stemmed"), "seen", ("haft_set_off",)),
    }
    readings = {"base_width": read("10.0", "mm"), "neck_width": read("14.0", "mm")}
    found = examine(small_rules, Piece(observations=seen), "hills").observations
    assert found[base] == seen[base]
    assert found[style] == seen[style]
    stemmed = small_rules.mask("stem_shape", "straight", "contracting", "expanding")
    assert found[stem] == Observation(stemmed, "missing", ("stem_spreads",))
    measured = examine(small_rules, Piece(observations=seen, readings=readings), "hills")
    contracting = small_rules.mask("stem_shape", "contracting")
    assert measured.observations[stem] == Observation(contracting, "measured", ("stem_spreads",))


def test_how_states_came_about(small_rules: Rules) -> None:
    """Seen, unsure, implied, missing, measured and not asked, each on one piece."""
    index, mask = small_rules.index, small_rules.mask
    seen = {
        index["haft_style"]: Observation(mask("haft_style", "lanceolate"), "seen"),
        index["base_shape"]: Observation(mask("base_shape", "straight", "incurvate"), "unsure"),
        index["damage.heat"]: Observation(3, "missing"),
    }
    found = examine(small_rules, Piece(observations=seen), "hills").observations
    told = {a.id: o.how for a, o in zip(small_rules.attributes, found, strict=True)}
    assert told == {
        "portion": "not_asked",
        "damage.tip_snap": "not_asked",
        "damage.heat": "missing",
        "haft_style": "seen",
        "stem_shape": "implied",
        "base_shape": "unsure",
        "blade_shape": "not_asked",
    }
    distal = {index["portion"]: Observation(mask("portion", "distal"), "seen")}
    found = examine(small_rules, Piece(observations=distal), "hills").observations
    assert {found[index[name]].how for name in ("stem_shape", "base_shape")} == {"missing"}
    stemmed = {index["haft_style"]: Observation(mask("haft_style", "stemmed"), "seen")}
    found = examine(small_rules, Piece(observations=stemmed), "hills").observations
    assert found[index["stem_shape"]].how == "implied"  # no piece with a stem has none


def test_measured_against_what_follows(rules: Rules) -> None:
    """A measured state that what was seen rules out is no state, and the disagreement is kept."""
    width = rules.index["base_width_class"]
    leaf = piece(rules, {"base_width": "20.0", "width": "20.0"}, haft_style="leaf")
    made = examine(rules, leaf)
    narrower = rules.mask("base_width_class", "narrower")
    assert made.known[width] == narrower
    (found,) = made.disagreements
    assert (found.attribute, found.seen) == (width, narrower)
    assert found.measured == rules.mask("base_width_class", "equal")
    assert found.derivation.attribute == width
    assert width not in made.derived
    judged = replace(leaf, observations={width: Observation(narrower, "seen")})
    (found,) = examine(rules, judged).disagreements
    assert (found.seen, found.measured) == (narrower, rules.mask("base_width_class", "equal"))
