"""Writing files whole or not at all."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from keygen.errors import KeygenError
from keygen.specimens.files import write_whole


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
