"""A walk that asks only until the call is settled, line by line, without a terminal or a file."""

from __future__ import annotations

import dataclasses
import random
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from keygen.core.call import call
from keygen.core.infer import Contradiction
from keygen.core.model import Rules
from keygen.core.until import couplet_until_call
from keygen.core.walk import Answer, Choice, Position, next_couplet, start, take
from keygen.specimens import path
from keygen.specimens.resume import restore
from keygen.specimens.session import Session, answer, begin, prompt
from keygen.specimens.terms import Lexicon


@pytest.fixture
def until(lexicon: Lexicon) -> Session:
    """Return a session that asks until the call, before its first question."""
    return begin(lexicon, "hills", "T-1", "2026-05-02", until_call=True)


def say(session: Session, *lines: str) -> tuple[Session, str, list[Mapping[str, Any]]]:
    """Answer several lines; return the session, what was last said, and all that was kept."""
    told = ""
    kept: list[Mapping[str, Any]] = []
    for line in lines:
        reply = answer(session, line)
        session, told = reply.session, " ".join("\n".join(reply.say).split())
        kept += reply.keep
    return session, told, kept


def asked(session: Session) -> int:
    """Return the number of the couplet being asked; 0 if none is."""
    return session.couplet.number if session.couplet else 0


def test_no_answer_goes_without_a_word(rules: Rules) -> None:
    """A term that leaves many states is acknowledged by what it leaves."""
    session = begin(Lexicon(rules), "ozarks", "T-1", "2026-05-02", until_call=True)
    told = say(session, "eared")[1]
    kinds = "flared (expanding), pointed downward, rounded or squared"
    assert f"basal ears (auricles): {kinds}." in " ".join(told.split())


def test_condition_comes_first(until: Session) -> None:
    """What is left of the piece is asked first, in the key's order."""
    assert [asked(say(until, *"aa"[:n])[0]) for n in range(3)] == [1, 3, 6]


def test_it_stops_when_the_call_is_settled(until: Session) -> None:
    """A contracting stem is an Alder Stemmed in the hills, whatever the base: no more is asked."""
    session, _, _ = say(until, "a", "a", "a", "b", "a")
    assert session.offered
    assert not session.finished
    assert prompt(session).splitlines() == [
        "The key's call: Alder Stemmed.",
        "No further couplet can change it.",
        "     a  Finish the description. At most 3 couplets left; 2 if nothing is",
        "        unusual.",
        "     b  Leave it at that, and go on to measurements and notes.",
    ]


def test_terms_and_back_work_on_the_way(until: Session) -> None:
    """Words of the trade and taking them back work as in the key's order."""
    session, _, _ = say(until, "distal", "no damage", "back", "back", "a", "a", "b")
    assert asked(session) == 9  # a lanceolate one: only the base is left to look at
    session, _, _ = say(session, "b", "a")
    assert session.offered
    assert "Cedar Lanceolate" in prompt(session)


def test_the_description_can_be_finished(until: Session) -> None:
    """After the call the rest is asked in the key's order; back returns to the offer."""
    offered, _, _ = say(until, "a", "a", "a", "b", "a")
    session, told, kept = say(offered, "a")
    assert (asked(session), told, kept) == (9, "In the key's order now.", [{"finish": True}])
    assert say(session, "back")[0] == offered
    session, _, _ = say(session, "a", "b")
    assert prompt(session) == "Maximum length (mm)"
    assert asked(say(session, "back")[0]) == 11
    assert say(session, "back", "back", "back")[0] == offered


def test_the_description_can_be_left(until: Session) -> None:
    """The rest of the key can be left; the questions after it follow, and back returns."""
    offered, _, _ = say(until, "a", "a", "a", "b", "a")
    session, _, kept = say(offered, "b")
    assert (prompt(session), kept) == ("Maximum length (mm)", [{"enough": True}])
    assert say(session, "back")[0] == offered
    assert not say(offered, "back")[0].offered
    assert say(offered, "maybe")[1].startswith("Answer a or b")


def test_unsure_stops_when_nothing_else_can_tell(until: Session) -> None:
    """Who is unsure whether a stem draws in keeps both types, and is asked only what matters."""
    session, told, _ = say(until, "a", "a", "a", "b", "u")
    assert "2 types left: Alder Stemmed or Birch Stemmed. Birch has parallel stem sides." in told
    assert asked(session) == 9
    session, _, _ = say(session, "a")
    assert session.offered
    assert "either Birch Stemmed or Alder Stemmed" in " ".join(prompt(session).split())


def test_what_cannot_be_seen_does_not_settle(until: Session) -> None:
    """A base that cannot be seen leaves the type a cf., and is not asked again."""
    session, _, _ = say(until, "a", "a", "a", "b", "b", "n", "n")
    assert session.offered
    assert prompt(session).startswith("The key's call: cf. Birch Stemmed.")


