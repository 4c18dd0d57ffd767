"""Facts about walking the key, on the shipped rules and on random walks through them."""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from keygen.core.ahead import left_at_most, left_if_plain
from keygen.core.infer import Contradiction, close, conflict, gone_parts
from keygen.core.model import Rules
from keygen.core.observe import Observation, observations
from keygen.core.states import Box, is_single, narrow, spread
from keygen.core.walk import Answer, Choice, Position, Term, back, next_couplet, replay, start, take
from keygen.rulebase.load import shipped

Chooser = Callable[[random.Random], Choice]


def walked(rules: Rules, rng: random.Random, choices: Sequence[Choice] = ("a", "b")) -> Position:
    """Walk to the end with random choices."""
    position = start(rules)
    while couplet := next_couplet(rules, position):
        position = take(rules, position, Answer(couplet.id, rng.choice(choices)))
    return position


def claims(rules: Rules, position: Position) -> list[Box]:
    """Return the universe narrowed by everything that was answered, in any order."""
    boxes = list(rules.universe)
    for step in reversed(position.steps):
        if isinstance(step, Term):
            options = ({step.attribute: step.mask},)
        elif step.choice in "ab":
            options = rules.couplets[step.couplet].lead(step.choice).leaves  # type: ignore[assignment]
        else:
            continue
        boxes = [b for box in boxes for limits in options if (b := narrow(box, limits))]
    return boxes


@given(st.integers(0, 10**9))
@settings(max_examples=150, deadline=None)
def test_full_answers_settle_everything(seed: int) -> None:
    """A walk on which every couplet is answered ends with one state for every attribute."""
    rules = shipped()
    position = walked(rules, random.Random(seed))
    spared = {
        i
        for passed in position.trail
        if passed.why == "gone"
        for i in rules.couplets[passed.couplet].attributes
    }
    for i, mask in enumerate(position.known):
        assert is_single(mask) or i in spared, rules.attributes[i].id


@given(st.integers(0, 10**9))
@settings(max_examples=100, deadline=None)
def test_walk_is_the_universe_narrowed(seed: int) -> None:
    """What a walk leaves is what the key can describe, narrowed by each answer in any order."""
    rules = shipped()
    position = walked(rules, random.Random(seed), ("a", "b", "a", "b", "-"))
    assert position.known == spread(claims(rules, position))


@given(st.integers(0, 10**9))
@settings(max_examples=60, deadline=None)
def test_doubt_never_says_more_than_the_answers(seed: int) -> None:
    """With unsure answers a walk keeps at least what the other answers leave possible."""
    rules = shipped()
    position = walked(rules, random.Random(seed), ("a", "b", "?", "-"))
    for mask, least in zip(position.known, spread(claims(rules, position)), strict=False):
        assert not least & ~mask


def test_doubt_between_stem_and_notch_is_kept(rules: Rules) -> None:
    """Who is unsure of stem or notch and then places the notches has not called it notched."""
    position = start(rules)
    while couplet := next_couplet(rules, position):
        choice: Choice = "?" if couplet.id == "stem_or_notch" else "a"
        position = take(rules, position, Answer(couplet.id, choice))
        if couplet.id == "notches_at_corners":
            break
    style, place = rules.index["haft_style"], rules.index["notch_position"]
    assert position.known[style] == rules.mask("haft_style", "stemmed", "notched")
    assert position.known[place] == rules.mask("notch_position", "none", "corner")


@given(st.integers(0, 10**9))
@settings(max_examples=40, deadline=None)
def test_no_couplet_twice_and_bound_holds(seed: int) -> None:
    """No couplet is met twice, and with plain answers never more follow than was promised."""
    rules = shipped()
    rng = random.Random(seed)
    position, asked, promised = start(rules), [], left_at_most(rules, start(rules))
    while couplet := next_couplet(rules, position):
        assert promised >= 1
        asked.append(couplet.id)
        position = take(rules, position, Answer(couplet.id, rng.choice("ab")))  # type: ignore[arg-type]
        assert left_at_most(rules, position) <= promised - 1
        promised = left_at_most(rules, position)
    assert promised == 0
    met = [passed.couplet for passed in position.trail]
    assert len(set(met)) == len(met)
    assert len(set(asked)) == len(asked)


