"""Facts about `keygen check`: the verdict, and what parts the types of a region."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

from typer.testing import CliRunner

from keygen.cli import app
from keygen.cli.check import MEANS, counts
from keygen.core.model import Rules
from keygen.core.separate import Kind
from tests.cli.conftest import Run
from tests.conftest import SMALL_RULES


def twinned(folder: Path, tells: bool) -> Path:
    """Return small rules in which Alder has a twin of the same definition, with or without a tell.

    Other look-alikes are left out.
    """
    rules = folder / "rules"
    shutil.copytree(SMALL_RULES, rules)
    alder = (rules / "types" / "alder.yaml").read_text(encoding="utf-8")
    body = alder.split("look_alikes:")[0].replace("name: Alder Stemmed", "name: Twin Stemmed")
    if tells:
        body += 'look_alikes:\n  - {type: alder, tell: "the twin is the heavier"}\n'
    lines = [line for line in body.splitlines() if not line.startswith("aliases:")]
    (rules / "types" / "twin.yaml").write_text("\n".join(lines) + "\n", encoding="utf-8")
    return rules


def test_region_table(run: Run) -> None:
    """With a region, every pair of its types is counted once and named unless the haft parts it."""
    done = run("check", "--region", "hills")
    assert done.exit_code == 0, done.output
    data = json.loads(run("check", "--region", "hills", "--format", "json").stdout)
    listed = [kind for kind in data["counts"] if kind != "parted"]
    assert len(data["pairs"]) == sum(data["counts"][kind] for kind in listed)
    assert done.stdout.startswith("The Hills (hills): 3 types, 3 pairs.")


def test_inseparable_pair_without_a_tell(tmp_path: Path) -> None:
    """A pair that nothing parts is flagged, with exit code 1, until one of the two has a tell."""
    for tells, code in ((False, 1), (True, 0)):
        rules = twinned(tmp_path / str(code), tells)
        arguments = ["check", "--region", "hills", "--rules", str(rules)]
        done = CliRunner().invoke(app, arguments, prog_name="keygen")
        assert done.exit_code == code, done.output
        assert "Alder Stemmed / Twin Stemmed" in done.stdout
        assert ("NO TELL" in done.stdout) is not tells
        assert ("the twin is the heavier" in done.stdout) is tells


def test_counts_of_all_regions(rules: Rules) -> None:
    """Every two types of a region are counted once, under one kind."""
    counted = counts(rules)
    assert set(counted) == set(rules.regions)
    for region, by_kind in counted.items():
        types = len(rules.in_region(region))
        assert sum(by_kind.values()) == types * (types - 1) // 2


def test_every_kind_is_explained() -> None:
    """The command says of every kind of pair what it means, hardest first."""
    assert list(MEANS) == [kind.value for kind in Kind]


def test_unknown_region(run: Run) -> None:
    """A region that is not known is bad use, with the nearest one named."""
    done = run("check", "--region", "hils")
    assert done.exit_code == 2
    assert "hills" in done.stderr
