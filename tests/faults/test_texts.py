"""Classes of bad input in text: each is refused with its place, or costs no more than its row."""

from __future__ import annotations

import os
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from keygen.collection import batch
from keygen.collection.columns import plan
from keygen.collection.result import Results
from keygen.collection.sources import open_table
from keygen.core.model import Rules
from keygen.errors import KeygenError
from keygen.specimens import path, record
from keygen.specimens.terms import Lexicon
from tests.cli.conftest import Run

SECONDS = 2.0  # of processor time, for any input
HEAD = "keygen_record: 1\n"


@pytest.fixture(autouse=True)
def _soon() -> Iterator[None]:
    """Let no input here take long."""
    begun = time.process_time()
    yield
    assert time.process_time() - begun < SECONDS


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("notes: &a x\nmaterial: *a\n", ":2:8: K001: anchors and aliases"),
        ("notes: [&a [x, x], *a, *a]\n", ":2:9: K001: anchors and aliases"),
        ("notes: " + "[" * 60 + "]" * 60, ":2:48: K001: nested too deeply"),
        ("notes: " + "[" * 100_000, "K001: not readable as YAML: exceeded maximum nesting depth"),
        ("notes: {" + "a: {" * 50 + "}" * 51, "K001: nested too deeply"),
        ("notes: a\0b\n", ":2:9: K001: not readable as YAML: the character U+0000"),
        ('notes: "a\\0b"\n', ":2:8: K001: the hidden character U+0000"),
        ("notes: a\u202eb\n", ":2:8: K001: the hidden character U+202E"),
        ("notes: a\u200fb\n", ":2:8: K001: the hidden character U+200F"),
        ("notes: a\ud800b\n", ":2:9: K001: not text: half of a character"),
        ("notes: a\nnotes: b\n", ":3:1: K001: the key 'notes' is written twice"),
        ("notes: !!python/name:os.system x\n", ":2:8: K001: the tag"),
        ("measurements: {length: 1e400}\n", ":2:24: K312: length: '1e400' is not a measurement"),
        ("date: 9999-99-99\n", ":2:7: K302: '9999-99-99' is not a day of the calendar"),
        ("date: 0000-00-00\n", ":2:7: K302"),
        ("".join(f"k{n}: x\n" for n in range(20_000)), ":1:1: K001: more than 5,000 entries"),
        ("notes: " + "x " * 600_000, "K001: longer than 1,048,576 characters"),
        ("observed: {stem_shape: 'straight" + " " * 200_000 + "x'}", ":2:24: K311"),
        ("---\na: b\n---\nc: d\n", "K001"),
    ],
)
def test_records_of_malice(rules: Rules, text: str, told: str) -> None:
    """A record of malice is refused with what is wrong and where."""
    with pytest.raises(KeygenError) as caught:
        record.read_text(Lexicon(rules), HEAD + text, "r")
    assert len(caught.value.problems) == 1
    assert f"r{told}" in str(caught.value) or told in str(caught.value)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("9" * 5_000 + "a", "path:1:1: K320"),
        ("1a " * 200_000, "path:1:4: K322: at '1a': couplet 1 has been answered already"),
        ("\u0661a", "path:1:1: K320"),
        ("stem_shape=" + "straight/" * 50_000 + "wavy", "path:1:1: K311"),
        ("1a\u202e 3b", "path:1:1: K320"),
    ],
)
def test_paths_of_malice(rules: Rules, text: str, told: str) -> None:
    """A path of any length is read or refused at once, with its column."""
    with pytest.raises(KeygenError) as caught:
        path.read(Lexicon(rules), text)
    assert str(caught.value).startswith(told)


def described(folder: Path, rules: Rules, content: bytes) -> list[dict[str, str]]:
    """Return what is written of the rows of a table."""
    file = folder / "t.csv"
    file.write_bytes(content)
    table = open_table(str(file), rules)
    planned, _ = plan(rules, table.header, None, "ozarks")
    results = Results(planned, "report", None, False)
    rows = batch.described(planned, results, table.rows)
    return [dict(zip(results.headings, cells, strict=True)) for cells in rows]


GOOD = b"\nb,straight,chert\n"


@pytest.mark.parametrize(
    ("cell", "told"),
    [
        (b"x" * 10_000_000, "a cell of 10,000,000 characters is not read"),
        (b'"' + b"x" * 10_000_000 + b'"', "a cell of 10,000,00"),
        (b'"straight', "a quotation mark is not closed"),
        (b"stra\0ight", "NUL characters in the cell are left out"),
        (b"stra\xe9ght\xff", "read as Windows-1252"),
        (b"9" * 5_000, "is not a state of stem_shape"),
        (b"straight/" * 3_000, ""),
        (b"straight" + b" " * 32_000 + b"x", "is not a state of stem_shape"),
        (b"straight" + b",y" * 100_000, "cells, the header 3"),
        (b"\xe2\x80\xaestraight", "stem_shape"),
    ],
)
def test_a_cell_of_malice_costs_its_row(
    tmp_path: Path, rules: Rules, cell: bytes, told: str
) -> None:
    """Whatever stands in a cell, it is told at its row, and the next row is read."""
    first = b"specimen,stem_shape,material\n" + "c,,d\u00e9j\u00e0\n".encode() * 3
    rows = described(tmp_path, rules, first + b"a," + cell + GOOD)
    assert told in rows[-2]["faults"]
    assert rows[0]["specimen"] == "c"
    assert rows[0]["material"] == "d\u00e9j\u00e0"
    assert rows[-1]["specimen"] == "b"
    assert "The stem is straight" in rows[-1]["description"]