@given(st.integers(0, 10**9))
@settings(max_examples=15, deadline=None)
def test_back_undoes_one_step(seed: int) -> None:
    """Going back gives the position before the last step; replaying the steps gives the same."""
    rules = shipped()
    rng = random.Random(seed)
    position = start(rules)
    for _ in range(rng.randrange(1, 25)):
        couplet = next_couplet(rules, position)
        if couplet is None:
            break
        before = position
        position = take(rules, position, Answer(couplet.id, rng.choice("ab?-")))  # type: ignore[arg-type]
        assert back(rules, position) == before
    assert replay(rules, position.steps) == position


def test_plain_answers_are_counted(rules: Rules) -> None:
    """Answering lead a to the end takes the number of couplets that was foretold."""
    position, asked = start(rules), 0
    foretold = left_if_plain(rules, position)
    while couplet := next_couplet(rules, position):
        position = take(rules, position, Answer(couplet.id, "a"))
        asked += 1
    assert asked == foretold <= left_at_most(rules, start(rules))


def test_back_at_the_start_stays(rules: Rules) -> None:
    """There is nothing before the start."""
    assert back(rules, start(rules)) == start(rules)


def test_term_passes_what_it_settles(rules: Rules) -> None:
    """Naming a side-notched haft passes the couplets about haft style and notch position."""
    position = start(rules)
    notch = rules.index["notch_position"]
    position = take(rules, position, Term(notch, rules.mask("notch_position", "side")))
    assert position.known[rules.index["haft_style"]] == rules.mask("haft_style", "notched")
    while couplet := next_couplet(rules, position):
        assert not couplet.attributes & {rules.index["haft_style"], notch}, couplet.id
        position = take(rules, position, Answer(couplet.id, "a"))


def test_contradiction_is_refused(rules: Rules) -> None:
    """A term that leaves nothing possible raises and leaves the walk as it was."""
    position = take(
        rules,
        start(rules),
        Term(rules.index["haft_style"], rules.mask("haft_style", "lanceolate")),
    )
    with pytest.raises(Contradiction):
        take(rules, position, Term(rules.index["stem_shape"], rules.mask("stem_shape", "straight")))


def test_wrong_couplet_is_refused(rules: Rules) -> None:
    """Only the couplet that is being asked can be answered."""
    with pytest.raises(Contradiction, match="not the one being asked"):
        take(rules, start(rules), Answer("nothing_like_it", "a"))


def test_gone_parts_are_never_asked_for(rules: Rules) -> None:
    """Of a distal fragment nothing about haft or base is asked, and it is recorded as missing."""
    position = take(
        rules, start(rules), Term(rules.index["portion"], rules.mask("portion", "distal"))
    )
    while couplet := next_couplet(rules, position):
        assert couplet.part not in ("haft", "base")
        position = take(rules, position, Answer(couplet.id, "a"))
    seen = observations(rules, position)
    assert seen[rules.index["stem_shape"]].how == "missing"
    assert seen[rules.index["blade_shape"]].how == "seen"


def test_haft_snap_may_leave_shoulders(rules: Rules) -> None:
    """Distal to a haft snap the shoulders survive; to another snap they do not.

    Common practice, no source.
    """

    def parts(damage: str, present: bool) -> frozenset[str]:
        known = list(rules.full)
        known[rules.index["portion"]] = rules.mask("portion", "distal")
        known[rules.index[f"damage.{damage}"]] = 2 if present else 1
        return gone_parts(rules, known)

    assert "shoulder" not in parts("haft_snap", True)
    assert "shoulder" in parts("haft_snap", False)
    assert {"haft", "base"} <= parts("haft_snap", True)


def test_how_it_came_about(rules: Rules) -> None:
    """Seen, unsure, missing, implied and not asked are told apart."""
    position = start(rules)
    asked = []
    choices: tuple[Choice, ...] = ("a", "?")
    for choice in choices:
        couplet = next_couplet(rules, position)
        assert couplet is not None
        asked.append(couplet)
        position = take(rules, position, Answer(couplet.id, choice))
    seen = observations(rules, position)
    first = min(asked[0].attributes)
    assert (seen[first].how, seen[first].at) == ("seen", (asked[0].id,))
    (second, *_) = asked[1].decides
    assert (seen[second].how, seen[second].at) == ("unsure", (asked[1].id,))
    assert seen[rules.index["blade_shape"]].how == "not_asked"
    named = take(
        rules, start(rules), Term(rules.index["haft_style"], rules.mask("haft_style", "lanceolate"))
    )
    told = observations(rules, named)
    assert told[rules.index["haft_style"]].how == "seen"
    assert told[rules.index["stem_shape"]].how == "implied"


