"""Messages name the file and line that the user has before them."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest

from keygen.errors import KeygenError
from keygen.rulebase.check import check
from keygen.rulebase.folder import read_folder
from keygen.rulebase.load import load
from tests.cli.conftest import RECORD, Run
from tests.conftest import SMALL_RULES

TERMS = re.compile(r"\n +of: \[.*?\]")


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


@pytest.mark.parametrize(
    "row", ["9999999999,8000,20", "15001,nan,20", "15001,9,nan", "15001,1e400,2", "15001,-inf,20"]
)
def test_a_curve_without_end(own_rules: Path, row: str) -> None:
    """A calibration curve with a figure that no curve has is refused at its line."""
    [curve] = (own_rules / "curve").iterdir()
    text = curve.read_text(encoding="utf-8").rstrip("\n")
    curve.write_text(f"{text}\n{row}\n", encoding="utf-8")
    line = text.count("\n") + 2
    problems, _ = check(read_folder(own_rules))
    assert any(f"{curve.name}:{line}: K211: a figure is beyond" in str(one) for one in problems)
    assert {problem.code for problem in problems} == {"K211"}


def test_an_index_without_terms(own_rules: Path) -> None:
    """An index that says no terms is told as that, and the proofs of the others go on."""
    file = own_rules / "indices.yaml"
    text = file.read_text(encoding="utf-8")
    file.write_text(TERMS.sub("", text), encoding="utf-8")
    problems, _ = check(read_folder(own_rules))
    assert "K003" in {problem.code for problem in problems}


def test_a_contradiction_has_its_line(run: Run, tmp_path: Path) -> None:
    """States that cannot stand together are told at the line of the first of them."""
    file = tmp_path / "T-1.yaml"
    split = RECORD.replace("{haft_style: stemmed, ", "\n  haft_style: lanceolate\n  ")
    split = split.replace("contracting, ", "contracting\n  ").replace("straight}", "straight")
    file.write_text(split, encoding="utf-8")
    result = run("describe", file)
    assert result.exit_code == 2
    assert f"{file}:5:15: K303: no piece can show these together" in result.stderr
