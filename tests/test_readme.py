"""Facts about the README and the docs: what they show is what happens."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import yaml
from typer.testing import CliRunner

from keygen.cli import app

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")


def block(mark: str, text: str = README) -> str:
    """Return the code block that follows a comment."""
    found = re.search(rf"<!-- {mark} -->\n```\w*\n(.*?)```", text, re.DOTALL)
    assert found, mark
    return found[1]


def test_demo_output_is_real(tmp_path: Path) -> None:
    """Every line that the README shows of the demo is printed by the demo."""
    done = CliRunner().invoke(app, ["demo", "--out", str(tmp_path / "demo")], prog_name="keygen")
    assert done.exit_code == 0
    printed = {line.rstrip() for line in done.stdout.splitlines()}
    shown = [line.rstrip() for line in block("demo output").splitlines() if line.strip(" .")]
    assert len(shown) >= 10
    assert [line for line in shown if line not in printed] == []


def test_describe_example_is_real() -> None:
    """The README's description without a walk is what the command prints."""
    arguments = shlex.split(block("describe command"))[1:]
    done = CliRunner().invoke(app, arguments, prog_name="keygen")
    assert done.exit_code == 0
    assert done.stdout.split() == block("describe output").split()


def test_ci_runs_the_readme_command() -> None:
    """The CI script takes the test command out of the README, and finds one."""
    assert "pytest" in block("test command")
    assert "<!-- test command -->" in (ROOT / ".ci" / "run").read_text(encoding="utf-8")


def test_commands_need_only_python() -> None:
    """Both commands begin by making a virtual environment with python3."""
    for mark in ("demo command", "test command"):
        assert block(mark).startswith("python3 -m venv .venv && .venv/bin/pip install")


def test_example_record_in_the_docs(tmp_path: Path) -> None:
    """The record shown in the docs is read without a problem."""
    text = (ROOT / "docs" / "index.md").read_text(encoding="utf-8")
    record = re.search(r"```yaml\n(keygen_record.*?)```", text, re.DOTALL)
    assert record
    assert yaml.safe_load(record[1])["specimen"] == "VS-99"
    path = tmp_path / "record.yaml"
    path.write_text(record[1], encoding="utf-8")
    done = CliRunner().invoke(app, ["describe", str(path)], prog_name="keygen")
    assert done.exit_code == 0, done.stderr
    assert "VS-99" in done.stdout