def test_unsure_speaks_of_what_is_asked_only(rules: Rules) -> None:
    """Who is unsure of stem or notch has not looked at shoulders, notches and base."""
    position = start(rules)
    while (couplet := next_couplet(rules, position)) and couplet.id != "stem_or_notch":
        position = take(rules, position, Answer(couplet.id, "a"))
    position = take(rules, position, Answer("stem_or_notch", "?"))
    unsure = {
        rules.attributes[i].id
        for i, seen in enumerate(observations(rules, position))
        if seen.how == "unsure" and "stem_or_notch" in seen.at
    }
    assert unsure == {"haft_style"}


def test_close_and_conflict(rules: Rules) -> None:
    """Closing adds what follows; what cannot stand together is named, and nothing more."""
    known = list(rules.full)
    known[rules.index["haft_style"]] = rules.mask("haft_style", "stemmed")
    closed = close(rules, known)
    assert closed[rules.index["notch_position"]] == rules.mask("notch_position", "none")
    known[rules.index["notch_position"]] = rules.mask("notch_position", "corner")
    known[rules.index["blade_shape"]] = rules.mask("blade_shape", "straight")
    with pytest.raises(Contradiction):
        close(rules, known)
    assert set(conflict(rules, known)) == {
        rules.index["haft_style"],
        rules.index["notch_position"],
    }
    assert conflict(rules, rules.full) == ()


def test_how_each_answer_is_told(small_rules: Rules) -> None:
    """One answer, one way of knowing: worked through for every kind of answer and term."""
    index, mask = small_rules.index, small_rules.mask
    base, stem, style = index["base_shape"], index["stem_shape"], index["haft_style"]
    curved = mask("base_shape", "excurvate", "incurvate")

    def told(attribute: int, *steps: Answer | Term) -> Observation:
        return observations(small_rules, replay(small_rules, steps))[attribute]

    assert told(base, Term(base, curved)) == Observation(curved, "unsure")
    assert told(base, Term(base, curved, "measured")) == Observation(curved, "measured")
    single = mask("base_shape", "straight")
    assert told(base, Term(base, single)) == Observation(single, "seen")
    stemmed = mask("stem_shape", "straight", "contracting", "expanding")
    implied = told(stem, Term(style, mask("haft_style", "stemmed")))
    assert implied == Observation(stemmed, "implied")
    assert told(base) == Observation(small_rules.full[base], "not_asked")
    plain = (Answer("whole", "a"), Answer("any_damage", "a"))
    assert told(index["portion"], *plain) == Observation(
        mask("portion", "complete"), "seen", ("whole",)
    )
    assert told(index["damage.heat"], *plain) == Observation(1, "seen", ("any_damage",))
    none = told(stem, *plain, Answer("haft_set_off", "b"))
    assert none == Observation(mask("stem_shape", "none"), "seen", ("haft_set_off",))
    doubted = told(stem, *plain, Answer("haft_set_off", "?"))
    assert doubted == Observation(small_rules.full[stem], "not_asked")
    assert told(style, *plain, Answer("haft_set_off", "-")) == Observation(
        small_rules.full[style], "missing", ("haft_set_off",)
    )
    off = (*plain, Answer("haft_set_off", "a"), Answer("stem_spreads", "b"))
    narrow_stem = mask("stem_shape", "straight", "contracting")
    at = ("haft_set_off", "stem_spreads")
    assert told(stem, *off) == Observation(narrow_stem, "unsure", at)
    assert told(stem, *off, Answer("stem_draws_in", "?")) == Observation(
        narrow_stem, "unsure", (*at, "stem_draws_in")
    )
    assert told(stem, *off, Answer("stem_draws_in", "a")) == Observation(
        mask("stem_shape", "contracting"), "seen", (*at, "stem_draws_in")
    )
    distal = (Answer("whole", "b"), Answer("which_end", "b"))
    assert told(base, *distal) == Observation(small_rules.full[base], "missing")
    snapped = (Answer("whole", "a"), Answer("any_damage", "b"), Answer("tip_snapped", "b"))
    assert told(index["damage.tip_snap"], *snapped).how == "seen"
