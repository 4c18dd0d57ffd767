"""`keygen key` at the command line."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest
from typer.testing import CliRunner

from keygen.cli import app
from tests.cli.conftest import Run
from tests.conftest import SMALL_RULES


@pytest.mark.parametrize(
    ("form", "begins"),
    [("text", "KEY TO"), ("html", "<!DOCTYPE html>"), ("svg", "<svg "), ("dot", "digraph key {")],
)
def test_every_form_is_printed(run: Run, form: str, begins: str) -> None:
    """Each form goes to standard output whole, with edition and digest."""
    found = run("key", "--as", form)
    assert found.exit_code == 0
    assert found.stdout.startswith(begins)
    assert found.stdout.endswith("\n")
    assert re.search(r"edition 0\.1\W.*digest [0-9a-f]{12}", found.stdout)


def test_text_is_the_default(run: Run) -> None:
    """Without --as the key comes as text."""
    assert run("key").stdout == run("key", "--as", "text").stdout


@pytest.mark.parametrize("form", ["text", "html"])
def test_a_region_has_its_own_key(run: Run, form: str) -> None:
    """With --region the types known there are keyed by numbers of their own; a label will do."""
    found = run("key", "--as", form, "--region", "hills")
    assert found.exit_code == 0
    for name in ("R1", "R2", "Alder Stemmed", "Birch Stemmed", "Cedar Lanceolate"):
        assert name in found.stdout
    assert "Dogwood" not in found.stdout
    assert run("key", "--as", form, "--region", "Hills").stdout == found.stdout


def test_the_head_tells_how_long_the_key_is(run: Run) -> None:
    """Types, couplets, groups and the length of the way stand at the head of a regional key."""
    line = run("key", "--region", "hills").stdout.splitlines()[1]
    assert line == "3 types, 2 couplets, 3 groups; couplets to a group: 1.7 on average, 2 at most"


def test_a_file_is_written_whole(run: Run, tmp_path: Path) -> None:
    """With --out the key goes to the file, and only talk to the screen."""
    target = tmp_path / "key.html"
    found = run("key", "--as", "html", "--paper", "half-letter", "--out", target)
    assert (found.stdout, found.stderr) == ("", f"{target} written\n")
    assert "size: 5.5in 8.5in;" in target.read_text(encoding="utf-8")
    assert run("key", "--out", target).stderr == f"{target} replaced\n"


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("--paper", "a5"), "K701: --paper is for --as html only"),
        (("--as", "svg", "--region", "hills"), "K702: --as svg draws the descriptive key"),
        (
            ("--as", "dot", "--region", "hills"),
            "The key to a region's types comes as html and text",
        ),
        (("--region", "hulls"), "Did you mean 'hills'?"),
        (("--as", "picture"), "'picture' is not one of"),
        (("--out", "no/such/folder/key.txt"), "no/such/folder"),
    ],
)
def test_what_cannot_be_made(run: Run, arguments: tuple[str, ...], message: str) -> None:
    """A wrong wish ends in one message and exit code 2."""
    found = run("key", *arguments)
    assert (found.exit_code, found.stdout) == (2, "")
    assert message in " ".join(found.stderr.split())


def test_a_region_without_types_has_no_key(tmp_path: Path) -> None:
    """A region that the rules name, but in which no type is known, is refused in every form."""
    folder = tmp_path / "rules"
    shutil.copytree(SMALL_RULES, folder)
    regions = folder / "regions.yaml"
    moor = "  moor: {label: The Moor, place: on the Moor, states: [CC]}\n"
    regions.write_text(regions.read_text(encoding="utf-8") + moor, encoding="utf-8")
    for form in ("text", "html", "page"):
        words = ["key", "--as", form, "--region", "moor", "--rules", str(folder)]
        found = CliRunner().invoke(app, words, prog_name="keygen")
        assert (found.exit_code, found.stdout) == (2, "")
        assert found.stderr == "K703: no type is known in moor. `keygen types` lists types.\n"
