"""Rows as specimen records: names of files, and folders filled whole or not at all."""

from __future__ import annotations

from pathlib import Path

import pytest

from keygen.collection.as_records import file_stem, filled
from keygen.errors import KeygenError


@pytest.mark.parametrize(
    ("label", "stem"),
    [
        ("VS-99", "VS-99"),
        ("41CV0536-12/a", "41CV0536-12-a"),
        ("../../etc/passwd", "etc-passwd"),
        ("..", "row-7"),
        ("", "row-7"),
        ("a\\b:c*d?", "a-b-c-d"),
        ("CON", "CON-"),
        ("nul.1", "nul-.1"),
        ("COM1", "COM1-"),
        ("console", "console"),
        ("\x00\n", "row-7"),
        (".hidden", "hidden"),
        ("Zoë 5", "Zoë-5"),
        ("x" * 300, "x" * 80),
    ],
)
def test_a_number_becomes_a_safe_name(label: str, stem: str) -> None:
    """No specimen number leads out of the folder, or to a device."""
    assert file_stem(label, 7) == stem


def test_every_record_gets_a_name_of_its_own(tmp_path: Path) -> None:
    """Repeated names, also in other letters, get a number behind them."""
    with filled(tmp_path / "out", force=False) as folder:
        folder.add([("A", "1"), ("a", "2"), ("A", "3"), ("a-2", "4")])
    names = {p.name: p.read_text(encoding="utf-8") for p in (tmp_path / "out").iterdir()}
    assert names == {"A.yaml": "1", "a-2.yaml": "2", "A-3.yaml": "3", "a-2-2.yaml": "4"}


def test_an_error_leaves_the_folder_as_it_was(tmp_path: Path) -> None:
    """What goes wrong before the end leaves no record behind."""
    with (
        pytest.raises(AttributeError),
        filled(tmp_path / "out", force=False) as folder,
    ):
        folder.add([("A", "1"), ("B", None)])  # type: ignore[list-item]
    assert list(tmp_path.iterdir()) == []


def test_a_folder_with_something_in_it_is_kept(tmp_path: Path) -> None:
    """Records go to a folder that is not empty only on request, and leave its other files alone."""
    (tmp_path / "A.yaml").write_text("old", encoding="utf-8")
    (tmp_path / "other").write_text("mine", encoding="utf-8")
    with pytest.raises(KeygenError, match="not empty"), filled(tmp_path, force=False):
        pytest.fail("the work was begun")
    with filled(tmp_path, force=True) as folder:
        folder.add([("A", "new")])
    assert {p.name: p.read_text(encoding="utf-8") for p in tmp_path.iterdir()} == {
        "A.yaml": "new",
        "other": "mine",
    }


@pytest.mark.parametrize(("name", "message"), [("file", "not a folder"), ("no/x", "no folder")])
def test_what_is_no_folder_is_refused(tmp_path: Path, name: str, message: str) -> None:
    """A file, or a place in a folder that is not there, is refused by name."""
    (tmp_path / "file").write_text("", encoding="utf-8")
    with pytest.raises(KeygenError, match=message), filled(tmp_path / name, force=True):
        pytest.fail("the work was begun")
