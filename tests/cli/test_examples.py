"""The examples in the help of every command run as they stand, on the files of the demo."""

from __future__ import annotations

import inspect
import re
import shlex
from collections.abc import Iterator
from importlib import import_module
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from keygen.cli import COMMANDS, app

EXAMPLE = re.compile(r"^Example: (keygen .*)$", re.MULTILINE)
WIDEST = 78 - 2 - len("Example: ")  # what stands on one line of a terminal and can be copied whole
TYPED = "b\nback\n?\npause\n"  # to a command that asks


def examples() -> Iterator[tuple[str, str]]:
    """Yield each command with each of its examples."""
    for command in COMMANDS:
        text = inspect.getdoc(getattr(import_module(f"keygen.cli.{command}"), command)) or ""
        for line in EXAMPLE.findall(text):
            yield command, line


def run(line: str) -> Any:
    """Run a line as a shell does, in the working folder."""
    words = shlex.split(line)[1:]
    spread = [sorted(map(str, Path().glob(word))) if "*" in word else [word] for word in words]
    arguments = [word for found in spread for word in found]
    return CliRunner().invoke(app, arguments, prog_name="keygen", input=TYPED)


@pytest.fixture(scope="module")
def survey(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder in which the demo was run."""
    folder = tmp_path_factory.mktemp("examples")
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(folder)
        assert run("keygen demo").exit_code == 0
    return folder


@pytest.mark.parametrize(("command", "line"), list(examples()))
def test_an_example_runs(
    survey: Path, monkeypatch: pytest.MonkeyPatch, command: str, line: str
) -> None:
    """An example ends well, says something, and writes the files that it names."""
    monkeypatch.chdir(survey)
    done = run(line)
    assert done.exit_code == 0, done.stderr
    assert line.split()[1] == command
    assert done.stdout or done.stderr
    for name in re.findall(r"--out (\S+)", line):
        written = survey / name
        assert any(written.iterdir()) if written.is_dir() else written.stat().st_size


@pytest.mark.parametrize("command", sorted(COMMANDS))
def test_examples_can_be_copied(command: str) -> None:
    """Each command has an example, and it stands on one line of its help."""
    shown = CliRunner().invoke(app, [command, "--help"], prog_name="keygen")
    lines = [line for name, line in examples() if name == command]
    assert lines
    for line in lines:
        assert len(line) <= WIDEST
        assert f"Example: {line}\n" in shown.stdout