def test_two_quotation_marks_far_apart(tmp_path: Path, rules: Rules) -> None:
    """A mark that is never closed costs its own row, though another stands far below it."""
    good = b"good,straight,chert\n" * 600
    table = b'specimen,stem_shape,material\na,"straight,chert\n' + good + b'b,straight",chert\n'
    rows = described(tmp_path, rules, table)
    assert [row["specimen"] for row in rows] == ["a", *["good"] * 600, "b"]
    assert "a quotation mark is not closed" in rows[0]["faults"]


@pytest.mark.parametrize(
    "text", ["9" * 32_000 + "!", "1" + " " * 32_000 + "x", "1" + "m" * 32_000 + "!"]
)
def test_a_figure_without_end(tmp_path: Path, rules: Rules, text: str) -> None:
    """A figure as long as a cell can be is no figure, in a table and in a record."""
    head = b"specimen,stem_shape,length\n"
    rows = described(tmp_path, rules, head + b"a,," + text.encode() + b"\nb,straight,4\n")
    assert "is no figure" in rows[0]["faults"] or "not a measurement" in rows[0]["faults"]
    assert "The stem is straight" in rows[1]["description"]
    with pytest.raises(KeygenError, match="r:2:24: K312"):
        record.read_text(Lexicon(rules), f"{HEAD}measurements: {{length: {text}}}\n", "r")


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"stem_shape" + b",x" * 100_000 + b"\n", "t.csv:1: K401: the header has 100,001 columns"),
        (b"stem_shape,x\n" + b"a" * 17_000_000, "t.csv:2: K401: a line of more than 16,777,216"),
    ],
)
def test_tables_of_malice(tmp_path: Path, rules: Rules, content: bytes, told: str) -> None:
    """A table too wide or with a line too long to be held is refused with its place."""
    with pytest.raises(KeygenError) as caught:
        described(tmp_path, rules, content)
    assert str(caught.value).startswith(f"{tmp_path}/{told}")


@pytest.mark.parametrize(
    ("number", "name"),
    [
        ("../../x", "x.yaml"),
        ("/etc/passwd", "etc-passwd.yaml"),
        ("..\\x", "x.yaml"),
        ("CON", "CON-.yaml"),
        ("aux.txt", "aux-.txt.yaml"),
        ("a\u202eb", "a-b.yaml"),
        ("x" * 400, "x" * 80 + ".yaml"),
        (".hidden", "hidden.yaml"),
    ],
)
def test_numbers_that_name_files(run: Run, tmp_path: Path, number: str, name: str) -> None:
    """A specimen's number names a file within the folder, whatever it looks like."""
    (tmp_path / "deep" / "er").mkdir(parents=True)
    table = tmp_path / "deep" / "t.csv"
    table.write_text(f'specimen,stem_shape\n"{number}",straight\n', encoding="utf-8")
    folder = tmp_path / "deep" / "er" / "records"
    run("table", table, "--region", "hills", "--records", folder)
    found = [file for file in tmp_path.rglob("*") if file.is_file()]
    assert {file.relative_to(tmp_path).as_posix() for file in found} == {
        "deep/t.csv",
        f"deep/er/records/{name}",
    }


@pytest.mark.parametrize("number", ["../../x", "/etc/x", "..", "a/b"])
def test_numbers_that_name_walks(
    run: Run, tmp_path: Path, number: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A walk named after its specimen stays in the folder where it was begun."""
    (tmp_path / "in").mkdir()
    monkeypatch.chdir(tmp_path / "in")
    run("walk", "-r", "hills", typed=f"{number}\n")
    assert [file.parent for file in tmp_path.rglob("*.walk")] == [tmp_path / "in"]


def test_links_as_inputs(run: Run, tmp_path: Path) -> None:
    """A table through a link is the table itself, and is not written over under another name."""
    table, link = tmp_path / "t.csv", tmp_path / "link.csv"
    table.write_text("specimen,stem_shape\na,straight\n", encoding="utf-8")
    link.symlink_to(table)
    before = table.read_bytes()
    result = run("table", link, "--region", "hills", "--out", table, "--force")
    assert result.exit_code == 2
    assert "is read, or written twice" in result.stderr
    assert table.read_bytes() == before
    (tmp_path / "loop.csv").symlink_to(tmp_path / "loop.csv")
    result = run("table", tmp_path / "loop.csv", "--region", "hills")
    assert (result.exit_code, "Traceback" in result.stderr) == (2, False)
    os.mkfifo(tmp_path / "pipe.csv")
    result = run("table", table, "--region", "hills", "--out", tmp_path / "pipe.csv", "--force")
    assert "is not an ordinary file" in result.stderr
