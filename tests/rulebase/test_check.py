"""Facts about the proofs: sound rules pass, and each fault is found at its place."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

from keygen import data
from keygen.core.states import MOST_STATES
from keygen.rulebase.check import check
from keygen.rulebase.folder import read_folder
from tests.conftest import SMALL_RULES

BROKEN = sorted((Path(__file__).parent.parent / "broken").glob("*.yaml"))


def broken_rules(case: dict[str, Any]) -> dict[str, bytes]:
    """Return the small rules with one fault put in."""
    files = read_folder(SMALL_RULES)
    text = files[case["file"]].decode()
    assert text.count(case["find"]) == 1, "the fixture no longer fits the small rules"
    files[case["file"]] = text.replace(case["find"], case["replace"]).encode()
    return files


def test_small_rules_are_sound() -> None:
    """The small rules, into which faults are put below, have none of their own."""
    problems, rules = check(read_folder(SMALL_RULES))
    assert problems == []
    assert rules is not None


def test_shipped_rules_are_sound() -> None:
    """The shipped rules pass every proof."""
    problems, _ = check(read_folder(data.root("rules")))
    assert [str(problem) for problem in problems] == []


def test_there_are_broken_rules() -> None:
    """The folder of faults was found."""
    assert len(BROKEN) >= 30


@pytest.mark.parametrize("path", BROKEN, ids=lambda path: path.stem)
def test_fault_is_found(path: Path) -> None:
    """A single fault is reported with its code, file, line and the words that name it."""
    case = yaml.safe_load(path.read_text(encoding="utf-8"))
    problems, _ = check(broken_rules(case))
    found = [p for p in problems if p.code == case["code"]]
    told = [str(p) for p in found if all(word in str(p) for word in case["words"])]
    assert told, [str(p) for p in problems]
    if "line" in case:
        assert any(t.startswith(f"rules/{case['file']}:{case['line']}:") for t in told), told


def test_too_many_states() -> None:
    """An attribute with more states than are read is a fault of its file, and stops no proof."""
    files = read_folder(SMALL_RULES)
    name = next(name for name in files if name.startswith("vocabulary/"))
    more = "".join(f"      s{i}: {{term: s{i}}}\n" for i in range(MOST_STATES))
    files[name] = files[name].replace(b"    states:\n", f"    states:\n{more}".encode(), 1)
    problems, _ = check(files)
    assert any(p.code == "K004" and f"no more than {MOST_STATES}" in p.what for p in problems)


def test_all_problems_at_once() -> None:
    """Faults in several files are all reported in one run, sorted by place."""
    files = read_folder(SMALL_RULES)
    files["types/alder.yaml"] = files["types/alder.yaml"].replace(b"also:", b"allso:")
    files["types/birch.yaml"] = files["types/birch.yaml"].replace(b"region: coast", b"region: sea")
    files["types/cedar.yaml"] = files["types/cedar.yaml"].replace(
        b"basis: memory", b"basis: hope", 1
    )
    problems, _ = check(files)
    assert {p.file for p in problems} >= {
        "rules/types/alder.yaml",
        "rules/types/birch.yaml",
        "rules/types/cedar.yaml",
    }
    assert problems == sorted(problems)


def test_missing_file_is_named() -> None:
    """A rules folder without one of its files says which."""
    files = read_folder(SMALL_RULES)
    del files["regions.yaml"]
    problems, rules = check(files)
    assert rules is None
    assert any("regions.yaml is missing" in p.what for p in problems)


def test_not_utf8() -> None:
    """A file in another encoding is named, with the byte that cannot be read."""
    files = read_folder(SMALL_RULES)
    files["types/alder.yaml"] = b"name: Ald\xe9r\n"
    problems, _ = check(files)
    assert any("not UTF-8 at byte 9" in p.what for p in problems)