def test_the_running_line_counts_types(fresh: Session) -> None:
    """In the key's order too, the line names the types that are left and the next look."""
    told = say(fresh, "a", "a")[1]
    assert "3 types left: Alder Stemmed, Birch Stemmed or Cedar Lanceolate." in told
    assert "Next look: stem shape, leaves 1 on average." in told
    assert (
        "Only Birch Stemmed is left. Not yet seen of what defines it: base shape."
        in (say(fresh, "a", "a", "a", "b", "b")[1])
    )
    assert "No type of this region is left." in say(fresh, "a", "a", "a", "a")[1]


def test_a_look_that_is_lost_is_told(fresh: Session) -> None:
    """If the piece cannot show what would tell most, the line says so."""
    told = say(fresh, "b", "b", "a")[1]
    assert "This piece cannot show its stem shape, which would leave 1 on average." in told


def test_without_a_region_nothing_is_called(lexicon: Lexicon) -> None:
    """Without a region the key is walked in its order, and no types are counted."""
    session = begin(lexicon, "", "T-1", "2026-05-02", until_call=True)
    session, told, _ = say(session, "a", "a", "a")
    assert asked(session) == 7
    assert "types left" not in told


LINES = ["a", "b", "u", "n", "back", "enough", "contracting", "no damage", "30", "", "done", "left"]


@given(st.lists(st.sampled_from(LINES), max_size=40))
@settings(deadline=None)
def test_a_journal_restores_the_session(small_rules: Rules, lines: Iterable[str]) -> None:
    """Whatever was typed, the lines kept lead back to the same session."""
    fresh = begin(Lexicon(small_rules), "hills", "T-1", "2026-05-02", until_call=True)
    session, _, kept = say(fresh, *lines)
    restored, fitted, why = restore(fresh, kept)
    assert (fitted, why) == (len(kept), "")
    assert restored == dataclasses.replace(session, pending=())


def walked(rules: Rules, region: str, rng: random.Random, choices: Sequence[Choice]) -> Position:
    """Walk until the call with answers drawn at random, and then the rest of the key."""
    position = start(rules)
    while next_couplet(rules, position):
        position = step(rules, region, position, rng.choice(choices))
    return position


def step(rules: Rules, region: str, position: Position, choice: Choice) -> Position:
    """Answer the next couplet, with the other lead if this one does not fit."""
    couplet = couplet_until_call(rules, region, position) or next_couplet(rules, position)
    assert couplet is not None
    ahead = couplet != next_couplet(rules, position)
    try:
        return take(rules, position, Answer(couplet.id, choice, ahead))
    except Contradiction:
        other: Choice = "b" if choice == "a" else "a"
        return take(rules, position, Answer(couplet.id, other, ahead))


SEEDS = pytest.mark.parametrize("seed", range(8))


@SEEDS
def test_asking_ahead_keeps_the_key_sound(rules: Rules, seed: int) -> None:
    """No couplet is asked twice, the walk reaches the end, and its path reads back."""
    rng = random.Random(seed)
    region = rng.choice(list(rules.regions))
    position = walked(rules, region, rng, ("a", "a", "a", "a", "a", "b", "b", "?", "-"))
    put = [passed.couplet for passed in position.trail if passed.why == "asked"]
    assert len(put) == len(set(put))
    text = path.write(rules, position.steps)
    assert path.read(Lexicon(rules), text).position == position


@SEEDS
def test_the_order_of_asking_does_not_matter(rules: Rules, seed: int) -> None:
    """Answers given ahead of their turn say the same as answers given in the key's order."""
    rng = random.Random(seed)
    position = walked(rules, rng.choice(list(rules.regions)), rng, ("a", "a", "b"))
    chosen = {passed.couplet: passed.choice for passed in position.trail}
    in_turn = start(rules)
    while couplet := next_couplet(rules, in_turn):
        in_turn = take(rules, in_turn, Answer(couplet.id, chosen[couplet.id]))
    assert in_turn.known == position.known


@SEEDS
def test_a_settled_call_stays(rules: Rules, seed: int) -> None:
    """Finishing the description after the call is settled never changes the call."""
    rng = random.Random(seed)
    region = rng.choice(list(rules.regions))
    position = start(rules)
    while couplet_until_call(rules, region, position):
        position = step(rules, region, position, rng.choice(("a", "a", "b", "-")))
    settled = call(rules, region, position.known)
    while next_couplet(rules, position):
        position = step(rules, region, position, rng.choice(("a", "b")))
    made = call(rules, region, position.known)
    assert (made.status, set(made.types)) == (settled.status, set(settled.types))


def test_a_path_needs_the_mark(rules: Rules) -> None:
    """Only a step marked with + is read as asked ahead; others must come in their turn."""
    lexicon = Lexicon(rules)
    found = path.read(lexicon, "1a 3a +45a").position
    assert found.steps[-1] == Answer("base_straight", "a", ahead=True)
    with pytest.raises(Exception, match="couplet 45 is not reached here"):
        path.read(lexicon, "1a 3a 45a")
    with pytest.raises(Exception, match="couplet 32 is not reached here"):
        path.read(lexicon, "1a 3a +32a")  # not every piece has something below a notch
