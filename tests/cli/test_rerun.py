"""`rerun`: what it prints, writes and refuses."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
import yaml
from typer.testing import CliRunner

from keygen.cli import app
from tests.changed_rules import changed_rules
from tests.cli.conftest import Run
from tests.conftest import SMALL_RULES

SIGN = ("--sign", "Birch", "--reason", "compared with the collection", "--by", "A. B.")
WIDER = ("types/birch.yaml", "stem_shape: [straight]", "stem_shape: [straight, contracting]")


def invoke(*arguments: object) -> Any:
    """Run `keygen rerun` with the rules that the arguments name."""
    return CliRunner().invoke(app, ["rerun", *map(str, arguments)], prog_name="keygen")


@pytest.fixture
def newer(tmp_path: Path) -> Path:
    """Return rules in which Birch can have a contracting stem too."""
    return changed_rules(tmp_path / "newer", WIDER)


def test_a_record_without_a_call_gets_one(run: Run, record_file: Path) -> None:
    """A record from before calls were kept is judged, and with --write keeps the call."""
    before = record_file.read_text(encoding="utf-8")
    told = run("rerun", record_file)
    assert (told.exit_code, told.stderr) == (0, "")
    assert told.stdout == (
        f"{record_file}: no earlier call for this region is known; now assigned Alder Stemmed\n"
    )
    assert record_file.read_text(encoding="utf-8") == before
    assert run("rerun", record_file, "--write").stderr == f"{record_file} written\n"
    after = record_file.read_text(encoding="utf-8")
    assert after.startswith(before)
    assert yaml.safe_load(after)["key_call"]["types"] == ["alder"]
    again = run("rerun", record_file, "--write")
    assert again.stdout == f"{record_file}: same: assigned Alder Stemmed\n"
    assert record_file.read_text(encoding="utf-8") == after


def test_a_changed_call_is_told_with_its_rule(run: Run, record_file: Path, newer: Path) -> None:
    """Exit code 1, from what to what, and through which change of the rules."""
    run("rerun", record_file, "--write")
    found = invoke(record_file, "--rules", newer, "--old", SMALL_RULES)
    assert found.exit_code == 1
    assert found.stdout.splitlines() == [
        f"{record_file}: changed: assigned Alder Stemmed -> either Alder Stemmed, Birch Stemmed",
        "  Birch Stemmed is now among them:",
        "    types/birch: defined_by stem_shape: straight -> straight, contracting",
        "    met: haft_style, stem_shape, base_shape",
    ]


def test_older_rules_stand_in_for_a_call_that_was_not_kept(
    run: Run, record_file: Path, newer: Path
) -> None:
    """With --old a record that keeps no call is judged with those rules first."""
    found = invoke(record_file, "--rules", newer, "--old", SMALL_RULES, "--format", "json")
    (entry,) = json.loads(found.stdout)["records"]
    assert (found.exit_code, entry["outcome"]) == (1, "changed")
    assert entry["was"]["types"] == ["alder"]


def test_writing_keeps_what_was(run: Run, record_file: Path, newer: Path) -> None:
    """The new call takes the old one's place, and the history keeps both with their rules."""
    run("rerun", record_file, "--write")
    first = record_file.read_text(encoding="utf-8")
    invoke(record_file, "--rules", newer, "--write", "--by", "A. B.")
    data = yaml.safe_load(record_file.read_text(encoding="utf-8"))
    assert data["key_call"]["status"] == "either"
    assert [entry["by"] for entry in data["history"]] == ["keygen", "keygen"]
    assert "assigned alder in hills (0.1, " in data["history"][1]["what"]
    history = first.partition("history:")[2]
    assert history in record_file.read_text(encoding="utf-8")
    assert data["context"]["location"] == "17S 0123456"


@pytest.mark.parametrize(
    ("register", "told"),
    [
        ("note", "(A. B., 2026-05-03): Birch Stemmed; compared with the collection"),
        ("report", "differs from the key's: Birch Stemmed, because compared"),
        ("catalogue", "(A. B., 2026-05-03): Birch Stemmed; compared with the collection"),
        ("account", "differs from the key's: Birch Stemmed, because compared"),
    ],
)
def test_a_signed_disagreement_is_in_every_register(
    run: Run, record_file: Path, register: str, told: str
) -> None:
    """Both calls stand in every register and in JSON, the analyst's with its reason."""
    signed = run("rerun", record_file, *SIGN, "--date", "2026-05-03", "--write")
    assert signed.exit_code == 0
    text = " ".join(run("describe", record_file, "--register", register).stdout.split())
    assert told in text
    assert "Alder Stemmed" in text
    data = json.loads(
        run("describe", record_file, "--register", register, "--format", "json").stdout
    )
    assert told in " ".join(data["text"].split())
    assert data["call"]["types"] == ["alder"]
    assert data["analyst"] == {
        "call": "Birch",
        "type": "birch",
        "reason": "compared with the collection",
        "by": "A. B.",
        "date": "2026-05-03",
        "agrees": False,
    }


def test_the_history_is_in_the_account(run: Run, record_file: Path) -> None:
    """A reviewer sees who changed what, when and why; the other registers leave it out."""
    run(
        "rerun",
        record_file,
        "--set",
        "stem_shape=?",
        "--by",
        "A. B.",
        "--reason",
        "worn",
        "--write",
    )
    account = run("describe", record_file, "--register", "account").stdout
    assert "History of the record\n" in account
    assert "A. B.: stem_shape: contracting -> unsure (worn)" in account
    assert "History" not in run("describe", record_file).stdout
    data = json.loads(run("describe", record_file, "--format", "json").stdout)
    assert data["history"][0]["what"] == "stem_shape: contracting -> unsure"


