"""A portion of `python -m tests.bench.fuzz`, and whatever Hypothesis finds to say."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from keygen.core.model import Rules
from keygen.errors import KeygenError
from keygen.rulebase.yamlio import parse
from keygen.specimens import path, record
from keygen.specimens.terms import Lexicon
from tests.bench.fuzz import attempt
from tests.collection.test_sources import opened
from tests.faults.tried import KINDS, Bench

EACH = 15


@pytest.mark.parametrize("kind", KINDS)
def test_changed_files(kind: str, rules: Rules, tmp_path: Path) -> None:
    """A real file changed at random is read or refused: no traceback, and no input over 2 s."""
    bench = Bench(rules, tmp_path)
    ends = {seed: attempt(bench, kind, f"{kind} {seed}") for seed in range(EACH)}
    assert {seed: end for seed, end in ends.items() if end not in ("read", "refused")} == {}


def refusal(reader: Callable[[], object]) -> str | None:
    """Return why something is refused; nothing if it is read."""
    try:
        reader()
    except KeygenError as error:
        return str(error)
    return None


@given(st.text(max_size=60))
@settings(max_examples=60)
def test_any_text(rules: Rules, text: str) -> None:
    """Any text is a path, a value, a record or none of them, and that is said in words."""
    lexicon = Lexicon(rules)
    for reader in (
        lambda: path.read(lexicon, text),
        lambda: parse(text, "t"),
        lambda: lexicon.find(text),
        lambda: record.read_text(lexicon, f"keygen_record: 1\nnotes: {text}\n", "r"),
        lambda: record.read_text(lexicon, f"keygen_record: 1\nobserved: {{{text}}}\n", "r"),
    ):
        assert refusal(reader) != ""


@given(st.binary(max_size=200))
@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_bytes(rules: Rules, tmp_path: Path, content: bytes) -> None:
    """Any bytes are a table or none, and every row that is read has the header's width."""

    def read() -> None:
        table = opened(tmp_path, content, rules)
        assert {len(row.cells) for row in table.rows} <= {len(table.header)}

    assert (refusal(read) or str(tmp_path)).startswith(str(tmp_path))
