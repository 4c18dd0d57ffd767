"""Facts about indices as rules: loading, the cache, and what differs between two editions."""

from __future__ import annotations

from pathlib import Path

import pytest

from keygen.core.model import Rules
from keygen.rulebase.compare import compare
from keygen.rulebase.load import load
from tests.changed_rules import changed_rules
from tests.conftest import SMALL_RULES


def test_cache_keeps_every_index(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Rules from the cache have the same indices, questions, scores and cuts as from the files."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    first, again = load(SMALL_RULES), load(SMALL_RULES)
    assert list(tmp_path.rglob("rules-*.json"))
    assert again.indices == first.indices
    assert list(first.indices) == ["girth", "slimness", "heft", "nick_index", "code"]
    assert (again.questions, again.scored, again.cuts) == (
        first.questions,
        first.scored,
        first.cuts,
    )


def test_rules_without_indices_load(tmp_path: Path) -> None:
    """A rules folder without the file has no indices, and is read all the same."""
    folder = changed_rules(tmp_path / "rules")
    (folder / "indices.yaml").unlink()
    assert not load(folder).indices


def test_a_moved_limit_is_a_difference(tmp_path: Path, small_rules: Rules) -> None:
    """Two editions side by side show which number of which index changed, and nothing else."""
    newer = load(
        changed_rules(tmp_path / "rules", ("indices.yaml", "{to: 20, says", "{to: 21, says"))
    )
    (difference,) = compare(small_rules, newer).differences
    assert (difference.section, difference.id, difference.change) == ("indices", "girth", "changed")
    (field,) = difference.fields
    assert (field.name, field.was, field.now) == ("zones 1 high", "20", "21")


def test_every_shipped_number_has_a_ground(rules: Rules) -> None:
    """What decides anything names its basis, and what was not read says how surely it is known."""
    for index in rules.indices.values():
        assert bool(index.numbers) == bool(index.zones or index.groups or index.characters)
        for ground in index.grounds:
            if ground.basis != "common":
                assert ground.sources, index.id
                assert ground.seen, index.id
        if index.question:
            assert index.limits, index.id
