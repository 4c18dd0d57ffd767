"""Pictures in `keygen walk`: where they are shown, and that no answer waits for them."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

import pexpect
import pytest

from keygen.cli import sights
from keygen.cli.sights import Sights
from keygen.core.model import Couplet, Rules
from keygen.pictures import terminal
from tests.cli.conftest import ENVIRONMENT, PROGRAM, SMALL, Run

SIGNS = re.compile("[\u2801-\u28ff]")


def shown(folder: Path, *options: str, size: tuple[int, int] = (24, 80), **more: str) -> str:
    """Return what a terminal shows from the first question to the third, help in between."""
    words = [*PROGRAM[1:], "walk", str(folder / "x.yaml"), "-r", "hills", *options, *SMALL]
    child: pexpect.spawn[str] = pexpect.spawn(
        PROGRAM[0],
        words,
        env={**ENVIRONMENT, "TERM": "xterm", "PYTHONUTF8": "1", **more},
        encoding="utf-8",
        timeout=20,
        echo=False,
        dimensions=size,
    )
    child.delaybeforesend = None
    text = ""
    for line, coming in (("a", "any damage"), ("?", "any damage"), ("a", "set off from")):
        child.expect("\n> ")
        text += f"{child.before}\n> "
        child.sendline(line)
        child.expect_exact(coming)
        text += f"{child.before}{child.after}"
    child.close(force=True)
    return text.replace("\r", "")


def test_pictures_stand_above_the_question(tmp_path: Path) -> None:
    """On a terminal each couplet comes with its pictures; put again after help it comes without."""
    text = shown(tmp_path)
    first, damage, again, haft = text.split("\n> ")
    for screen in (first, damage, haft):
        *_, picture, question = re.split(r"(?m)^ {5}a {2}(?=.*[\u2801-\u28ff])", screen)
        assert len(SIGNS.findall(picture + question)) > 40
        lines = question.splitlines()[: terminal.ROWS]
        assert "b  " in lines[0]
        assert all(SIGNS.search(line) for line in lines)
        assert max(map(len, lines)) <= terminal.WIDTH
    assert not SIGNS.search(again)


@pytest.mark.parametrize(
    ("options", "size", "more"),
    [
        (("--no-pictures",), (24, 80), {}),
        ((), (24, 80), {"TERM": "dumb"}),
        ((), (24, 80), {"TERM": "linux"}),
        ((), (24, 80), {"PYTHONUTF8": "0", "PYTHONIOENCODING": "ascii"}),
        ((), (24, terminal.WIDTH - 8), {}),
        ((), (sights.LEAST_LINES - 1, 80), {}),
    ],
    ids=["switch", "dumb", "console", "ascii", "narrow", "low"],
)
def test_where_pictures_are_left_out(
    tmp_path: Path, options: tuple[str, ...], size: tuple[int, int], more: dict[str, str]
) -> None:
    """By switch, on terminals without the signs, and where there is no room, words stand alone."""
    text = shown(tmp_path, *options, size=size, **more)
    assert not SIGNS.search(text)
    assert "Is the haft set off from" in text


def test_a_pipe_has_pictures_only_where_they_are_asked_for(run: Run, tmp_path: Path) -> None:
    """In a pipe there are none, unless --pictures says so; results are the same either way."""
    lines = "a\na\ncontracting\na\nb\ndone\n"
    plain = run("walk", tmp_path / "x.yaml", "-r", "hills", typed=lines)
    drawn = run("walk", tmp_path / "y.yaml", "-r", "hills", "--pictures", typed=lines)
    assert not SIGNS.search(plain.stderr)
    assert SIGNS.search(drawn.stderr)
    assert drawn.stdout == plain.stdout.replace("Specimen x", "Specimen y").replace("x.", "y.")
    left = [line for line in drawn.stderr.splitlines() if not SIGNS.search(line)]
    assert [line.replace("y.", "x.") for line in left] == plain.stderr.splitlines()


def test_signs_that_cannot_be_printed_are_told(tmp_path: Path) -> None:
    """Where the encoding has no characters for them, pictures are left out with a message."""
    found = subprocess.run(
        [*PROGRAM, "walk", "x.yaml", "-r", "hills", "--pictures", *SMALL],
        input="a\npause\n",
        cwd=tmp_path,
        env={**ENVIRONMENT, "PYTHONUTF8": "0", "PYTHONIOENCODING": "ascii"},
        capture_output=True,
        text=True,
        check=True,
    )
    assert "No pictures: ascii lacks the characters for them." in found.stderr
    assert "\\u28" not in found.stderr


def test_drawing_goes_on_only_while_nothing_is_typed(
    small_rules: Rules, monkeypatch: pytest.MonkeyPatch
) -> None:
    """While a walk waits it draws, what can come next first; a line that is typed ends that."""
    drawn: list[str] = []

    def pair(_: Rules, couplet: Couplet) -> str:
        drawn.append(couplet.id)
        return couplet.id

    monkeypatch.setattr(terminal, "pair", pair)
    waiting = iter([*[True] * (len(sights._LOADED_AHEAD) + 2), False])
    monkeypatch.setattr(sights, "_nothing_typed", lambda: next(waiting))
    found = Sights(small_rules)
    order = sorted(small_rules.couplets, key=small_rules.order.__getitem__)
    couplet = small_rules.couplets["haft_set_off"]
    found.draw_ahead(couplet)
    assert drawn == [lead.go for lead in couplet.leads]
    monkeypatch.setattr(sights, "_nothing_typed", lambda: True)
    found.draw_ahead(None)
    assert sorted(drawn) == sorted(order)
    assert [found.above(small_rules.couplets[name]) for name in order] == order
    assert len(drawn) == len(order)
