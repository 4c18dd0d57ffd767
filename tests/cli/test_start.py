"""What starting the program costs and how it ends."""

from __future__ import annotations

import shlex
import subprocess
import sys
from importlib import import_module
from pathlib import Path

import pytest

from keygen.cli import COMMANDS, app
from tests.cli.conftest import ENVIRONMENT, PROGRAM, SMALL, Run

HEAVY = {
    *("dask", "jinja2", "networkx", "numpy", "pandas", "pyarrow", "pydantic", "python_calamine"),
    *("rich", "scipy", "xlsxwriter", "yaml", "zipfile"),
}
LOADED = f"""\
import sys
from keygen.cli import app
try:
    app(prog_name="keygen")
except SystemExit:
    print(sorted({{name.partition(".")[0] for name in sys.modules}} & {HEAVY!r}))
"""


def heavy(*words: str, **environment: str) -> str:
    """Return which heavy packages are loaded after a command that was given no input."""
    found = subprocess.run(
        [sys.executable, "-c", LOADED, *words],
        env={**ENVIRONMENT, **environment},
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        check=True,
    )
    return found.stdout.splitlines()[-1]


def test_help_loads_nothing_heavy() -> None:
    """Showing the help loads none of the packages that only some commands need."""
    assert heavy("--help") == "[]"


def test_first_question_loads_nothing_heavy(tmp_path: Path) -> None:
    """A walk puts its first question, from cached rules, without any heavy package."""
    cached = {"XDG_CACHE_HOME": str(tmp_path)}
    words = ["walk", str(tmp_path / "a.yaml"), "--region", "hills", *SMALL]
    assert heavy(*words, **cached) == "['yaml']"  # the rules are read for the first time
    assert heavy(*words, **cached) == "[]"
    assert (tmp_path / "a.walk").is_file()


@pytest.mark.parametrize("command", sorted(COMMANDS))
def test_every_command_has_an_example(run: Run, command: str) -> None:
    """The help of each command ends with an example that begins with the command."""
    from typer.testing import CliRunner

    text = CliRunner().invoke(app, [command, "--help"], prog_name="keygen").stdout
    assert f"Example: keygen {command}" in text


@pytest.mark.parametrize("command", sorted(COMMANDS))
def test_the_list_says_what_the_command_says(command: str) -> None:
    """The words in the list of commands begin the command's own help."""
    module = import_module(f"keygen.cli.{command}")
    first = " ".join(getattr(module, command).__doc__.split())
    assert first.startswith(COMMANDS[command].rstrip("."))


def test_version_is_printed() -> None:
    """The version is a result, on stdout."""
    found = subprocess.run(
        [*PROGRAM, "--version"], env=ENVIRONMENT, capture_output=True, text=True, check=True
    )
    assert found.stdout.startswith("keygen ")


def test_a_reader_that_goes_away_is_no_error() -> None:
    """A pipe closed early ends the program quietly."""
    with subprocess.Popen(
        [*PROGRAM, "types", "--format", "json", *SMALL],
        env=ENVIRONMENT,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    ) as process:
        assert process.stdout is not None
        process.stdout.close()
        assert process.stderr is not None
        assert process.stderr.read() == b""
    assert process.returncode == 0


def test_a_closed_output_is_no_error() -> None:
    """A caller that closed the output gets no traceback."""
    line = shlex.join([*PROGRAM, "types", *SMALL]) + " >&-"
    command = ["/bin/sh", "-c", line]
    found = subprocess.run(command, env=ENVIRONMENT, capture_output=True, check=True)
    assert found.stderr == b""


def test_a_misspelt_command_is_bad_use() -> None:
    """An unknown command ends with exit code 2 and no traceback."""
    found = subprocess.run(
        [*PROGRAM, "wlak"], env=ENVIRONMENT, capture_output=True, text=True, check=False
    )
    assert found.returncode == 2
    assert "walk" in found.stderr
    assert "Traceback" not in found.stderr
