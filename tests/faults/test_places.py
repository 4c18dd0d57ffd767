"""Messages name the file and line that the user has before them."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from keygen.errors import KeygenError
from keygen.rulebase.check import check
from keygen.rulebase.load import load, read_folder
from tests.cli.conftest import RECORD, Run
from tests.conftest import SMALL_RULES


@pytest.fixture
def own_rules(tmp_path: Path) -> Path:
    """Return a copy of the small rules."""
    folder = tmp_path / "own"
    shutil.copytree(SMALL_RULES, folder)
    return folder


def test_places_in_a_folder_of_ones_own(own_rules: Path) -> None:
    """A fault in a folder of the user's own is told with that folder's name."""
    (own_rules / "edition.yaml").write_text("edition: &a x\n", encoding="utf-8")
    with pytest.raises(KeygenError) as caught:
        load(own_rules)
    assert str(caught.value).startswith(f"{own_rules}/edition.yaml:1:10: K001")
    (own_rules / "edition.yaml").unlink()
    with pytest.raises(KeygenError, match=r"the file edition\.yaml is missing") as caught:
        load(own_rules)
    assert str(caught.value).startswith(f"{own_rules}: K003")


def test_a_folder_without_types(own_rules: Path) -> None:
    """Without types there is one message, and not one for each source that nothing cites."""
    shutil.rmtree(own_rules / "types")
    problems, _ = check(read_folder(own_rules), str(own_rules))
    [told] = [str(problem) for problem in problems if "holds no type" in problem.what]
    assert told.startswith(f"{own_rules}: K003: the folder types is missing")
    assert "K209" not in {problem.code for problem in problems}


def test_a_contradiction_has_its_line(run: Run, tmp_path: Path) -> None:
    """States that cannot stand together are told at the line of the first of them."""
    file = tmp_path / "T-1.yaml"
    split = RECORD.replace("{haft_style: stemmed, ", "\n  haft_style: lanceolate\n  ")
    split = split.replace("contracting, ", "contracting\n  ").replace("straight}", "straight")
    file.write_text(split, encoding="utf-8")
    result = run("describe", file)
    assert result.exit_code == 2
    assert f"{file}:5:15: K303: no piece can show these together" in result.stderr
