"""Changing one value in a record: every other character stays."""

from __future__ import annotations

import pytest
from hypothesis import given

from keygen.errors import KeygenError
from keygen.rulebase.yamlio import parse
from keygen.specimens import record
from keygen.specimens.edit import append, put
from keygen.specimens.record import Specimen
from tests.specimens.test_record import RULES, specimens

BY_HAND = """\
# mine
keygen_record: 1   # the form
observed:
  stem_shape: straight  # looked twice

  damage:
    - heat
# the end
"""


@pytest.mark.parametrize(
    ("path", "value", "was", "now"),
    [
        (("observed", "stem_shape"), ["a b", "c"], "straight  #", "[a b, c]  #"),
        (("keygen_record",), "2", "record: 1 ", 'record: "2" '),
        (("observed", "base_shape"), "x", "heat\n", "heat\n  base_shape: x\n"),
        (("region",), "hills", "heat\n", "heat\nregion: hills\n"),
        (("a", "b"), "c", "heat\n", "heat\na: {b: c}\n"),
        (("observed", "damage"), "none", "\n    - heat\n", "\n    none\n"),
    ],
)
def test_only_the_value_changes(path: tuple[str, ...], value: object, was: str, now: str) -> None:
    """A value is replaced or added at its place; comments, order and empty lines stay."""
    assert put(BY_HAND, path, value, "x") == BY_HAND.replace(was, now)


def test_a_new_entry_can_go_in_front_of_another() -> None:
    """An entry goes after the one before the named key, with its comment."""
    text = "a: 1\n# of b\nb: 2\n"
    assert put(text, ("c",), "3", "x", "b") == 'a: 1\nc: "3"\n# of b\nb: 2\n'


@pytest.mark.parametrize(
    ("text", "now"),
    [
        ("a: 1\n", "a: 1\nh:\n  - x\n"),
        ("a: 1", "a: 1\nh:\n  - x\n"),
        ("a: 1\r\n", "a: 1\r\nh:\r\n  - x\r\n"),
        ("a: 1\n...\n", "a: 1\nh:\n  - x\n...\n"),
        ("a: |+\n  one\n\n", "a: |+\n  one\n\nh:\n  - x\n"),
        ("{a: 1}\n", "{a: 1, h: [x]}\n"),
        ("h:\n- y # so\na: 1\n", "h:\n- y # so\n- x\na: 1\n"),
        ("h: [y]\n", "h: [y, x]\n"),
        ("h: [y,\n  z  ]\n", "h: [y,\n  z, x]\n"),
        ("h:\n", "h: [x]\n"),
        ("h: []\n", "h: [x]\n"),
    ],
)
def test_a_list_grows_at_its_end(text: str, now: str) -> None:
    """However a list is written, one entry is added to it and nothing else is touched."""
    assert append(text, "h", "x", "f") == now


def test_what_cannot_be_changed_in_place_is_refused() -> None:
    """A text in which a comment hides the place is refused rather than damaged."""
    with pytest.raises(KeygenError, match="K340"):
        append("{h: [y # ]\n]}\n", "h", "x", "f")


@given(specimens())
def test_every_record_that_keygen_writes_can_be_changed(specimen: Specimen) -> None:
    """Whatever a record holds, an entry can be set and the history grows by one line at its end."""
    text = record.to_text(RULES, specimen)
    signed = put(text, ("analyst",), {"call": "A: b", "reason": "c"}, "x", "history")
    grown = append(signed, "history", {"what": "# d"}, "x")
    assert grown.startswith(signed.rstrip())
    assert parse(grown, "x", as_text=True).data["history"][-1] == {"what": "# d"}
    assert parse(signed, "x", as_text=True).data["analyst"] == {"call": "A: b", "reason": "c"}
