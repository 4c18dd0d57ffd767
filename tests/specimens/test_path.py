"""Path notation."""

from __future__ import annotations

import re
from pathlib import Path
from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from keygen.cli.options import PathOption
from keygen.core.model import Rules
from keygen.core.walk import Answer, Choice, next_couplet, start, take
from keygen.errors import KeygenError
from keygen.rulebase.load import shipped
from keygen.specimens import path
from keygen.specimens.terms import Lexicon


@given(st.lists(st.sampled_from(["a", "b", "?", "-"])))
def test_what_is_walked_reads_back(small_rules: Rules, choices: list[Choice]) -> None:
    """A walk written as a path leads to the same position when read."""
    position = start(small_rules)
    for choice in choices:
        couplet = next_couplet(small_rules, position)
        if couplet is None:
            break
        position = take(small_rules, position, Answer(couplet.id, choice))
    text = path.write(small_rules, position.steps)
    assert path.read(Lexicon(small_rules), text).position == position


def test_terms_stand_in_a_path(lexicon: Lexicon) -> None:
    """A term in a path passes the couplets that it settles."""
    read = path.read(lexicon, "1a 3a stem_shape=contracting 9A, 11b").position
    assert next_couplet(lexicon.rules, read) is None
    written = path.write(lexicon.rules, read.steps)
    assert written == "1a 3a stem_shape=contracting 9a 11b"


def test_couplets_that_follow_anyway_are_read_past(lexicon: Lexicon) -> None:
    """A notebook may name couplets that need no asking if it answers what follows."""
    short = path.read(lexicon, "1a 3a stem_shape=expanding").position
    assert path.read(lexicon, "1a 3a stem_shape=expanding 6a 7a").position == short


def test_another_edition_is_told(lexicon: Lexicon) -> None:
    """A path may name its edition, and a different one is remarked on."""
    assert path.read(lexicon, "0.1: 1a").remarks == ()
    assert "edition 0.9" in path.read(lexicon, "0.9: 1a").remarks[0]
    assert "edition 0.1 + notes" in path.read(lexicon, "0.1 + notes: 1a").remarks[0]


@pytest.mark.parametrize(
    ("text", "column", "message"),
    [
        ("1a 99b", 4, "there is no couplet 99. Numbers run to 11."),
        ("1a 3x", 4, "'3x' is not a step of a path"),
        (
            "1a R3a",
            4,
            "'R3a' is not a step of a path. Numbers with R belong to the key to one region",
        ),
        ("1a 7a", 4, "couplet 7 is not reached here. Couplet 3 comes next."),
        ("1a 1b", 4, "couplet 1 has been answered already"),
        ("1a 3a stem_shape=expanding 7b", 28, "7a follows from the steps before"),
        ("1b 2a 3a 6a 7a 9a 11a", 19, "couplet 11 asks about the blade, which is gone"),
        ("1a base_shape=wavy", 4, "'wavy' is not a state of base_shape"),
        ("1a portion=distal", 4, "nothing is left that fits"),
        ("0.1: 1a 44b", 9, "there is no couplet 44"),
    ],
)
def test_a_fault_is_placed(lexicon: Lexicon, text: str, column: int, message: str) -> None:
    """A step that cannot be read or does not fit is named with its column."""
    with pytest.raises(KeygenError) as error:
        path.read(lexicon, text)
    assert error.value.problems[0].column == column
    assert message in str(error.value)


def test_the_paths_shown_can_be_walked() -> None:
    """The examples of a path in the docs and in the help are paths of the shipped key."""
    page = (Path(__file__).parents[2] / "docs" / "index.md").read_text(encoding="utf-8")
    helped = str(get_args(PathOption)[1].help)
    shown = re.findall(r"""[`"](\d+[ab?-](?: \d+[ab?-])+)[`"]""", page + helped)
    assert len(shown) == 2
    for text in shown:
        assert path.read(Lexicon(shipped()), text).position.steps


def test_a_bad_step_is_named_once(lexicon: Lexicon) -> None:
    """A message that names the step does not name it again."""
    with pytest.raises(KeygenError) as error:
        path.read(lexicon, "3x")
    assert str(error.value).count("'3x'") == 1
