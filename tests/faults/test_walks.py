"""A walk and its record under a hard stop, a full disk, a read-only folder and a second process."""

from __future__ import annotations

import errno
import os
import random
import resource
import subprocess
from pathlib import Path

import pytest

from keygen.errors import KeygenError
from keygen.specimens.files import write_whole, written_together
from keygen.specimens.journal import Journal
from tests.cli.conftest import ENVIRONMENT, PROGRAM, SMALL, Run
from tests.faults.walking import LINES, finished, killed, undisturbed

KILLED = 10
TYPED = "".join(f"{line}\n" for line in LINES)


def test_kill_at_any_moment(tmp_path: Path) -> None:
    """Killed at a moment of chance, a walk goes on and makes the same record; none is lost.

    What was answered by the next question is kept; at most the line being typed is not.
    """
    chance = random.Random(11)
    found = [killed(tmp_path / f"{number}.yaml", chance) for number in range(KILLED)]
    assert all(one.whole for one in found)
    assert all(one.answered <= one.kept <= one.sent for one in found)
    assert any(one.answered < len(LINES) - 1 for one in found)


def walked(folder: Path, **limits: int) -> subprocess.CompletedProcess[str]:
    """Walk in a process that may not write files above some size."""

    def limited() -> None:
        for name, most in limits.items():
            resource.setrlimit(getattr(resource, name), (most, most))

    return subprocess.run(
        [*PROGRAM, "walk", "x.yaml", "--specimen", "T-1", "-r", "hills", *SMALL],
        input=TYPED,
        text=True,
        capture_output=True,
        cwd=folder,
        env={**ENVIRONMENT, "PYTHONDONTWRITEBYTECODE": "1"},
        preexec_fn=limited,
    )


@pytest.mark.parametrize("room", [160, 410])
def test_no_room_for_an_answer(tmp_path: Path, room: int) -> None:
    """Where an answer finds no room the walk stops and says so, and goes on when there is room."""
    result = walked(tmp_path, RLIMIT_FSIZE=room)
    assert result.returncode == 2
    assert "x.walk: K331: the last answer cannot be kept: file too large" in result.stderr
    assert "Saved. Go on with: keygen walk" in result.stderr
    assert "Traceback" not in result.stderr
    assert [p.name for p in tmp_path.iterdir()] == ["x.walk"]
    with Journal(tmp_path / "x.walk", {}) as journal:
        kept = len(journal.answers)
    assert 0 < kept < len(LINES)
    assert finished(tmp_path / "x.yaml", LINES[kept:]) == undisturbed()


def test_no_room_for_the_record(run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the record finds no room the walk is kept, and makes it when there is room."""
    target = tmp_path / "x.yaml"

    def full(*_: object, **__: object) -> int:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    with monkeypatch.context() as patched:
        patched.setattr(Path, "write_text", full)
        words = ("walk", target, "--specimen", "T-1", "-r", "hills")
        result = run(*words, typed=TYPED)
    assert result.exit_code == 2
    assert f"{target}: no space left on device" in result.stderr
    assert "Saved. Go on with: keygen walk" in result.stderr
    assert [p.name for p in tmp_path.iterdir()] == ["x.walk"]
    assert finished(target, ()) == undisturbed()


def test_a_journal_that_cannot_be_synced(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """An answer that did not reach the disk is taken out again, and nothing before it."""
    path = tmp_path / "x.walk"

    def broken(_: int) -> None:
        raise OSError(errno.EIO, os.strerror(errno.EIO))

    with Journal(path, {}) as journal:
        journal.add({"took": ["1a"]})
        before = path.read_bytes()
        with monkeypatch.context() as patched:
            patched.setattr(os, "fsync", broken)
            with pytest.raises(KeygenError, match=r"x\.walk: K331: the last answer cannot be kept"):
                journal.add({"took": ["3a"]})
        assert path.read_bytes() == before
        assert journal.answers == [{"took": ["1a"]}]


@pytest.mark.parametrize("replaced", [False, True])
def test_a_journal_that_vanished(tmp_path: Path, replaced: bool) -> None:
    """A journal that somebody removes or replaces is not written past, and the new is kept."""
    path = tmp_path / "x.walk"
    with Journal(path, {}) as journal:
        journal.add({"took": ["1a"]})
        path.unlink()
        if replaced:
            path.write_text("mine", encoding="utf-8")
        with pytest.raises(KeygenError, match=r"x\.walk: K331: this file was removed or replaced"):
            journal.add({"took": ["3a"]})
    assert not replaced or path.read_text(encoding="utf-8") == "mine"


def test_a_folder_that_is_read_only(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """In a folder that cannot be written nothing is asked before that is said."""
    real = os.open

    def guarded(path: str | Path, flags: int, *more: int) -> int:
        if flags & os.O_CREAT and str(path).startswith(str(tmp_path)):
            raise OSError(errno.EROFS, os.strerror(errno.EROFS), str(path))
        return real(path, flags, *more)

    monkeypatch.setattr(os, "open", guarded)
    result = run("walk", tmp_path / "x.yaml", "-r", "hills", typed=TYPED)
    assert result.exit_code == 2
    assert "x.walk: read-only file system" in result.stderr
    assert "Is the piece whole?" not in result.stderr
    assert not list(tmp_path.iterdir())


def test_a_record_that_came_between(run: Run, tmp_path: Path) -> None:
    """A record that another process writes during the walk is left as it is, and the walk kept."""
    target = tmp_path / "x.yaml"
    run("walk", target, "--specimen", "T-1", "-r", "hills", typed="a\n")
    target.write_text("somebody else's", encoding="utf-8")
    result = run("walk", target, typed="".join(f"{line}\n" for line in LINES[1:]))
    assert result.exit_code == 2
    assert "x.yaml exists and is left as it is" in result.stderr
    assert target.read_text(encoding="utf-8") == "somebody else's"
    assert (tmp_path / "x.walk").exists()


def test_a_name_taken_at_the_last_moment(tmp_path: Path) -> None:
    """A file that appears while another of its name is being written is not replaced."""
    target = tmp_path / "x.yaml"

    def write() -> None:
        with written_together([target]) as (partial,):
            partial.write_text("ours", encoding="utf-8")
            target.write_text("theirs", encoding="utf-8")

    with pytest.raises(KeygenError, match="exists and is left as it is"):
        write()
    assert target.read_text(encoding="utf-8") == "theirs"
    assert [p.name for p in tmp_path.iterdir()] == ["x.yaml"]


def test_links_as_targets(tmp_path: Path) -> None:
    """Through a link the file that it stands for is written, and the link stays a link."""
    (tmp_path / "away").mkdir()
    kept, link = tmp_path / "away" / "x.txt", tmp_path / "x.txt"
    link.symlink_to(kept)
    write_whole(link, "new")
    assert link.is_symlink()
    assert kept.read_text(encoding="utf-8") == "new"
    with pytest.raises(KeygenError, match="exists and is left as it is"):
        write_whole(link, "newer")
    (tmp_path / "loop").symlink_to(tmp_path / "loop")
    with pytest.raises((KeygenError, OSError)):
        write_whole(tmp_path / "loop", "x")
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "to-pipe").symlink_to(tmp_path / "pipe")
    with pytest.raises(KeygenError, match="not an ordinary file"):
        write_whole(tmp_path / "to-pipe", "x", replace=True)
