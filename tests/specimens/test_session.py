"""A walk, line by line, without a terminal or a file."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Mapping
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from keygen.core.model import Rules
from keygen.specimens.resume import restore
from keygen.specimens.session import Session, answer, begin, prompt
from keygen.specimens.terms import Lexicon


def say(session: Session, *lines: str) -> tuple[Session, str, list[Mapping[str, Any]]]:
    """Answer several lines; return the session, what was last said, and all that was kept."""
    told = ""
    kept: list[Mapping[str, Any]] = []
    for line in lines:
        reply = answer(session, line)
        session, told = reply.session, "\n".join(reply.say)
        kept += reply.keep
    return session, told, kept


def asked(session: Session) -> int:
    """Return the number of the couplet being asked; 0 after the key."""
    return session.couplet.number if session.couplet else 0


def states(session: Session, attribute: str) -> tuple[str, ...]:
    """Return the ids of the states that are still possible."""
    rules = session.rules
    index = rules.index[attribute]
    return rules.attributes[index].ids(session.position.known[index])


def test_the_first_question_shows_both_leads(fresh: Session) -> None:
    """A couplet is put with its number, its question and its two leads."""
    assert prompt(fresh).splitlines() == [
        "  1  Is the piece whole?",
        "     a  Whole.",
        "     b  An end is gone.",
    ]


def test_a_lead_goes_on_and_tells_what_is_settled(fresh: Session) -> None:
    """After a lead comes the next couplet, with a running line of what is settled and left."""
    session, told, kept = say(fresh, "a")
    assert asked(session) == 3
    told = " ".join(told.split())
    assert told == (
        "Settled: portion present: complete. At most 9 couplets left; 5 if nothing is unusual."
    )
    assert kept == [{"took": ["1a"]}]


def test_instructions_of_a_lead_are_shown(fresh: Session) -> None:
    """What a lead says to do is shown when it is taken, and when one is unsure."""
    do = "Look at the break before the outline."
    assert do in say(fresh, "b")[1]
    assert do in say(fresh, "u")[1]
    assert do not in say(fresh, "a")[1]


def test_a_term_passes_its_couplets(fresh: Session) -> None:
    """A term of the trade settles all couplets that it answers."""
    session, told, _ = say(fresh, "a", "a", "contracting")
    assert asked(session) == 9
    assert "haft style: stemmed" in told
    assert states(session, "stem_shape") == ("contracting",)


def test_a_term_is_for_the_couplet_being_asked(fresh: Session) -> None:
    """A word of several attributes is taken for the couplet that is being asked."""
    session, _, kept = say(fresh, "a", "a", "b", "convex")
    assert states(session, "base_shape") == ("excurvate",)
    assert states(session, "blade_shape") == ("straight", "excurvate")
    assert kept[-1] == {"took": ["base_shape=excurvate"]}


@pytest.mark.parametrize("reply", ["2", "blade shape", "blade_shape"])
def test_an_ambiguous_term_asks_which(fresh: Session, reply: str) -> None:
    """A word of several attributes, none of them being asked, asks which is meant."""
    session, _, kept = say(fresh, "convex")
    assert kept == []
    assert "1  base shape: excurvate (convex)" in prompt(session)
    session, _, kept = say(session, reply)
    assert kept == [{"took": ["blade_shape=excurvate"]}]
    assert asked(session) == 1


def test_an_ambiguous_term_can_be_dropped(fresh: Session) -> None:
    """Enter drops an ambiguous word, and a wrong number asks again."""
    session, told, _ = say(fresh, "convex", "7")
    assert told == "Give a number from 1 to 2, or Enter for none."
    session, _, kept = say(session, "")
    assert (session, kept) == (fresh, [])


def test_a_term_goes_before_another_word(fresh: Session) -> None:
    """A word that is one attribute's term and only a synonym of another's means the term."""
    rules = fresh.rules
    index = rules.index["blade_shape"]
    blade = rules.attributes[index]
    swollen = dataclasses.replace(blade.states[1], also=("contracting",))
    blade = dataclasses.replace(blade, states=(blade.states[0], swollen))
    attributes = (*rules.attributes[:index], blade, *rules.attributes[index + 1 :])
    lexicon = Lexicon(dataclasses.replace(rules, attributes=attributes))
    assert len(lexicon.find("contracting")) == 2
    _, _, kept = say(dataclasses.replace(fresh, lexicon=lexicon), "contracting")
    assert kept == [{"took": ["stem_shape=contracting"]}]


def test_another_term_takes_the_place_of_an_ambiguous_one(fresh: Session) -> None:
    """A clear term typed where a choice is asked for is taken in its place."""
    _, _, kept = say(fresh, "convex", "base concave")
    assert kept == [{"took": ["base_shape=incurvate"]}]


def test_help_leaves_out_what_only_comes_along(fresh: Session) -> None:
    """Help does not explain attributes that a lead merely rules out."""
    told = say(fresh, "a", "a", "?")[1]
    assert "haft style:" in told
    assert "stem shape:" not in told


def test_unsure_and_unseen_keep_both_ways_open(fresh: Session) -> None:
    """Unsure and cannot be seen claim nothing, and are told apart in the record."""
    session, _, _ = say(fresh, "a", "a", "b", "b", "u", "n")
    index = session.rules.index
    found = session.record.piece.observations
    assert (found[index["base_shape"]].mask, found[index["base_shape"]].how) == (0b110, "unsure")
    assert found[index["blade_shape"]].how == "missing"


def test_nothing_is_asked_that_follows(fresh: Session) -> None:
    """A part that is gone, and all that follows from an answer, is not asked."""
    session, _, _ = say(fresh, "b", "a", "a", "b", "a")
    assert session.couplet is None
    assert prompt(session) == "Maximum length (mm, at least: without the tip)"


def test_back_takes_a_whole_answer_back(fresh: Session) -> None:
    """Back undoes the last answer, all of it if a word settled several things."""
    once, _, _ = say(fresh, "a")
    session, told, kept = say(once, "no damage", "back")
    assert (session, told, kept[-1]) == (once, "Taken back.", {"back": True})
    assert say(fresh, "back")[1] == "This is the first question."


def test_back_crosses_from_the_details_into_the_key(fresh: Session) -> None:
    """Back at the first question after the key returns to the last couplet."""
    session, _, _ = say(fresh, "a", "a", "b", "a", "a")
    assert session.couplet is None
    assert asked(say(session, "30", "back", "back")[0]) == 11


def test_enough_leaves_the_key(fresh: Session) -> None:
    """The rest of the key can be left unasked, and back returns to it."""
    session, _, _ = say(fresh, "a", "enough")
    assert prompt(session) == "Maximum length (mm)"
    assert asked(say(session, "back")[0]) == 3


def test_help_explains_with_basis_and_source(fresh: Session) -> None:
    """Help says how to look, what the words mean, and on what the meaning rests."""
    told = say(fresh, "a", "a", "a", "?")[1]
    assert told.startswith("Hold it against a straight edge.")
    assert "- contracting: narrower at the base (also: tapering)" in told
    assert "from memory of Nobody (2000)" in " ".join(told.split())


def test_so_far_lists_what_is_settled(fresh: Session) -> None:
    """So far tells what was seen apart from what follows and what is unsure."""
    told = say(fresh, "u", "u", "a", "contracting", "so far")[1]
    assert told.splitlines() == [
        "Seen:",
        "  stem shape: contracting",
        "  damage: none",
        "Follows from that:",
        "  haft style: stemmed",
        "Unsure:",
        "  portion present: complete, proximal fragment or distal fragment",
    ]


def test_left_counts_couplets(fresh: Session) -> None:
    """Left tells how many couplets can still come, and how many will if nothing is unusual."""
    assert say(fresh, "left")[1] == "At most 11 couplets left; 6 if nothing is unusual."


@pytest.mark.parametrize(
    ("line", "message"),
    [
        ("contractin", "Did you mean 'contracting'?"),
        ("stem_shape=bent", "'bent' is not a state of stem_shape"),
        ("distal", "'distal' is settled already"),
        ("proximal", "portion present is settled as distal fragment"),
        ("", "Answer a or b"),
    ],
)
def test_what_cannot_be_taken_is_explained(fresh: Session, line: str, message: str) -> None:
    """A line that says nothing usable changes nothing and is answered with the reason."""
    before, _, _ = say(fresh, "b", "b")
    session, told, kept = say(before, line)
    assert (session, kept) == (before, [])
    assert message.replace("'distal' is", "That is") in told


def test_a_contradiction_names_what_it_contradicts(fresh: Session) -> None:
    """A term that does not go with earlier answers is refused with those answers."""
    before, _, _ = say(fresh, "a", "a", "b")
    session, told, _ = say(before, "stem_shape=straight")
    assert session == before
    assert told == "stem shape is settled as none. `back` takes answers back."


def test_pause_stops_without_an_answer(fresh: Session) -> None:
    """Pause stops anywhere and keeps nothing of its own."""
    reply = answer(fresh, " Pause ")
    assert (reply.stop, reply.keep, reply.session) == ("pause", (), fresh)


@pytest.fixture
def after_key(fresh: Session) -> Session:
    """Return a session after the key: a whole stemmed piece with a contracting stem."""
    return say(fresh, "a", "a", "contracting", "a", "b")[0]


def test_details_are_optional_and_end(after_key: Session) -> None:
    """Every question after the key can be left empty, and then the walk is finished."""
    session, lines = after_key, 0
    while not session.finished:
        session, lines = say(session, "")[0], lines + 1
    assert lines == sum(m.asked for m in session.rules.measurements.values()) + 10
    assert session.record.piece.details == {"date": "2026-05-02"}


def test_details_are_kept_as_entered(after_key: Session) -> None:
    """Measurements, material, colour and context reach the record as they were typed."""
    session, _, _ = say(after_key, "48.20+", "", "", "", "", "chert", "10YR 5/3", "S1", "done")
    piece = session.record.piece
    assert session.finished
    assert piece.readings["length"].entered == "48.20+"
    details = {"material": "chert", "colour": "10YR 5/3", "site": "S1", "date": "2026-05-02"}
    assert piece.details == details


def test_a_broken_dimension_is_at_least(fresh: Session) -> None:
    """A figure whose part is gone is kept as incomplete, and that is said."""
    session, told, _ = say(fresh, "proximal", "no damage", "contracting", "a", "30")
    assert session.record.piece.readings["length"].entered == "30+"
    assert "Kept as 30+, at least that: the tip did not survive." in told


def test_a_measurement_of_a_lost_part_is_not_asked(fresh: Session) -> None:
    """Nothing is asked of a part that did not survive."""
    session, _, _ = say(fresh, "distal", "no damage", "a", "", "")
    assert prompt(session) == "Weight (g)"


def test_a_wrong_detail_is_asked_again(after_key: Session) -> None:
    """A figure or date that cannot be read is explained and asked again."""
    session, told, kept = say(after_key, "long")
    assert (prompt(session), kept) == ("Maximum length (mm)", [])
    assert "'long' is not a measurement" in told
    _, told, _ = say(session, *[""] * 12, "May 2")
    assert "'May 2' is not a date" in told


def test_the_own_call_is_asked_beside_the_keys_call(after_key: Session) -> None:
    """The key's call is shown, and a call that differs needs its reason."""
    session, _, _ = say(after_key, *[""] * 14)
    assert prompt(session) == "The key's call: Alder Stemmed.\nYour own call, if it differs"
    session, told, _ = say(session, "Birch", "")
    assert "needs its reason" in told
    session, _, _ = say(session, "the stem is parallel")
    assert session.finished
    assert session.record.piece.analyst is not None
    assert session.record.piece.analyst.reason == "the stem is parallel"


LINES = ["a", "b", "u", "n", "back", "enough", "convex", "1", "2", "contracting", "no damage", "30"]


@given(st.lists(st.sampled_from([*LINES, "", "done", "chert", "so far"]), max_size=40))
def test_a_journal_restores_the_session(small_rules: Rules, lines: Iterable[str]) -> None:
    """Whatever was typed, the lines kept lead back to the same session."""
    fresh = begin(Lexicon(small_rules), "hills", "T-1", "2026-05-02")
    session, _, kept = say(fresh, *lines)
    restored, fitted, why = restore(fresh, kept)
    assert (fitted, why) == (len(kept), "")
    assert restored == dataclasses.replace(session, pending=())


def test_an_answer_that_no_longer_fits_ends_the_restoring(fresh: Session) -> None:
    """With changed rules a journal is followed as far as its answers fit."""
    entries = [{"took": ["1a"]}, {"took": ["12a"]}, {"took": ["3a"]}]
    session, fitted, why = restore(fresh, entries)
    assert (asked(session), fitted) == (3, 1)
    assert "there is no couplet 12" in why
