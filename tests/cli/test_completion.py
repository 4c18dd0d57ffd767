"""Facts about completion by the Tab key."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pexpect
import pytest

from tests.cli.conftest import ENVIRONMENT, PROGRAM, SMALL

SHELLS = ("bash", "zsh", "fish", "powershell")


def ask(environment: dict[str, str]) -> str:
    """Return what keygen answers a shell."""
    found = subprocess.run(
        PROGRAM, env={**ENVIRONMENT, **environment}, capture_output=True, text=True, check=False
    )
    assert found.stderr == ""
    return found.stdout


def bash(*words: str) -> list[str]:
    """Return what Bash is offered for the last of some words, cut at `=` as Bash cuts them."""
    given = {"COMP_WORDS": "\n".join(("keygen", *words)), "COMP_CWORD": str(len(words))}
    return ask({**given, "_KEYGEN_COMPLETE": "complete_bash"}).split()


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        (("desc",), ["describe"]),
        (("describe", "--regi"), ["--region", "--register"]),
        (("describe", "--region", "h"), ["hills"]),
        (("describe", "--format", ""), ["text", "json"]),
        (("describe", "--set", "s"), ["none", "straight", "contracting", "expanding"]),
        (("describe", "--set", "b"), ["base_shape=", "blade_shape="]),
        (("describe", "--set", "base_shape", "=", ""), ["straight", "excurvate", "incurvate"]),
        (("describe", "--set", "base_shape", "=", "ex"), ["excurvate"]),
        (("describe", "--set", "damage", "="), ["none", "tip_snap", "heat"]),
        (("describe", "--set", "base_shape", "=", "straight,e"), ["straight,excurvate"]),
        (("describe", "--measure", "len"), ["length="]),
        (("types", "a"), ["alder"]),
        (("types", "--compare", "alder", "b"), ["birch"]),
        (("types", "--terms", "stem"), ["stem_shape"]),
        (("tabulate", "x.csv", "--by", "le"), ["level"]),
        (("tabulate", "x.csv", "--of", "stem"), ["stem_shape"]),
        (("key", "--as", "p"), ["page"]),
        (("describe", "--rules", "great"), ["great_basin"]),
        (("describe", "--set", "no_attribute", "=", ""), []),
    ],
)
def test_words_are_completed(words: tuple[str, ...], expected: list[str]) -> None:
    """Commands, options, and values that the rules know are offered."""
    command, *rest = words
    line = (command, *SMALL, *rest) if rest and "--rules" not in rest else words
    found = bash(*line)
    if expected and "=" in words and words[-2:] != ("--set", "s"):
        found = [word for word in found if word not in ("?", "missing")]
    if words[-1] == "s":  # only one attribute begins so, and its states are offered at once
        assert [word.partition("=")[2] for word in found][: len(expected)] == expected
        assert {word.partition("=")[0] for word in found} == {"stem_shape"}
    else:
        assert found == expected


def test_other_shells_get_a_help_with_each_word() -> None:
    """Zsh and fish are offered the regions with their names."""
    line = f"keygen describe --rules {SMALL[1]} --region "
    given = {"_TYPER_COMPLETE_ARGS": line, "_TYPER_COMPLETE_FISH_ACTION": "get-args"}
    assert '"hills":"The Hills"' in ask({**given, "_KEYGEN_COMPLETE": "complete_zsh"})
    assert "hills\tThe Hills" in ask({**given, "_KEYGEN_COMPLETE": "complete_fish"})


def test_rules_that_cannot_be_read_offer_nothing(tmp_path: Path) -> None:
    """With a rules folder that is none, the Tab key offers nothing and prints no error."""
    assert bash("describe", "--rules", str(tmp_path), "--region", "h") == []


@pytest.mark.parametrize("shell", SHELLS)
def test_a_script_for_each_shell(shell: str) -> None:
    """The script of each shell names the program and the variable that it asks with."""
    found = subprocess.run(
        [*PROGRAM, "--show-completion", shell],
        env=ENVIRONMENT,
        capture_output=True,
        text=True,
        check=True,
    )
    assert "_KEYGEN_COMPLETE" in found.stdout
    assert "keygen" in found.stdout.replace("_keygen_completion", "")


def test_bash_completes_for_real(tmp_path: Path) -> None:
    """In a Bash that ran the script the Tab key completes a state behind its attribute."""
    program = tmp_path / "keygen"
    program.write_text(f'#!/bin/sh\nexec "{sys.executable}" -m keygen "$@"\n', encoding="utf-8")
    program.chmod(0o755)
    path = f"{tmp_path}{os.pathsep}{os.environ['PATH']}"
    environment = {**ENVIRONMENT, "PATH": path, "TERM": "dumb", "PS1": "$ ", "INPUTRC": "/dev/null"}
    shell = pexpect.spawn(
        "bash", ["--norc", "--noprofile"], env=environment, encoding="utf-8", timeout=30
    )
    shell.setwinsize(24, 300)
    try:
        shell.sendline('eval "$(keygen --show-completion bash)"; echo rea""dy')
        shell.expect("ready")
        for typed, expected in (
            ("keygen descri\t", "keygen describe "),
            (f"--rules {SMALL[1]} --set base_shape=ex\t", "base_shape=excurvate "),
            ("--region co\t", "--region coast "),
            ("--measure len\t", "--measure length="),
        ):
            shell.send(typed)
            shell.expect_exact(expected)
        shell.send("34.2")
        shell.expect_exact("34.2")
        between = shell.before or ""
        assert " " not in between
    finally:
        shell.close(force=True)
