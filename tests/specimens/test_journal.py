"""The journal: on disk before the next question, and readable after any crash."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from keygen.errors import KeygenError
from keygen.specimens.journal import Journal, journal_file

HEADER = {"region": "hills"}


def begun(path: Path) -> list[dict[str, object]]:
    """Write a journal of three answers and return them."""
    answers: list[dict[str, object]] = [{"took": ["1a"]}, {"took": ["3a"]}, {"back": True}]
    with Journal(path, HEADER) as journal:
        for entry in answers:
            journal.add(entry)
    return answers


def test_the_journal_lies_beside_the_record() -> None:
    """The journal has the record's name, with its own ending."""
    assert journal_file(Path("box/T-1.yaml")) == Path("box/T-1.walk")


def test_what_is_added_reads_back(tmp_path: Path) -> None:
    """A journal opened again holds its header and its answers in order."""
    path = tmp_path / "T-1.walk"
    answers = begun(path)
    with Journal(path, {"region": "coast"}) as journal:
        assert journal.resumed
        assert journal.header["region"] == "hills"
        assert journal.answers == answers


def test_an_answer_is_synced_before_add_returns(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """When an answer has been added, all its bytes were handed to the disk."""
    path = tmp_path / "T-1.walk"
    sizes: list[int] = []
    real = os.fsync

    def watched(handle: int) -> None:
        sizes.append(os.fstat(handle).st_size)
        real(handle)

    with Journal(path, HEADER) as journal:
        monkeypatch.setattr(os, "fsync", watched)
        journal.add({"took": ["1a"]})
        assert sizes == [path.stat().st_size]


def test_a_torn_tail_loses_one_answer_at_most(tmp_path: Path) -> None:
    """Cut off after any byte, a journal still opens and keeps every whole line."""
    path = tmp_path / "T-1.walk"
    answers = begun(path)
    content = path.read_bytes()
    for length in range(len(content) + 1):
        path.write_bytes(content[:length])
        whole = content[:length].count(b"\n")
        with Journal(path, HEADER) as journal:
            assert journal.answers == answers[: max(whole - 1, 0)]
            journal.add({"took": ["9a"]})
        with Journal(path, HEADER) as journal:
            assert journal.answers[-1] == {"took": ["9a"]}


def test_a_last_line_of_zeroes_is_dropped(tmp_path: Path) -> None:
    """A last line that the disk filled with zeroes counts as torn."""
    path = tmp_path / "T-1.walk"
    answers = begun(path)
    with path.open("ab") as file:
        file.write(b"\0" * 20 + b"\n")
    with Journal(path, HEADER) as journal:
        assert journal.answers == answers


def test_damage_in_the_middle_is_reported(tmp_path: Path) -> None:
    """A damaged line with others after it is an error that names the line."""
    path = tmp_path / "T-1.walk"
    begun(path)
    path.write_bytes(path.read_bytes().replace(b'{"took": ["3a"]}', b"{took"))
    with pytest.raises(KeygenError, match=r"T-1.walk:3: K330: this line is damaged"):
        Journal(path, HEADER)


def test_another_file_is_no_journal(tmp_path: Path) -> None:
    """A file that is not a journal is refused and left as it is."""
    path = tmp_path / "T-1.walk"
    path.write_text('{"something": "else"}\n', encoding="utf-8")
    with pytest.raises(KeygenError, match="not a journal"):
        Journal(path, HEADER)
    assert path.read_text(encoding="utf-8") == '{"something": "else"}\n'


@pytest.mark.parametrize("content", [b"shopping list", b"\x00\xff notes\n", b"{}x\n"])
def test_a_file_that_is_no_journal_is_kept(tmp_path: Path, content: bytes) -> None:
    """A file of that name that holds something else is refused and left as it is."""
    path = tmp_path / "T-1.walk"
    path.write_bytes(content)
    with pytest.raises(KeygenError, match="not a journal of a walk"):
        Journal(path, HEADER)
    assert path.read_bytes() == content


@pytest.mark.parametrize("content", [b"", b"\0\0\0", b'{"keygen', b'{"keygen_walk": 1, "reg\n'])
def test_a_torn_header_begins_anew(tmp_path: Path, content: bytes) -> None:
    """A crash while the header was written leaves nothing to go on with, and is no obstacle."""
    path = tmp_path / "T-1.walk"
    path.write_bytes(content)
    with Journal(path, HEADER) as journal:
        assert not journal.resumed


@pytest.mark.parametrize("name", ["", ".", "/"])
def test_a_record_needs_a_name(name: str) -> None:
    """A path that names no file is refused."""
    with pytest.raises(KeygenError, match="is no name for a record"):
        journal_file(Path(name))


def test_two_walks_cannot_share_a_journal(tmp_path: Path) -> None:
    """A second walk is refused while the first has the journal open, and not after."""
    path = tmp_path / "T-1.walk"
    with Journal(path, HEADER), pytest.raises(KeygenError, match="another walk has"):
        Journal(path, HEADER)
    with Journal(path, HEADER) as journal:
        assert journal.resumed


def test_a_cut_drops_what_came_after(tmp_path: Path) -> None:
    """A line that cuts leaves the answers before its number, and those added after it."""
    path = tmp_path / "T-1.walk"
    answers = begun(path)
    with Journal(path, HEADER) as journal:
        journal.add({"cut": 1})
        journal.add({"took": ["3b"]})
        assert journal.answers == [answers[0], {"took": ["3b"]}]


def test_a_removed_journal_is_gone(tmp_path: Path) -> None:
    """Removing a journal leaves the folder empty."""
    with Journal(tmp_path / "T-1.walk", HEADER) as journal:
        journal.remove()
    assert list(tmp_path.iterdir()) == []
