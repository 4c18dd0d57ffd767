"""Facts about eye against measurement: told in the record, on judging again, and to a reviewer."""

from __future__ import annotations

from pathlib import Path

from keygen.core.model import Rules
from keygen.prose.account import account
from keygen.prose.trace import trace
from keygen.specimens import record
from keygen.specimens.rerun import rerun
from keygen.specimens.terms import Lexicon

TEXT = """\
keygen_record: 1
specimen: T-8
region: hills
observed: {haft_style: stemmed, stem_shape: contracting, base_shape: straight}
measurements: {base_width: 20.0, neck_width: 12.0}
"""
OTHERWISE = ("stem_shape=expanding",)


def read(rules: Rules, text: str = TEXT) -> record.Specimen:
    """Read the record above, or another text."""
    return record.read_text(Lexicon(rules), text, "T-8.yaml")


def test_stands_in_the_record(small_rules: Rules, tmp_path: Path) -> None:
    """The record keeps what was measured otherwise with the call, and reads it back."""
    made = record.judged(small_rules, read(small_rules))
    assert made.key_call is not None
    assert made.key_call.measured_otherwise == OTHERWISE
    record.save(small_rules, made, tmp_path / "T-8.yaml")
    again = record.load(Lexicon(small_rules), tmp_path / "T-8.yaml")
    assert again.key_call == made.key_call


def test_agreement_adds_nothing(small_rules: Rules) -> None:
    """Where eye and measurement agree nothing is written of it."""
    text = TEXT.replace("base_width: 20.0", "base_width: 9.0")
    made = record.judged(small_rules, read(small_rules, text))
    assert "measured_otherwise" not in record.to_text(small_rules, made)


def test_told_when_judged_again(small_rules: Rules) -> None:
    """Judging a record again says that the eye was followed against the measurement."""
    found = rerun(small_rules, read(small_rules), "hills")
    assert any("measurement says otherwise: stem_shape=expanding" in note for note in found.notes)


def test_told_in_trace_and_account(small_rules: Rules) -> None:
    """Trace and account name both states and the rule; the eye's state decides the call."""
    made = record.examined(small_rules, read(small_rules).piece, "hills")
    told = trace(small_rules, made)
    assert "stem shape: contracting by eye, expanding by rule stem_by_ratio" in told
    lines = account(small_rules, made).splitlines()
    sentence = next(i for i, line in enumerate(lines) if "By eye the stem is contracting" in line)
    assert "makes it expanding" in lines[sentence]
    assert any(
        "rule stem_by_ratio: limits made up" in line for line in lines[sentence : sentence + 3]
    )
    assert made.call is not None
    assert "birch" not in made.call.types  # parallel-sided, as nobody saw it
