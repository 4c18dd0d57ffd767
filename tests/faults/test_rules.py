"""Rules of malice or by a slip: told with their place by `keygen check` and by whatever loads them.

Each of these once ended in a traceback or never, and was found by `python -m tests.bench.fuzz`.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Mapping
from pathlib import Path

import pytest

from keygen.errors import KeygenError
from keygen.rulebase.additions import OWN
from keygen.rulebase.bounded import MOST_BYTES
from keygen.rulebase.check import check
from keygen.rulebase.folder import read_folder
from keygen.rulebase.load import load
from tests.cli.conftest import Run
from tests.conftest import SMALL_RULES
from tests.rulebase.test_additions import FILES

LATE = "{name: Late Archaic, dates: {from: 5000, to: 3000, scale: rcybp}"
BLADE_ID = "- id: blade_line\n    number: 11"


@pytest.fixture
def own(tmp_path: Path) -> Path:
    """Return a copy of the small rules."""
    shutil.copytree(SMALL_RULES, tmp_path / "own")
    return tmp_path / "own"


def told(files: Mapping[str, bytes]) -> str:
    """Return all that `keygen check` says."""
    return "\n".join(map(str, check(files)[0]))


@pytest.mark.parametrize(
    ("file", "old", "new", "said"),
    [
        ("periods.yaml", LATE, LATE.replace("Late Archaic", '""'), ":5:14: K004: 'name' is empty"),
        (
            "periods.yaml",
            LATE,
            LATE.replace("name: Late Archaic,", ""),
            ":5:7: K003: the key 'name'",
        ),
        ("types/alder.yaml", "scale: bc/ad", "scale: ''", ":13:44: K004: 'scale' is empty"),
        ("types/alder.yaml", "scale: bc/ad, ", "", ":13:5: K003: the key 'scale' is missing"),
        ("indices.yaml", "    figure: sum\n", "", ":17:3: K003: the key 'figure' is missing"),
        ("indices.yaml", "figure: sum", "figure: ' '", ":20:13: K004: 'figure' is empty"),
        ("key/blade.yaml", BLADE_ID, "- number: 11", ":2:5: K003: the key 'id' is missing"),
        ("key/blade.yaml", "id: blade_line", 'id: ""', ":2:9: K004: 'id' is empty"),
        ("key/blade.yaml", "id: blade_line", "id: 7", ":2:9: K004: 'id' has to be text"),
        (
            "key/blade.yaml",
            "[straight]}, go: end",
            "[straight]}, go: blade_line",
            "K101: the key runs",
        ),
        ("key/blade.yaml", "[straight]}, go: end", "[straight]}, go: whole", "K101: the key runs"),
    ],
)
def test_a_slip_is_told(own: Path, file: str, old: str, new: str, said: str) -> None:
    """What is missing, empty or circular is told at its place, by the check and on loading."""
    text = (own / file).read_text(encoding="utf-8")
    assert text.count(old) == 1, "the small rules are no longer what this test changes"
    (own / file).write_text(text.replace(old, new), encoding="utf-8")
    assert said in told(read_folder(own))
    with pytest.raises(KeygenError) as caught:
        load(own)
    assert said in str(caught.value)


@pytest.mark.parametrize("couplets", ["couplets: 7\n", "couplets: {a: b}\n", "couplets: ab\n"])
def test_couplets_that_are_no_list(own: Path, couplets: str) -> None:
    """A key file whose couplets are no list is told at that."""
    (own / "key" / "blade.yaml").write_text(couplets, encoding="utf-8")
    assert "key/blade.yaml:1:" in told(read_folder(own))
    assert "K004: 'couplets' has to be a list" in told(read_folder(own))


def test_a_vocabulary_of_nothing(own: Path) -> None:
    """Without attributes there is nothing to choose from, and that is told."""
    for file in (own / "vocabulary").iterdir():
        file.write_text("attributes: {}\n", encoding="utf-8")
    (own / "edition.yaml").write_text(
        'edition: "0.1"\nstart: whole\ngroups: [condition, haft, blade]\n', encoding="utf-8"
    )
    assert "K005: 'attribute' is " in told(read_folder(own))


@pytest.mark.parametrize("neighbours", ["[{hills: coast}]", "[[hills]]", "[null, 3]"])
def test_neighbours_that_are_no_names(neighbours: str) -> None:
    """A region of one's own whose neighbours are no names is told at that."""
    regions = FILES["regions.yaml"].replace("[hills]", neighbours)
    small = read_folder(SMALL_RULES)
    own = {OWN + name: text.encode() for name, text in (FILES | {"regions.yaml": regions}).items()}
    assert "regions.yaml:2:" in told(small | own)
    assert "has to be text" in told(small | own)


def test_a_folder_that_is_no_rules(own: Path) -> None:
    """Pipes are not waited for, and folders far down are not looked through."""
    before = read_folder(own)
    os.mkfifo(own / "types" / "pipe.yaml")
    deep = own / "types" / "a" / "b" / "c"
    deep.mkdir(parents=True)
    (deep / "x.yaml").write_text("name: X\n", encoding="utf-8")
    (own / "loop").symlink_to(own)
    found = {name for name in read_folder(own) if not name.startswith("loop/")}
    assert found == before.keys()


@pytest.mark.parametrize("name", ["types/alder.yaml", "curve/straight.csv"])
def test_a_rule_file_without_end(own: Path, name: str) -> None:
    """A rule file longer than any is not read to its end."""
    with (own / name).open("ab") as file:
        file.truncate(MOST_BYTES + 1)
    with pytest.raises(KeygenError, match=f"{name}: K001: longer than 4 MB"):
        read_folder(own)


@pytest.mark.parametrize(
    "words",
    [
        ("describe", "big.yaml"),
        ("trace", "big.yaml"),
        ("rerun", "big.yaml"),
        ("table", "t.csv", "--mapping", "big.yaml", "--region", "hills"),
    ],
)
def test_files_without_end(
    run: Run, tmp_path: Path, words: tuple[str, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A record or mapping file longer than any is not read to its end, and that is said."""
    monkeypatch.chdir(tmp_path)
    Path("t.csv").write_text("specimen,stem_shape\na,straight\n", encoding="utf-8")
    with Path("big.yaml").open("wb") as file:
        file.truncate(MOST_BYTES + 1)
    result = run(*words)
    assert result.exit_code == 2
    assert "big.yaml: K001: longer than 4 MB" in result.stderr


def test_standard_input_without_end(run: Run) -> None:
    """Standard input is read no further than a record can go."""
    result = run("describe", "-", typed="x" * (MOST_BYTES + 1))
    assert result.exit_code == 2
    assert "standard input: K001: longer than 4 MB" in result.stderr
