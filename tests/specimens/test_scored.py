"""Facts about what is scored for indices: in records and on the command line."""

from __future__ import annotations

import pytest

from keygen.core.model import Rules
from keygen.errors import KeygenError
from keygen.specimens.record import read_text, to_text
from keygen.specimens.scored import parse_score
from keygen.specimens.terms import Lexicon

SEGMENTS = "1 1 0.5 0 1 1 0.5 0 1 1 0.5 0 1 1 0.5 -"
RECORD = f"""\
keygen_record: 1
specimen: S-1
scored:
  tang_tip: round
  retouch_segments: {SEGMENTS}
material: chert
"""


def test_record_keeps_what_was_scored(rules: Rules) -> None:
    """Marks are read into the piece and written again as they were, in the rules' order."""
    specimen = read_text(Lexicon(rules), RECORD, "S-1.yaml")
    assert specimen.piece.details["retouch_segments"] == SEGMENTS
    text = to_text(rules, specimen)
    assert f'scored:\n  retouch_segments: "{SEGMENTS}"\n  tang_tip: round\n' in text
    assert to_text(rules, read_text(Lexicon(rules), text, "again")) == text


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("retouch_segments=1 1 0.5", "16 marks are wanted, not 3"),
        ("tang_tip=sharp", "'sharp' is not one of pointed, round, blunt"),
        ("tang_tips=round", "Did you mean 'tang_tip'?"),
        ("tang_tip", "Write it as in tang_tip=round."),
    ],
)
def test_unreadable_marks_are_refused(rules: Rules, text: str, words: str) -> None:
    """A wrong number of marks, an unknown mark and an unknown name each say what was expected."""
    with pytest.raises(KeygenError, match="K312") as caught:
        parse_score(rules, text)
    assert words in str(caught.value)


def test_faults_in_a_record_have_their_place(rules: Rules) -> None:
    """Marks that cannot be read are reported at their line of the record."""
    with pytest.raises(KeygenError) as caught:
        read_text(Lexicon(rules), RECORD.replace("round", "oval"), "S-1.yaml")
    (problem,) = caught.value.problems
    assert (problem.file, problem.line) == ("S-1.yaml", 4)


def test_alternatives_and_spaces(rules: Rules) -> None:
    """Several marks are joined by a comma; the space around is not kept."""
    assert parse_score(rules, " tang_tip =  round,blunt ") == ("tang_tip", "round,blunt")