def test_nothing_is_written_without_being_told_to(run: Run, record_file: Path) -> None:
    """A sign-off or a changed observation is shown first, and kept only with --write."""
    before = record_file.read_text(encoding="utf-8")
    shown = run("rerun", record_file, *SIGN)
    assert "is left as it is; --write keeps the change" in shown.stderr
    shown = run("rerun", record_file, "--set", "stem_shape=straight", "--by", "A. B.")
    assert shown.exit_code == 1
    assert "changed: assigned Alder Stemmed -> assigned Birch Stemmed" in shown.stdout
    assert "  stem_shape: contracting -> straight\n" in shown.stdout
    assert record_file.read_text(encoding="utf-8") == before


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ((), "Nothing to judge"),
        (("FILE", "FILE", *SIGN), "give one file"),
        (("FILE", *SIGN[:4]), "need --by"),
        (("FILE", *SIGN[:2], *SIGN[4:]), "needs --reason"),
        (("FILE", *SIGN, "--date", "May"), "--date: 'May' is not a date"),
        (("FILE", *SIGN[:5], "A.\x1bB."), "--by: the hidden character U+001B"),
        (("FILE", "--set", "stem_shape=?", "--by", "A", "--old", "none"), "one after the other"),
        (("FILE", "--set", "stem_shape=bent", "--by", "A"), "'bent' is not a state of stem_shape"),
        (("FILE", "--region", "coast", "--write"), "the record's own region (hills)"),
        (("FILE", "--old", "no-such-folder"), "no rules folder at no-such-folder"),
        (("FILE", "--between", "a", "b"), "leave out all else"),
        (("no.yaml",), "no.yaml: no such file"),
        (("-",), "-: no such file"),
    ],
)
def test_bad_use_is_explained(
    run: Run, record_file: Path, arguments: tuple[str, ...], message: str
) -> None:
    """What cannot be done ends with exit code 2 and a message, and no record is touched."""
    before = record_file.read_bytes()
    words = [str(record_file) if word == "FILE" else word for word in arguments]
    result = run("rerun", *words)
    assert result.exit_code == 2
    assert message in result.stderr
    assert record_file.read_bytes() == before


def test_a_bad_file_does_not_stop_the_others(run: Run, record_file: Path) -> None:
    """A file that is no record is reported, the others are judged, and the exit code is 2."""
    bad = record_file.with_name("bad.yaml")
    bad.write_text("a: 1\n", encoding="utf-8")
    result = run("rerun", bad, record_file, "--format", "json")
    assert result.exit_code == 2
    assert "K301" in result.stderr
    assert [entry["file"] for entry in json.loads(result.stdout)["records"]] == [str(record_file)]


def test_between_two_editions(newer: Path) -> None:
    """The report names the changed field and what becomes of pieces that are just so."""
    found = invoke("--between", SMALL_RULES, newer)
    assert found.exit_code == 1
    lines = found.stdout.splitlines()
    assert lines[2:6] == [
        "types: 1 changed",
        "",
        "types/birch: changed",
        "  defined_by stem_shape: straight -> straight, contracting",
    ]
    assert "    alder in hills" in lines
    data = json.loads(invoke("--between", SMALL_RULES, newer, "--format", "json").stdout)
    assert data["differences"][0]["id"] == "birch"
    assert data["calls"]


def test_between_a_folder_and_itself() -> None:
    """Rules that are the same end with exit code 0."""
    found = invoke("--between", SMALL_RULES, SMALL_RULES)
    assert found.exit_code == 0
    assert found.stdout.endswith("The rules say the same.\n")


def test_what_is_removed_needs_an_alias(newer: Path) -> None:
    """A type that is taken out is told with what that means for records."""
    (newer / "types" / "cedar.yaml").unlink()
    found = invoke("--between", SMALL_RULES, newer)
    assert "types/cedar: removed\n  Records that name it no longer read" in found.stdout
    renamed = changed_rules(
        newer.with_name("renamed"), ("vocabulary/condition.yaml", "      heat: {", "      fire: {")
    )
    files = [*renamed.glob("key/*.yaml"), *renamed.glob("*.yaml")]
    for file in files:
        text = file.read_text(encoding="utf-8")
        file.write_text(text.replace("[heat]", "[fire]"), encoding="utf-8")
    assert (
        "attributes/damage.heat: removed\n  Records"
        in invoke("--between", SMALL_RULES, renamed).stdout
    )


def test_a_state_that_is_removed_needs_an_alias(tmp_path: Path) -> None:
    """A state that is called otherwise without an alias is told as one that is gone."""
    newer = changed_rules(
        tmp_path / "n", ("vocabulary/haft.yaml", "  expanding: {", "  flaring: {")
    )
    for file in newer.rglob("*.yaml"):
        text = file.read_text(encoding="utf-8")
        for was, now in (("expanding]", "flaring]"), ("[expanding", "[flaring")):
            text = text.replace(was, now)
        file.write_text(text, encoding="utf-8")
    found = invoke("--between", SMALL_RULES, newer)
    assert "  The state expanding is gone. Records that name it no longer read" in found.stdout
