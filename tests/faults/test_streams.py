"""Streams that are closed, full or gone, Ctrl-C, and what stands where a file should."""

from __future__ import annotations

import os
import shlex
import subprocess
import sys
from pathlib import Path

import pytest

from keygen import __main__ as program
from keygen import cli
from tests.cli.conftest import ENVIRONMENT, PROGRAM, RECORD, SMALL, Run
from tests.collection import finds

COMMANDS = ("describe T-1.yaml", "key", "types", "check", "rerun T-1.yaml", "trace T-1.yaml")


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Work in a folder with a record, a table, a folder and empty rules."""
    monkeypatch.chdir(tmp_path)
    Path("T-1.yaml").write_text(RECORD, encoding="utf-8")
    finds.file(tmp_path)
    Path("folder").mkdir()
    return tmp_path


def piped(words: str, stdout: int, folder: Path) -> tuple[int, str]:
    """Run a command with its output led somewhere; return exit code and what stderr says."""
    line = [*PROGRAM, *shlex.split(words), *SMALL]
    environment = {**ENVIRONMENT, "PYTHONUNBUFFERED": ""}  # as a user has it
    ended = subprocess.run(
        line, env=environment, cwd=folder, stdout=stdout, stderr=subprocess.PIPE, text=True
    )
    return ended.returncode, ended.stderr


@pytest.mark.parametrize("words", ["describe T-1.yaml", "key", "table finds.csv -r hills --out -"])
def test_a_reader_that_went_away(here: Path, words: str) -> None:
    """Into a pipe that nobody reads, as in `| head -1`, a command ends quietly with code 0."""
    reader, writer = os.pipe()
    os.close(reader)
    code, told = piped(words, writer, here)
    os.close(writer)
    assert (code, "Traceback" in told) == (0, False)
    assert "roken" not in told


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="the system has no full device")
@pytest.mark.parametrize("words", ["describe T-1.yaml", "table finds.csv -r hills --out -"])
def test_output_without_room(here: Path, words: str) -> None:
    """Where the output finds no room a command says so and ends with code 2."""
    with Path("/dev/full").open("wb") as full:
        code, told = piped(words, full.fileno(), here)
    assert (code, "Traceback" in told, "ignored" in told) == (2, False, False)
    assert "no space left on device" in told


@pytest.mark.parametrize("name", ["stdin", "stdout", "stderr"])
def test_streams_that_are_closed(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """In place of a stream that the caller closed there is one that can be asked and written to."""
    monkeypatch.setattr(sys, name, None)
    monkeypatch.setattr(sys, "argv", ["keygen", "--version"])
    with pytest.raises(SystemExit):
        cli.main()
    stream = getattr(sys, name)
    assert not stream.isatty()
    assert stream.readable() if name == "stdin" else stream.write("x") == 1
    stream.close()


@pytest.mark.parametrize("words", COMMANDS)
def test_ctrl_c_while_a_command_works(
    run: Run, here: Path, words: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Interrupted at its work a command ends with code 130 and without a traceback."""

    def interrupted(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("keygen.rulebase.folder.read_folder", interrupted)
    monkeypatch.setattr("keygen.rulebase.load.read_folder", interrupted)
    result = run(*words.split())
    assert (result.exit_code, result.stdout, result.stderr) == (130, "", "")


def test_ctrl_c_while_the_program_is_loaded(monkeypatch: pytest.MonkeyPatch) -> None:
    """Interrupted before there is a command, the program ends with code 130 too."""

    def interrupted() -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(cli, "main", interrupted)
    with pytest.raises(SystemExit) as ended:
        program.main()
    assert ended.value.code == 130


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("key --out folder", "folder is a folder; give the name of a file"),
        ("key --as page --out no/page.html", "there is no folder"),
        ("key --out T-1.yaml", "T-1.yaml is a specimen record and is left as it is"),
        ("types --out T-1.yaml", "T-1.yaml is a specimen record and is left as it is"),
        ("types --out T-1.walk", "T-1.walk is the journal of a walk and is left as it is"),
        ("describe T-1.yaml --out T-1.walk", "T-1.walk is the journal of a walk"),
        ("agree folder finds.csv", "folder: K401: the folder holds no specimen record"),
        ("agree no.csv finds.csv", "no.csv: no such file or directory"),
        ("tabulate folder --by specimen", "folder: K401: the folder holds no specimen record"),
        ("tabulate no.csv --by specimen", "no.csv: no such file or directory"),
        (
            "tabulate finds.csv --by specimen -r hills --out finds.csv --force",
            "finds.csv is the file that is read; give --out another name",
        ),
        ("describe folder", "folder: is a directory"),
        ("rerun folder", "folder: is a directory"),
        ("trace no.yaml", "no.yaml: no such file or directory"),
        ("elsewhere folder", "folder: is a directory"),
        ("walk folder/x/T-2.yaml -r hills", "there is no folder folder/x"),
    ],
)
def test_what_stands_where_a_file_should(run: Run, here: Path, words: str, told: str) -> None:
    """Folders, missing files and somebody's own work are told and left as they are, with code 2."""
    Path("T-1.walk").write_text('{"keygen_walk": 1}\n', encoding="utf-8")
    before = {file: file.read_bytes() for file in here.iterdir() if file.is_file()}
    result = run(*words.split())
    assert (result.exit_code, result.stdout) == (2, "")
    assert told in result.stderr
    assert {file: file.read_bytes() for file in here.iterdir() if file.is_file()} == before


@pytest.mark.parametrize("words", ["check", "types", "key", "describe T-1.yaml"])
@pytest.mark.parametrize(
    ("rules", "told"),
    [
        ("no", "K003: no rules folder at no"),
        ("T-1.yaml", "K003: no rules folder at T-1.yaml"),
        ("folder", "folder: K003: neither whole rules"),
    ],
)
def test_rules_that_are_none(here: Path, words: str, rules: str, told: str) -> None:
    """A rules folder that is missing, a file, or empty is told, by every command."""
    from typer.testing import CliRunner

    arguments = [*words.split(), "--rules", rules]
    result = CliRunner().invoke(cli.app, arguments, prog_name="keygen")
    assert result.exit_code == (1 if words == "check" and rules == "folder" else 2)
    assert told in result.output


def test_a_folder_of_templates_far_too_large(run: Run, here: Path) -> None:
    """A slip in `--templates` is not followed into every folder below."""
    deep = here / "templates" / "a" / "b" / "c"
    deep.mkdir(parents=True)
    (deep / "far.j2").write_text("x", encoding="utf-8")
    (deep.parent / "near.j2").write_text("x", encoding="utf-8")
    told = run("table", "finds.csv", "--region", "hills", "--templates", "templates").stderr
    assert "near.j2: K605" in told
    assert "far.j2" not in told
