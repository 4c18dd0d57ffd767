"""Observations and measurements given as options."""

from __future__ import annotations

import pytest

from keygen.core.model import ABSENT, PRESENT
from keygen.errors import KeygenError
from keygen.specimens.given import parse_measure, parse_set
from keygen.specimens.terms import Lexicon


@pytest.mark.parametrize(
    ("text", "mask", "how"),
    [
        ("stem_shape=contracting", 0b0100, "seen"),
        ("stem shape=Contracting/straight", 0b0110, "unsure"),
        ("stem_shape=contracting,straight", 0b0110, "unsure"),
        ("stem_shape=?", 0b1111, "unsure"),
        ("stem_shape=missing", 0b1111, "missing"),
    ],
)
def test_set_reads_states_and_how_they_came_about(
    lexicon: Lexicon, text: str, mask: int, how: str
) -> None:
    """`--set` takes one state, several, `?` and `missing`."""
    observation = parse_set(lexicon, text)[lexicon.rules.index["stem_shape"]]
    assert (observation.mask, observation.how) == (mask, how)


def test_set_of_many_denies_what_is_not_named(lexicon: Lexicon) -> None:
    """What is listed for an attribute of kind many is all that is present."""
    found = parse_set(lexicon, "damage=heat")
    index = lexicon.rules.index
    assert found[index["damage.heat"]].mask == PRESENT
    assert found[index["damage.tip_snap"]].mask == ABSENT


def test_set_of_many_with_a_question_mark_leaves_the_others_open(lexicon: Lexicon) -> None:
    """A question mark beside an item says nothing of the items not named."""
    found = parse_set(lexicon, "damage=heat,?")
    assert set(found) == {lexicon.rules.index["damage.heat"]}


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("stem_shap=straight", "Did you mean 'stem_shape'?"),
        ("stem_shape=contractng", "Did you mean 'contracting'?"),
        ("stem_shape=oblique", "Allowed: none, straight, contracting, expanding."),
        ("stem_shape=", "no state is given for stem_shape"),
        ("stem_shape", "Write it as in stem_shape=contracting."),
        ("shape=straight", "can be several attributes"),
        ("damage=none,heat", "cannot both hold"),
    ],
)
def test_set_says_what_is_wrong(lexicon: Lexicon, text: str, message: str) -> None:
    """A word that is not known is refused with the nearest valid one."""
    with pytest.raises(KeygenError) as error:
        parse_set(lexicon, text)
    assert message in str(error.value)


def test_measure_keeps_the_text_as_entered(lexicon: Lexicon) -> None:
    """A measurement keeps its text, and a plus marks it as incomplete."""
    name, reading = parse_measure(lexicon.rules, "Maximum length=34.20+")
    assert (name, reading.entered, reading.incomplete) == ("length", "34.20+", True)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("lenght=30", "Did you mean 'length'?"),
        ("length=long", "'long' is not a measurement. Write it as in 34.2"),
        ("length=5 g", "this is measured in mm"),
        ("length", "Write it as in length=34.2+."),
    ],
)
def test_measure_says_what_is_wrong(lexicon: Lexicon, text: str, message: str) -> None:
    """A measurement that cannot be read is refused with an example."""
    with pytest.raises(KeygenError) as error:
        parse_measure(lexicon.rules, text)
    assert message in str(error.value)
