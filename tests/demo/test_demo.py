"""`keygen demo`: what it prints, what it writes, and what it leaves alone."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from keygen.cli import app
from keygen.cli.demo import MARK, records
from keygen.core.examine import Examination

Demo = Callable[..., Any]


@pytest.fixture
def demo(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Demo:
    """Return a function that runs `keygen demo` in an empty folder."""
    monkeypatch.chdir(tmp_path)

    def invoke(*arguments: str) -> Any:
        return CliRunner().invoke(app, ["demo", *arguments], prog_name="keygen")

    return invoke


def test_prints_and_writes(demo: Demo, survey: Mapping[str, Examination]) -> None:
    """It says that all is invented, describes every specimen and writes report and records."""
    result = demo()
    assert result.exit_code == 0
    assert "The Vellamoor Survey is invented" in result.stdout
    folder = Path("keygen-demo")
    report = (folder / "report.md").read_text(encoding="utf-8")
    for number in survey:
        assert f"Specimen {number} is a" in result.stdout
        assert f"### {number}\n" in report
    assert {file.name for file in folder.iterdir()} == {
        *("report.md", "report.html", "finds.csv", "second-observer.csv"),
        *records(),
    }
    page = (folder / "report.html").read_text(encoding="utf-8")
    assert page.startswith(f"{MARK}<!DOCTYPE html>")
    assert "The Vellamoor Survey is invented" in page
    assert max(map(len, result.stdout.splitlines())) <= 88


def test_talk_stays_off_the_results(demo: Demo) -> None:
    """What was written and what to try next are told on stderr."""
    result = demo("--out", "try it")
    assert "report.html, 16 records and 2 tables written" in result.stderr
    assert "written" not in result.stdout
    assert result.stderr.count("  keygen ") == 4
    assert "keygen describe 'try it/VS-10.yaml' --region ozarks" in result.stderr


def test_what_to_try_next_works(demo: Demo) -> None:
    """The commands proposed for the written records run, and the other region turns the call."""
    demo()
    lines = [line.split()[1:] for line in demo().stderr.splitlines() if line.startswith("  ")]
    for words in lines[:3]:
        result = CliRunner().invoke(app, words, prog_name="keygen")
        assert result.exit_code == 0
        assert result.stdout
    away = CliRunner().invoke(app, lines[0], prog_name="keygen")
    assert "The haft agrees with Gary" in away.stdout


def test_json(demo: Demo, survey: Mapping[str, Examination]) -> None:
    """JSON is one list with every specimen, and the files are written all the same."""
    result = demo("--format", "json")
    assert [entry["specimen"] for entry in json.loads(result.stdout)] == list(survey)
    assert Path("keygen-demo", "report.md").is_file()


@pytest.mark.parametrize("name", ["report.md", "report.html"])
def test_replaces_its_own_report(demo: Demo, name: str) -> None:
    """A second run replaces an earlier report and leaves other files in the folder alone."""
    demo("--out", "a")
    report, other = Path("a", name), Path("a", "mine.txt")
    first = report.read_bytes()
    report.write_text(MARK + "an earlier edition", encoding="utf-8")
    other.write_text("mine", encoding="utf-8")
    assert demo("--out", "a").exit_code == 0
    assert report.read_bytes() == first
    assert other.read_text(encoding="utf-8") == "mine"


@pytest.mark.parametrize("name", ["report.md", "VS-03.yaml"])
def test_leaves_what_is_not_its_own(demo: Demo, name: str) -> None:
    """A file that the demo did not write stops it before anything is written or printed."""
    folder = Path("b")
    folder.mkdir()
    (folder / name).write_text("my own work", encoding="utf-8")
    result = demo("--out", "b")
    assert (result.exit_code, result.stdout) == (2, "")
    assert result.stderr == (
        f"{folder / name}: is not as the demo wrote it and is left as it is. "
        "Give --out another folder, or --force to replace it.\n"
    )
    assert [file.name for file in folder.iterdir()] == [name]
    assert (folder / name).read_text(encoding="utf-8") == "my own work"


def test_force_replaces(demo: Demo) -> None:
    """With --force a record that somebody changed is written anew."""
    demo("--out", "c")
    changed = Path("c", "VS-03.yaml")
    changed.write_text("changed", encoding="utf-8")
    assert demo("--out", "c").exit_code == 2
    assert demo("--out", "c", "--force").exit_code == 0
    assert changed.read_text(encoding="utf-8") == records()["VS-03.yaml"]


def test_a_folder_that_cannot_be_made(demo: Demo) -> None:
    """A file in the place of the folder ends in exit code 2 with a message."""
    Path("taken").write_text("", encoding="utf-8")
    result = demo("--out", "taken")
    assert (result.exit_code, result.stdout) == (2, "")
    assert result.stderr == "taken: file exists\n"
