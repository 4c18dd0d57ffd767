"""Records, options and paths of an older edition read with ids that have been renamed since."""

from __future__ import annotations

from pathlib import Path

import pytest

from keygen.core.model import Rules
from keygen.rulebase.check import check
from keygen.rulebase.folder import read_folder
from keygen.rulebase.load import load
from keygen.specimens import path, record
from keygen.specimens.given import parse_set
from keygen.specimens.terms import Lexicon
from tests.changed_rules import changed_rules

RENAMED = (
    (
        "vocabulary/haft.yaml",
        "    label: stem shape\n",
        "    label: stem shape\n    aliases: [peg]\n",
    ),
    ("vocabulary/haft.yaml", "also: [tapering]", "aliases: [narrowed], also: [tapering]"),
    (
        "vocabulary/condition.yaml",
        "    label: damage\n",
        "    label: damage\n    aliases: [harm]\n",
    ),
    ("vocabulary/condition.yaml", "term: heat damage,", "term: heat damage, aliases: [scorched],"),
    ("key/haft.yaml", "    number: 8\n", "    number: 8\n    aliases: [stem_tapers]\n"),
)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the small rules after ids were renamed."""
    return changed_rules(tmp_path_factory.mktemp("rules") / "new", *RENAMED)


@pytest.fixture(scope="module")
def lexicon(folder: Path) -> Lexicon:
    """Return the words of these rules."""
    return Lexicon(load(folder))


def test_rules_with_aliases_are_sound(folder: Path) -> None:
    """Aliases that lead to one thing each pass the check."""
    assert check(read_folder(folder))[0] == []


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("peg=narrowed", "stem_shape=contracting"),
        ("Peg=straight,narrowed", "stem_shape=straight,contracting"),
        ("harm=scorched", "damage=heat"),
        ("harm=none", "damage=none"),
        ("damage.scorched=present", "damage.heat=present"),
        ("harm.scorched=present", "damage.heat=present"),
        ("narrowed", "tapering"),
    ],
)
def test_options_read_with_old_ids(lexicon: Lexicon, old: str, new: str) -> None:
    """`--set` understands the ids of an older edition."""
    assert parse_set(lexicon, old) == parse_set(lexicon, new)


def test_paths_read_with_old_ids(lexicon: Lexicon) -> None:
    """A path with the terms of an older edition leads where it led."""
    old = path.read(lexicon, "1a harm.scorched=present harm.tip_snap=absent peg=narrowed 9a")
    new = path.read(
        lexicon, "1a damage.heat=present damage.tip_snap=absent stem_shape=contracting 9a"
    )
    assert old == new


def test_records_read_with_old_ids(lexicon: Lexicon) -> None:
    """A record keeps its meaning under renamed attributes, states, items and couplets."""
    old = """\
keygen_record: 1
observed:
  peg: {states: [straight, narrowed], how: unsure, at: [stem_tapers, not_known]}
  harm: {states: [none], unsure: [scorched]}
"""
    names = {"peg": "stem_shape", "narrowed": "contracting", "stem_tapers": "stem_draws_in"}
    new = old
    for was, now in {**names, "harm": "damage", "scorched": "heat"}.items():
        new = new.replace(was, now)
    read = record.read_text(lexicon, old, "x").piece
    assert read == record.read_text(lexicon, new, "x").piece
    found = read.observations[lexicon.rules.index["stem_shape"]]
    assert found.at == ("stem_draws_in", "not_known")


def test_rules_speak_only_the_present_ids(folder: Path, tmp_path: Path, small_rules: Rules) -> None:
    """An alias is for what was written before; the rules themselves name things as they are now."""
    assert small_rules.index["stem_shape"] == load(folder).index["stem_shape"]
    files = read_folder(folder)
    files["types/alder.yaml"] = files["types/alder.yaml"].replace(b"stem_shape", b"peg")
    assert "the attribute 'peg' is not known" in str(check(files)[0][0])
