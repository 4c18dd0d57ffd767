"""`keygen trace`: the trace alone, and with what would change the call."""

from __future__ import annotations

import json
from pathlib import Path

from tests.cli.conftest import Run


def test_what_if_follows_on_the_trace(run: Run, record_file: Path) -> None:
    """`--what-if` adds to the trace and changes nothing in it."""
    plain = run("trace", record_file)
    added = run("trace", record_file, "--what-if")
    assert (plain.exit_code, added.exit_code) == (0, 0)
    assert "What if" not in plain.stdout
    trace, _, told = added.stdout.partition("\n\nWhat if: T-1, called Alder Stemmed (assigned)\n")
    assert trace == plain.stdout.rstrip()
    assert "- If the stem were straight, the call would be" in told
    assert "The fewest observations that settle it" in told
    assert "(the region of the call): Alder Stemmed (assigned)" in told


def test_what_if_as_plain_data(run: Run, record_file: Path) -> None:
    """JSON has the key `what_if` only on request, with every region and the smallest sets."""
    plain = json.loads(run("trace", record_file, "--format", "json").stdout)
    added = json.loads(run("trace", record_file, "--what-if", "--format", "json").stdout)
    told = added.pop("what_if")
    assert added == plain
    assert told["call"] == {"status": "assigned", "types": ["alder"], "reason": None}
    assert {entry["region"]: entry["call"]["types"] for entry in told["regions"]}["hills"] == [
        "alder"
    ]
    assert told["fewest"]["same_call"]["exact"] is True
    assert set(told["fewest"]["same_call"]["attributes"]) <= set(plain["observed"])


def test_what_if_without_a_region(run: Run) -> None:
    """Without a region the regions are still told, and nothing else is."""
    words = ("trace", "--set", "haft_style=stemmed", "--what-if")
    result = run(*words)
    assert result.exit_code == 0
    assert "What if: by region\n- " in result.stdout
    told = json.loads(run(*words, "--format", "json").stdout)["what_if"]
    assert (told["call"], told["changes"], told["haft_only"]) == (None, [], None)
    assert told["regions"]


def test_a_bad_record_beside_a_good_one(run: Run, record_file: Path) -> None:
    """With several records the good ones are told, the bad one is reported, and the code is 2."""
    bad = record_file.with_name("bad.yaml")
    bad.write_text("keygen_record: 1\nobserved: {stem_shape: bent}\n", encoding="utf-8")
    result = run("trace", bad, record_file, "--what-if")
    assert result.exit_code == 2
    assert "What if: T-1" in result.stdout
    assert "'bent' is not a state of stem_shape" in result.stderr
