"""`keygen table`: files that are there, bad use, processes, terminals, and interrupted runs."""

from __future__ import annotations

import csv
import re
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pexpect
import pytest

from keygen.collection import work
from tests.cli.conftest import ENVIRONMENT, PROGRAM, SMALL, Run
from tests.collection import finds

REGION = ("--region", "hills")


@pytest.fixture
def table(tmp_path: Path) -> Path:
    """Return the sample table as a file."""
    return finds.file(tmp_path)


def names(folder: Path) -> list[str]:
    """Return the names in a folder."""
    return sorted(path.name for path in folder.iterdir())


def test_a_file_that_is_there_is_kept(run: Run, table: Path) -> None:
    """Only `--force` replaces a file, and nothing at all is written without it."""
    old = table.with_name("old.csv")
    old.write_text("old", encoding="utf-8")
    result = run("table", table, *REGION, "--out", table.with_name("new.csv"), "--out", old)
    assert result.exit_code == 2
    assert "old.csv exists and is left as it is; give another name, or --force" in result.stderr
    assert names(table.parent) == ["finds.csv", "old.csv"]
    assert run("table", table, *REGION, "--out", old, "--force").exit_code == 1
    with old.open(newline="", encoding="utf-8") as handle:
        assert next(csv.DictReader(handle))["Specimen"] == "T-1"


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("{t}", "--out", "{t}", "--force"), "is read, or written twice"),
        (("{t}", "--out", "x.ods"), "no format has the ending '.ods'"),
        (("{t}", "--out", "x.cvs"), "Did you mean '.csv'?"),
        (("{t}", "--out", "x.csv", "--problems", "x.csv"), "is read, or written twice"),
        (("{t}", "--out", "-", "--out", "-.jsonl"), "only one --out can be standard output"),
        (("{t}", "--out", "-", "--format", "json"), "both want standard output"),
        (("{t}", "--out", "no/x.csv"), "there is no folder"),
        (("{t}", "--region", "hils"), "Did you mean 'hills'?"),
        (("{t}", "--mapping", "no.yaml"), "no.yaml: no such file or directory"),
        (("{t}", "--jobs", "0"), "0 is not in the range"),
        (("no.csv",), "no.csv: no such file or directory"),
        (("{t}", "--templates", "no"), "there is no such folder of templates"),
    ],
)
def test_bad_use_is_explained(
    run: Run, table: Path, arguments: tuple[str, ...], message: str
) -> None:
    """Bad use ends with exit code 2 and a message, before anything is written."""
    before = table.read_bytes()
    result = run("table", *(text.replace("{t}", str(table)) for text in arguments))
    assert (result.exit_code, result.stdout) == (2, "")
    assert message in result.stderr
    assert table.read_bytes() == before
    assert names(table.parent) == ["finds.csv"]


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
@pytest.mark.parametrize("jobs", ["1", "2"])
def test_an_interrupted_run_leaves_all_as_it_was(
    tmp_path: Path, number: signal.Signals, jobs: str
) -> None:
    """Stopped half way, the old file is whole, no other is there, and the exit code is 130."""
    table, old = finds.file(tmp_path, finds.many(200_000)), tmp_path / "old.csv"
    old.write_text("old", encoding="utf-8")
    outs = ("--out", str(old), "--out", str(tmp_path / "new.jsonl"), "--records")
    options = (*SMALL, *REGION, *outs, str(tmp_path / "r"), "--force", "--jobs", jobs)
    process = subprocess.Popen(
        [*PROGRAM, "table", str(table), *options],
        env=ENVIRONMENT,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    _wait_for_half_a_file(tmp_path, process)
    process.send_signal(number)
    _, told = process.communicate(timeout=60)
    assert process.returncode == 130
    assert "Traceback" not in told
    assert old.read_text(encoding="utf-8") == "old"
    assert names(tmp_path) == ["finds.csv", "old.csv"]


def _wait_for_half_a_file(folder: Path, process: subprocess.Popen[Any]) -> None:
    begun = time.monotonic()
    while not any(path.stat().st_size > 100_000 for path in folder.glob(".new.jsonl.*")):
        assert process.poll() is None
        assert time.monotonic() - begun < 60
        time.sleep(0.02)


def test_several_processes_write_the_same_bytes(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """`--jobs` changes no byte of any output, nor a line of what is said."""
    monkeypatch.setattr(work, "CHUNK", 30)
    table = finds.file(tmp_path, finds.many(200))
    told = []
    for jobs in ("1", "2"):
        folder = tmp_path / jobs
        folder.mkdir()
        outs = [x for s in ("csv", "xlsx", "jsonl", "md") for x in ("--out", folder / f"o.{s}")]
        more = ("--records", folder / "r", "--problems", folder / "p.csv", "--jobs", jobs)
        result = run("table", table, *REGION, *outs, *more)
        assert result.exit_code == 1
        told.append((result.stdout, result.stderr.replace(str(folder), "")))
    assert told[0] == told[1]
    one, two = (
        {p.relative_to(tmp_path / jobs): p.read_bytes() for p in (tmp_path / jobs).rglob("*.*")}
        for jobs in ("1", "2")
    )
    assert len(one) == 200 + 5
    assert one == two


@pytest.mark.parametrize("name", ["finds.csv", "records"])
def test_a_bar_shows_progress_at_a_terminal(run: Run, table: Path, name: str) -> None:
    """At a terminal a bar is shown, whether the end is known beforehand or not."""
    run("table", table, *REGION, "--records", table.parent / "records")
    words = ["-m", "keygen", "table", str(table.parent / name), *SMALL, *REGION]
    child = pexpect.spawn(sys.executable, words, env=ENVIRONMENT, encoding="utf-8", timeout=60)
    child.expect(pexpect.EOF)
    child.close()
    assert child.exitstatus == 1
    shown = child.before or ""
    assert re.search(r"\[[-#]+\]", shown)
    assert "4 rows: 2 assigned" in shown


@pytest.mark.parametrize(("out", "first"), [("-", "Specimen,"), ("-.jsonl", '{"row": 2')])
def test_standard_output(run: Run, table: Path, out: str, first: str) -> None:
    """`--out -` prints the table, and the summary goes to stderr."""
    result = run("table", table, *REGION, "--out", out)
    assert result.stdout.startswith(first)
    assert "4 rows: 2 assigned" not in result.stdout
    assert "4 rows: 2 assigned" in result.stderr


def test_a_table_comes_from_standard_input(table: Path) -> None:
    """A dash reads a table from standard input, in a pipe and without a bar."""
    command = [*PROGRAM, "table", "-", *SMALL, *REGION, "--out", "-"]
    result = subprocess.run(command, input=table.read_bytes(), capture_output=True, env=ENVIRONMENT)
    assert result.returncode == 1
    assert result.stdout.count(b"Alder Stemmed") > 2
    assert b"#" not in result.stderr
