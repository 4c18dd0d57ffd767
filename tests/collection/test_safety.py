"""Cells that a spreadsheet program could evaluate, and characters that no cell can show."""

from __future__ import annotations

import csv
import io
import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from keygen.collection import as_csv, as_jsonl
from keygen.collection.safety import live, marked, shown, unmarked

LIVE = [
    "=1+1",
    "+1+1",
    "-1+1",
    "@SUM(A1)",
    "\t=1+1",
    "\tx",
    "\r=1+1",
    "\nx",
    "  =1+1",
    "\u00a0=1+1",
    "\u200b=1+1",
    '"=1+1"',
    "'=1+1",
    "\u201c=1+1",
    "\uff1d1+1",
    "\uff0b1",
    "\uff0d1",
    "\uff20x",
    "-5.3",
    "+3",
    "\u22125",
]


@pytest.mark.parametrize("text", LIVE)
def test_what_could_be_a_formula_is_marked_and_comes_back(text: str) -> None:
    """A live cell gets an apostrophe in front, and reading takes it off."""
    assert live(text)
    assert marked(text) == "'" + text
    assert unmarked("'" + text) == text


@pytest.mark.parametrize("text", ["", "34.2", "Gary", "a=b", "x-1", "'tis", "1 + 1", "a@b", "(5)"])
def test_ordinary_text_is_left_alone(text: str) -> None:
    """What does not begin like a formula stays as it is."""
    assert marked(text) == unmarked(text) == text


@given(st.text())
def test_a_mark_is_never_taken_for_text_nor_text_for_a_mark(text: str) -> None:
    """Whatever a cell holds, marking and unmarking give it back."""
    assert unmarked(marked(text)) == text


def test_unshown_characters_are_written_out() -> None:
    """Control characters and halves of a pair become visible; tab and line breaks stay."""
    text = "a\x00b\x1bc\ud83dd\ufffee\tf\ng"
    assert shown(text) == "a\\x00b\\x1bc\\ud83dd\\ufffee\tf\ng"


def _read(data: bytes) -> list[list[str]]:
    return list(csv.reader(io.StringIO(data.decode("utf-8"), newline="")))


@given(st.lists(st.lists(st.text(), min_size=2, max_size=5), min_size=1, max_size=4))
def test_csv_reads_back(rows: list[list[str]]) -> None:
    """Python's reader gets every cell back, marked and with odd characters written out."""
    assert _read(as_csv.encode(rows)) == [[shown(marked(cell)) for cell in row] for row in rows]


@pytest.mark.parametrize("text", LIVE)
def test_no_cell_of_a_csv_begins_like_a_formula(text: str) -> None:
    """In the file as another program reads it, no cell begins with a sign of a formula."""
    ((_, cell),) = _read(as_csv.encode([["x", text]]))
    assert cell[0] == "'"


def test_csv_quotes_only_where_it_is_needed() -> None:
    """Commas, quotes and line breaks are quoted, nothing else is."""
    row = ["plain", "a,b", 'say "x"', "two\nlines", "Zoë 5 °"]
    assert as_csv.encode([row]) == 'plain,"a,b","say ""x""","two\nlines",Zoë 5 °\n'.encode()


@given(st.text())
def test_json_lines_keep_text_exactly(text: str) -> None:
    """JSON Lines need no marks: one line an object, and every text comes back as it was."""
    for cell in (text, "\ud800 half"):
        (line, end) = as_jsonl.encode({"cell": cell}).decode("utf-8").split("\n")
        assert json.loads(line) == {"cell": cell}
        assert end == ""
