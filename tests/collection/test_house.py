"""House style: single templates of a user's folder stand in for those that ship."""

from __future__ import annotations

from pathlib import Path

import pytest

from keygen.collection.batch import describe_rows
from keygen.collection.house import House, unknown_templates
from keygen.collection.report import write_report
from keygen.errors import KeygenError
from tests.collection.reported import TAPERED, row
from tests.prose import pieces

DOCS = Path(__file__).parents[2] / "docs" / "templates.md"


def _write(folder: Path, name: str, text: str) -> Path:
    file = folder / name
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_text(text, encoding="utf-8")
    return folder


def _report(folder: Path, suffix: str = ".md") -> str:
    rows = [row("east", label="A 1", **TAPERED)]
    return write_report(pieces.rules(), rows, suffix, "T", templates=folder).decode()


def test_one_file_is_replaced(tmp_path: Path) -> None:
    """A template of the folder is used, and all others are still those that ship."""
    _write(tmp_path, "document/words.j2", "Tafel")
    _write(tmp_path, "report/call.j2", "Called {{ names[0] }}")
    told = _report(tmp_path)
    assert "Tafel 1. The specimen, with the call of the key" in told
    assert "Called Alder Stemmed." in told
    assert "## Methods" in told


def _block(mark: str) -> str:
    """Return the block of the page on house style that follows a mark."""
    _, found, rest = DOCS.read_text(encoding="utf-8").partition(f"<!-- {mark} -->\n")
    assert found, mark
    return rest.split("```")[1].partition("\n")[2]


def test_the_example_of_the_docs(tmp_path: Path) -> None:
    """The template that the docs show says the sentence that they print below it."""
    _write(tmp_path, "report/piece.j2", _block("house template report/piece.j2"))
    cells = {"portion": "complete", "haft_style": "stemmed", "length (mm)": "48.2"}
    cells |= {"specimen": "T-0417", "material": "grey chert", "width (mm)": "27.1"}
    (told,) = describe_rows([cells], region="ozarks", templates=tmp_path)
    assert str(told["description"]).startswith(_block("house sentence").strip())


def test_the_page_can_be_restyled(tmp_path: Path) -> None:
    """The style sheet of the HTML page is a template like any other."""
    _write(tmp_path, "document/page.css", "body { color: navy }")
    told = _report(tmp_path, ".html")
    assert "body { color: navy }" in told
    assert "font-family" not in told


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("{{ ().__class__.__bases__ }}", "K602"),
        ("{{ nothing }}", "K602"),
        ("{% if %}", "K601"),
    ],
)
def test_a_template_that_cannot_be_used(tmp_path: Path, text: str, code: str) -> None:
    """A template that reaches out of its values, or is none, is refused with its place."""
    _write(tmp_path, "document/methods.j2", text)
    with pytest.raises(KeygenError) as caught:
        _report(tmp_path)
    (problem,) = caught.value.problems
    assert problem.code == code
    assert problem.file == str(tmp_path / "document/methods.j2")


def test_unknown_names_are_warned_of(tmp_path: Path) -> None:
    """A file that stands in for nothing is named, with the nearest that ships; hidden ones not."""
    _write(tmp_path, "document/metods.j2", "x")
    _write(tmp_path, "report/call.j2", "x")
    _write(tmp_path, "document/docx/styles.xml.j2", "x")
    _write(tmp_path, ".git/config", "x")
    (problem,) = unknown_templates(tmp_path)
    assert problem.file == str(tmp_path / "document/metods.j2")
    assert (problem.code, problem.remedy) == ("K605", "Did you mean 'document/methods.j2'?")


def test_no_such_folder(tmp_path: Path) -> None:
    """A folder that is not there is an error."""
    with pytest.raises(KeygenError, match="no such folder of templates"):
        unknown_templates(tmp_path / "none")


def test_words_are_all_there() -> None:
    """A word that no template has is refused rather than left empty."""
    with pytest.raises(KeygenError, match="K602"):
        House(pieces.rules()).word("nothing")
