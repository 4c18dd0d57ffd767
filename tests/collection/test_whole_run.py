"""A run from a damaged table to its outputs, with the rules that ship."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest
from typer.testing import CliRunner

from keygen.cli import app
from tests.collection.corrupted import corrupted

ROWS = 800


@pytest.mark.parametrize("jobs", ["1", "2"])
def test_every_fault_is_found_and_every_good_row_described(tmp_path: Path, jobs: str) -> None:
    """With one row in fifty broken, each fault is told; all rows come out, bad ones marked."""
    text, faults = corrupted(ROWS, 5)
    table, out, listed = (tmp_path / name for name in ("in.csv", "out.csv", "problems.csv"))
    table.write_text(text, encoding="utf-8", newline="")
    options = ["--region", "ozarks", "--out", str(out), "--problems", str(listed), "--jobs", jobs]
    result = CliRunner().invoke(app, ["table", str(table), *options], prog_name="keygen")
    assert result.exit_code == 1
    found = list(csv.DictReader(io.StringIO(listed.read_text(encoding="utf-8"), newline="")))
    for fault in faults:
        told = [
            f"{line['found']} {line['what is wrong']} {line['what to do']}"
            for line in found
            if (line["row"], line["column"], line["grade"])
            == (str(fault.row), fault.column, fault.grade)
        ]
        assert any(fault.word in text for text in told), fault
    assert {int(line["row"]) for line in found} == {fault.row for fault in faults}
    with out.open(newline="", encoding="utf-8") as handle:
        rows = list(csv.DictReader(handle))
    assert len(rows) == ROWS
    marked = {number for number, row in enumerate(rows, 2) if row["faults"]}
    assert marked == {fault.row for fault in faults}
    assert all(row["description"] for row in rows if not row["faults"])
