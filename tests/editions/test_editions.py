"""What was recorded with an older edition still reads, and is called as expected.

Each folder stands for what people have on disk from one edition. Nothing in it is ever edited; new
records, and lines in `expected.yaml`, are added.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
import yaml
from typer.testing import CliRunner

from keygen.cli import app
from keygen.core.model import Rules
from keygen.specimens import path, record
from keygen.specimens.terms import Lexicon

EDITIONS = sorted(p for p in Path(__file__).parent.iterdir() if (p / "ids.yaml").exists())
RECORDS = sorted(p for folder in EDITIONS for p in folder.glob("*-*.yaml"))
PATHS = sorted(p for folder in EDITIONS for p in folder.glob("*.path"))


def expected(file: Path) -> dict[str, Any]:
    """Return what holds now for a record or path."""
    data = yaml.safe_load((file.parent / "expected.yaml").read_text(encoding="utf-8"))
    latest: dict[str, Any] = data[file.name][-1]
    return latest


def invoke(*arguments: str) -> Any:
    """Run keygen with the rules that ship with it, and return its JSON."""
    return json.loads(CliRunner().invoke(app, [*arguments, "--format", "json"]).stdout)


def test_the_first_edition_is_kept() -> None:
    """The records of the first edition are there."""
    assert [p.name for p in RECORDS if p.parent.name == "2026.1"][:3] == [
        "F-1.yaml", "F-2.yaml", "F-3.yaml",
    ]  # fmt: skip
    assert "F-4.path" in {p.name for p in PATHS}


@pytest.mark.parametrize("file", RECORDS, ids=lambda p: f"{p.parent.name}/{p.name}")
def test_a_record_reruns_as_expected(file: Path) -> None:
    """The record reads, and its call is as expected beside the one that was made."""
    (entry,) = invoke("rerun", str(file))["records"]
    now = {key: entry["now"][key] for key in ("status", "types")}
    wanted = expected(file)
    assert {"outcome": entry["outcome"], **now} == {k: wanted[k] for k in ("outcome", *now)}
    assert entry["was"]["edition"] == file.parent.name


@pytest.mark.parametrize("file", RECORDS, ids=lambda p: f"{p.parent.name}/{p.name}")
def test_a_walked_record_can_be_walked_again(file: Path, rules: Rules) -> None:
    """The path in a record leads to the observations that the record holds."""
    lexicon = Lexicon(rules)
    specimen = record.load(lexicon, file)
    assert specimen.piece.observations
    if specimen.path:
        walked = record.observed_at(rules, path.read(lexicon, specimen.path).position)
        masks = {i: o.mask for i, o in specimen.piece.observations.items()}
        assert {i: o.mask for i, o in walked.items()} == masks


@pytest.mark.parametrize("file", PATHS, ids=lambda p: f"{p.parent.name}/{p.name}")
def test_a_path_leads_where_it_led(file: Path) -> None:
    """A walk that was written down gives the call it gave."""
    wanted = expected(file)
    steps = file.read_text(encoding="utf-8").strip()
    call = invoke("describe", "--path", steps, "--region", wanted["region"])["call"]
    assert {key: call[key] for key in ("status", "types")} == {
        key: wanted[key] for key in ("status", "types")
    }


@pytest.mark.parametrize("folder", EDITIONS, ids=lambda p: p.name)
def test_every_id_still_reads(folder: Path, rules: Rules) -> None:
    """No attribute, state, couplet, measurement, region or type was dropped without an alias."""
    ids = yaml.safe_load((folder / "ids.yaml").read_text(encoding="utf-8"))
    lexicon = Lexicon(rules)
    for name, states in ids["attributes"].items():
        for state in states:
            assert lexicon.observe(lexicon.attribute(name), [state])
    for number, name in ids["couplets"].items():
        assert rules.by_number[number].id == rules.couplet_names[name]
    assert set(ids["measurements"]) <= rules.measurements.keys()
    assert set(ids["regions"]) <= rules.regions.keys()
    assert set(ids["types"]) <= rules.names.keys()
