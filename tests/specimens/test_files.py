"""Writing files whole or not at all."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from keygen.errors import KeygenError
from keygen.specimens.files import write_whole, written_together


def test_a_link_stays_a_link(tmp_path: Path) -> None:
    """Through a link the file is written that it stands for."""
    target, link = tmp_path / "target.txt", tmp_path / "link.txt"
    target.write_text("old", encoding="utf-8")
    link.symlink_to(target)
    write_whole(link, "new", replace=True)
    assert link.is_symlink()
    assert target.read_text(encoding="utf-8") == "new"


@pytest.mark.parametrize(
    ("name", "message"),
    [("folder", "is a folder"), ("none/x.txt", "no folder"), ("pipe", "not an ordinary file")],
)
def test_what_cannot_be_written_is_named(tmp_path: Path, name: str, message: str) -> None:
    """A folder, a missing folder and a device are refused by name, and nothing is left behind."""
    (tmp_path / "folder").mkdir()
    os.mkfifo(tmp_path / "pipe")
    before = sorted(tmp_path.iterdir())
    with pytest.raises(KeygenError, match=message):
        write_whole(tmp_path / name, "text", replace=True)
    assert sorted(tmp_path.iterdir()) == before


def test_files_get_their_names_together(tmp_path: Path) -> None:
    """Nothing has its name before the end, and then all have."""
    one, two = tmp_path / "one.txt", tmp_path / "two.txt"
    with written_together([one, two]) as places:
        for place in places:
            place.write_text("x", encoding="utf-8")
        assert not one.exists()
        assert not two.exists()
    assert sorted(p.name for p in tmp_path.iterdir()) == ["one.txt", "two.txt"]


@pytest.mark.parametrize("error", [KeygenError("no"), KeyboardInterrupt(), OSError("full")])
def test_what_goes_wrong_leaves_all_as_it_was(tmp_path: Path, error: BaseException) -> None:
    """After an error or an interrupt the old file is whole, and nothing else is there."""
    old = tmp_path / "old.txt"
    old.write_text("old", encoding="utf-8")

    def stop_half_way() -> None:
        with written_together([old, tmp_path / "new.txt"], replace=True) as places:
            places[0].write_text("half", encoding="utf-8")
            raise error

    with pytest.raises(type(error)):
        stop_half_way()
    assert old.read_text(encoding="utf-8") == "old"
    assert [p.name for p in tmp_path.iterdir()] == ["old.txt"]


def test_no_file_is_written_where_one_name_is_taken(tmp_path: Path) -> None:
    """Without leave to replace, one taken name keeps all the others from being written."""
    (tmp_path / "old.txt").write_text("old", encoding="utf-8")
    with (
        pytest.raises(KeygenError, match=r"old\.txt exists"),
        written_together([tmp_path / "new.txt", tmp_path / "old.txt"]),
    ):
        pytest.fail("the work was begun")
    assert [p.name for p in tmp_path.iterdir()] == ["old.txt"]
