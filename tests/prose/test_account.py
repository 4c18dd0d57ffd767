"""The reviewer's account: notes of the record, and the works that its text cites."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from keygen.core.examine import Piece, examine
from keygen.prose import REGISTERS, describe
from tests.prose.pieces import piece, rules

TAPERED: dict[str, Any] = {
    "haft_style": "stemmed",
    "stem_shape": "contracting",
    "base_shape": "rounded",
    "haft_grinding": "none",
}


def test_notes_stand_in_note_and_account() -> None:
    """What the analyst noted is handed on in note and account, on one line."""
    examination = examine(rules(), Piece("T-1", notes="Drawn,\nnot photographed"), "east")
    for register in REGISTERS:
        text = describe(rules(), examination, register)
        told = "Note in the record: Drawn, not photographed." in text
        assert told is (register in ("note", "account"))


def test_account_cites_works_under_the_years_of_its_text() -> None:
    """A letter that tells works of one year apart stands in text and works cited alike."""
    works = {**rules().sources}
    works["able1964b"] = replace(works["able1964"], key="able1964b")
    types = {n: replace(t, sources=("able1964b",)) for n, t in rules().types.items()}
    known = replace(rules(), types=types, sources=works)
    text = describe(known, examine(known, piece(**TAPERED), "east"), "account")
    assert "type Alder Stemmed: Able 1964b" in text
    assert "Able, Ann B. 1964b. An Invented Handbook." in text
    assert "Able, Ann B. 1964. An Invented Handbook." in text
