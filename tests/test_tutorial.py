"""The tutorial, and how to add a type: every command is run in order, every output compared.

`python -m tests.test_tutorial --update` writes the outputs anew; read the difference as prose.

A block `console` holds commands after `$ `, each with what it prints; a line `...` stands for any
lines that are left out. `<!-- file: NAME -->` before a block writes it to a file, and
`<!-- typed: a | b -->` is what is typed at the questions of the block's command. Digests and dates
differ from day to day and count as equal.
"""

from __future__ import annotations

import os
import re
import shlex
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
from typer.testing import CliRunner

from keygen.cli import app

DOCS = Path(__file__).parent.parent / "docs"
PAGES = ("tutorial.md", "add-a-type.md")
LEFT_OUT = "..."
BLOCK = re.compile(
    r"(?:<!-- (file|typed): (.*?) -->\n)?```(\w+)\n(.*?)^```$", re.DOTALL | re.MULTILINE
)
SHELL = ("cat", "ls", "head")  # what is run beside keygen


@dataclass(frozen=True)
class Step:
    """One command of a page: what is typed to it, and what the page says that it prints."""

    command: str
    typed: str
    shown: str


def steps(text: str, folder: Path) -> Iterator[Step]:
    """Yield the commands of a page in order, and write its files when their turn comes."""
    for mark, value, kind, body in BLOCK.findall(text):
        if mark == "file":
            path = folder / value
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(body, encoding="utf-8")
        if kind != "console":
            continue
        typed = "".join(f"{line.strip()}\n" for line in value.split("|")) if mark == "typed" else ""
        for part in body.removeprefix("$ ").split("\n$ "):
            command, _, shown = part.rstrip("\n").partition("\n")
            yield Step(command, typed, shown)


def output(step: Step) -> str:
    """Return what a command prints in the working folder, results and talk as they come."""
    words = shlex.split(step.command)
    spread = [sorted(map(str, Path().glob(w))) if "*" in w else [w] for w in words]
    words = [word for found in spread for word in found]
    if words[0] == "keygen":
        done = CliRunner().invoke(app, words[1:], prog_name="keygen", input=step.typed)
        assert done.exit_code in (0, 1, 2), done.output
        printed = done.output
    else:
        assert words[0] in SHELL, words
        printed = subprocess.run(words, capture_output=True, text=True, check=True).stdout
    return "\n".join(line.rstrip() for line in printed.strip("\n").splitlines())


def plain(text: str) -> str:
    """Return a text with what differs from day to day and from edition to edition made equal."""
    # YAML quotes a digest only if it could be read as a number.
    text = re.sub(r'"?\b[0-9a-f]{12}\b"?', "DIGEST", text)
    return re.sub(r"\b20\d\d-\d\d-\d\d\b", "DATE", text)


def agrees(shown: str, printed: str) -> bool:
    """Tell whether a page shows what is printed, with lines left out only where it says so."""
    parts = [
        re.escape(part) for part in re.split(rf"^{re.escape(LEFT_OUT)}$", plain(shown), flags=re.M)
    ]
    return re.fullmatch("(?:.*)".join(parts), plain(printed), re.DOTALL) is not None


def rewritten(shown: str, printed: str) -> str:
    """Return what is printed, with as many lines left out as the page left out before."""
    lines = shown.splitlines()
    if LEFT_OUT not in lines:
        return printed
    first, last = lines.index(LEFT_OUT), lines[::-1].index(LEFT_OUT)
    new = printed.splitlines()
    return "\n".join([*new[:first], LEFT_OUT, *(new[-last:] if last else ())])


@pytest.mark.parametrize("page", PAGES)
def test_a_page_shows_what_happens(
    page: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each command of the page, run in order, prints what the page shows."""
    monkeypatch.chdir(tmp_path)
    text = (DOCS / page).read_text(encoding="utf-8")
    count = 0
    for step in steps(text, tmp_path):
        printed = output(step)
        assert agrees(step.shown, printed), f"$ {step.command}\n{printed}"
        count += 1
    assert count >= 4


def test_left_out_lines_are_marked() -> None:
    """Lines can be left out only where the page says so, and digests and dates may differ."""
    assert agrees("a\n...\nd", "a\nb\nc\nd")
    assert not agrees("a\nd", "a\nb\nd")
    assert not agrees("a\n...\nd", "a\nb")
    assert agrees("of 0123456789ab, 2026-01-02", "of ba9876543210, 2031-11-30")
    assert rewritten("a\n...\nd", "A\nB\nC\nD") == "A\n...\nD"


def update(page: Path) -> None:
    """Run a page's commands and write their outputs into it."""
    text = page.read_text(encoding="utf-8")
    start, done = Path.cwd(), 0
    with tempfile.TemporaryDirectory() as folder:
        os.chdir(folder)
        try:
            for step in steps(text, Path(folder)):
                old = "\n".join(filter(None, (f"$ {step.command}", step.shown)))
                new = "\n".join(
                    filter(None, (f"$ {step.command}", rewritten(step.shown, output(step))))
                )
                at = text.index(old, done)
                text = text[:at] + new + text[at + len(old) :]
                done = at + len(new)
        finally:
            os.chdir(start)
    page.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    if sys.argv[1:] != ["--update"]:
        sys.exit("usage: python -m tests.test_tutorial --update")
    for name in PAGES:
        update(DOCS / name)
