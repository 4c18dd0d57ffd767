"""XLSX output, read back with another program's reader."""

from __future__ import annotations

from pathlib import Path

import openpyxl
import pytest

from keygen.collection import as_xlsx
from keygen.collection.as_xlsx import CUT, LONGEST, Workbook
from keygen.errors import KeygenError
from tests.collection.test_safety import LIVE


def _written(file: Path, rows: list[tuple[str, ...]]) -> Workbook:
    with Workbook(file, ("number", "notes")) as book:
        book.add(rows)
    return book


def _read(file: Path) -> list[list[tuple[object, str]]]:
    sheet = openpyxl.load_workbook(file).active
    assert sheet is not None
    return [[(cell.value, cell.data_type) for cell in row] for row in sheet.iter_rows()]


def test_every_cell_is_text(tmp_path: Path) -> None:
    """No cell is a formula or a number: what looks like one is read back as the same text."""
    file = tmp_path / "x.xlsx"
    _written(file, [(str(i), text) for i, text in enumerate(LIVE)])
    for (number, notes), text in zip(_read(file)[1:], LIVE, strict=True):
        assert (number[1], notes[1]) == ("s", "s")
        assert str(notes[0]).strip() == text.replace("\r", "\n").strip()


def test_what_looks_like_a_formula_is_quoted(tmp_path: Path) -> None:
    """A cell that looks like a formula stays text when somebody edits it."""
    file = tmp_path / "x.xlsx"
    _written(file, [("=1+1", "plain")])
    sheet = openpyxl.load_workbook(file).active
    assert sheet is not None
    assert sheet["A2"].quotePrefix
    assert not sheet["B2"].quotePrefix


def test_characters_that_xml_cannot_hold_are_written_out(tmp_path: Path) -> None:
    """Control characters and halves of a pair do not spoil the file."""
    file = tmp_path / "x.xlsx"
    _written(file, [("a\x00\x1b", "\ud800")])
    assert [value for value, _ in _read(file)[1]] == ["a\\x00\\x1b", "\\ud800"]


def test_a_cell_that_is_too_long_is_cut_and_told(tmp_path: Path) -> None:
    """A cell over Excel's 32,767 UTF-16 units is cut with a mark at its end; one at it is whole."""
    file = tmp_path / "x.xlsx"
    book = _written(file, [("x" * LONGEST, "y" * (LONGEST + 1)), ("\U0001f5ff" * 20_000, "")])
    (whole, _), (cut, _) = _read(file)[1]
    assert whole == "x" * LONGEST
    assert len(str(cut)) == LONGEST
    assert str(cut).endswith(CUT)
    assert book.cut == [(2, "notes"), (3, "number")]


def test_more_rows_than_a_sheet_holds_are_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The row after the last one that a sheet holds is an error that names the limit."""
    monkeypatch.setattr(as_xlsx, "MOST_ROWS", 3)
    _written(tmp_path / "x.xlsx", [("1", ""), ("2", "")])
    with pytest.raises(KeygenError, match="a sheet of XLSX holds 2 rows"):
        _written(tmp_path / "y.xlsx", [("1", ""), ("2", ""), ("3", "")])


def test_the_same_rows_give_the_same_bytes(tmp_path: Path) -> None:
    """A workbook holds nothing of the moment at which it was made."""
    for name in ("a.xlsx", "b.xlsx"):
        _written(tmp_path / name, [("1", "x")])
    assert (tmp_path / "a.xlsx").read_bytes() == (tmp_path / "b.xlsx").read_bytes()
