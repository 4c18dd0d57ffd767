"""A record changed on disk: only what is meant, with its history, and never half."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from keygen.errors import KeygenError
from keygen.specimens import amend, record
from keygen.specimens.amend import Who
from keygen.specimens.given import parse_set
from keygen.specimens.history import KeyCall
from keygen.specimens.terms import Lexicon
from tests.specimens.test_record import RULES

LEXICON = Lexicon(RULES)
BY_HAND = """\
# bag 4
keygen_record: 1
region: hills
observed:
  haft style: stemmed
  stem_shape: straight   # looked twice
  damage: [heat]
analyst: {call: Birch, reason: looks it, by: C. D., date: 2026-05-03}  # hm
history:
  - {what: "re-bagged", by: E. F.}   # written by hand
"""
WHO = Who("2026-06-01", "A. B.", "second look")
CALLS = [
    KeyCall("assigned", ("birch",), "hills", "0.1", "aaa"),
    KeyCall("untyped", (), "hills", "0.2", "bbb"),
    KeyCall("either", ("birch", "alder"), "hills", "0.2", "ccc"),
]


def changed(text: str, *sets: str, now: KeyCall | None = None, sign: str = "") -> str:
    """Return a record's text with observations, the key's call or an own call changed."""
    before = record.read_text(LEXICON, text, "x")
    after = before
    for words in sets:
        after = amend.observed(after, parse_set(LEXICON, words))
    own = amend.own_call(sign, "because", "A. B.", "2026-06-01")
    return amend.changed(LEXICON, text, before, after, now, own, WHO, "x")


def test_an_observation_is_changed_at_its_place() -> None:
    """One observation, its history, and nothing else: the comments and the order stay."""
    what = "stem_shape: straight -> straight, contracting"
    entry = f'  - {{date: "2026-06-01", by: A. B., what: "{what}", why: second look}}\n'
    now = "{states: [straight, contracting], how: unsure}   #"
    assert changed(BY_HAND, "stem_shape=contracting,straight") == (
        BY_HAND.replace("straight   #", now) + entry
    )


def test_what_was_signed_before_stays_in_the_history() -> None:
    """A second sign-off takes the place of the first, which the history keeps with its reason."""
    text = changed(BY_HAND, sign="Alder")
    assert '{call: Alder, reason: because, by: A. B., date: "2026-06-01"}  # hm' in text
    assert '"analyst: Birch (C. D., 2026-05-03: looks it) -> Alder"' in text.splitlines()[-1]


def test_nothing_to_change_changes_nothing() -> None:
    """The same observation and the same call leave the text and its history as they are."""
    kept = changed(BY_HAND, now=CALLS[0])
    assert changed(kept, "stem_shape=straight", now=CALLS[0]) == kept


def test_a_path_alone_is_written_out_before_it_is_changed() -> None:
    """Where the observations come from a path, all of them are kept when one is changed."""
    text = "keygen_record: 1\nregion: hills\npath: 1a 3a 6a 7b 8a 9a 11a\n"
    was = record.read_text(LEXICON, text, "x").piece.observations
    now = record.read_text(LEXICON, changed(text, "base_shape=?"), "x").piece.observations
    different = {i for i in was if was[i] != now.get(i)}
    assert was.keys() == now.keys()
    assert {RULES.attributes[i].id for i in different} == {"base_shape"}


def test_an_item_of_damage_is_told_with_the_rest() -> None:
    """Damage is one entry: what was found and what is found now are told whole."""
    assert '"damage: heat -> none"' in changed(BY_HAND, "damage=none").splitlines()[-1]


STEPS: list[Callable[[str], str]] = [
    *(lambda text, c=c: changed(text, now=c) for c in CALLS),
    *(
        lambda text, w=w: changed(text, w)
        for w in ("stem_shape=?", "damage=tip_snap", "base convex")
    ),
    *(lambda text, w=w: changed(text, sign=w) for w in ("Alder", "no: type", "# odd")),
]


@given(st.lists(st.sampled_from(range(len(STEPS))), max_size=8), st.sampled_from(["\n", "\r\n"]))
def test_nothing_is_ever_removed_from_a_history(which: list[int], line_end: str) -> None:
    """Whatever is changed and in whatever order, earlier entries stay, byte for byte and first."""
    text = BY_HAND.replace("\n", line_end)
    for i in which:
        before, text = text, STEPS[i](text)
        assert text.partition("history:")[2].startswith(before.partition("history:")[2])
    for line in BY_HAND.splitlines():
        assert line.partition("#")[2] in text


def test_a_mark_in_front_of_the_text_stays() -> None:
    """The mark that some editors put in front of a text is kept."""
    assert changed(amend.MARK + BY_HAND, sign="Alder").startswith(amend.MARK + "# bag 4")


def test_a_file_changed_meanwhile_is_left_alone(tmp_path: Path) -> None:
    """If somebody else wrote the record since it was read, it is not written over."""
    file = tmp_path / "x.yaml"
    file.write_text("theirs", encoding="utf-8")
    with pytest.raises(KeygenError, match="changed meanwhile"):
        amend.write(file, BY_HAND, "ours")
    assert file.read_text(encoding="utf-8") == "theirs"


def test_a_link_and_its_rights_stay(tmp_path: Path) -> None:
    """A record that is reached through a link is changed where it lies, with the rights it had."""
    file, link = tmp_path / "x.yaml", tmp_path / "link.yaml"
    file.write_bytes(BY_HAND.replace("\n", "\r\n").encode())
    file.chmod(0o640)
    link.symlink_to(file)
    text = amend.read(link)
    amend.write(link, text, text + "# more\r\n")
    assert link.is_symlink()
    assert file.read_bytes() == (BY_HAND.replace("\n", "\r\n") + "# more\r\n").encode()
    assert file.stat().st_mode & 0o777 == 0o640
