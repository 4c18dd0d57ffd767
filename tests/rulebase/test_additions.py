"""Facts about additions: a folder of one's own laid over the shipped rules."""

from __future__ import annotations

from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from keygen import data
from keygen.cli import app
from keygen.errors import KeygenError
from keygen.rulebase.check import check
from keygen.rulebase.folder import digest, read_folder
from keygen.rulebase.load import load
from tests.changed_rules import changed_rules
from tests.conftest import SMALL_RULES

ELDER = """\
name: Elder Stemmed
defined_by: {haft_style: [stemmed], stem_shape: [straight], glow: [glows]}
sources: [notes2001]
basis: memory
records:
  - region: dale
    period: Late Archaic
    dates: {from: 4500, to: 3500, scale: rcybp}
    sources: [notes2001]
    basis: memory
look_alikes:
  - {type: birch, tell: "Birch does not glow"}
"""
FILES = {
    "addition.yaml": "name: Dale notes\n",
    "types/elder.yaml": ELDER,
    "sources.yaml": 'sources:\n  notes2001: {cite: "Nobody (2001), Notes", year: 2001}\n',
    "regions.yaml": (
        "regions:\n"
        "  dale: {label: The Dale, place: in the Dale, states: [AA], neighbours: [hills]}\n"
    ),
    "periods.yaml": (
        "periods:\n"
        "  dale:\n"
        "    - {name: Late Archaic, dates: {from: 5000, to: 3000, scale: rcybp}, basis: common}\n"
        "  hills:\n"
        "    - {name: Dale phase, dates: {from: 4000, to: 3500, scale: rcybp}, basis: common}\n"
    ),
    "thesaurus.yaml": "words:\n  pegged: {means: [{stem_shape: [straight]}], used: in notes}\n",
    "vocabulary/lamp.yaml": (
        "attributes:\n  glow:\n    label: glow\n    kind: one\n    stability: finish\n"
        "    definition: Whether it glows.\n    states:\n"
        "      none: {term: no glow}\n      glows: {term: glowing}\n"
    ),
    "key/lamp.yaml": (
        "couplets:\n  - id: glow\n    number: 1001\n    ask: Does it glow?\n"
        "    look: In the dark.\n"
        "    a: {say: It glows, means: {glow: [glows]}, go: end}\n"
        "    b: {say: It does not, means: {glow: [none]}, go: end}\n"
    ),
}


@pytest.fixture(autouse=True)
def small_shipped(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Let the small rules be the shipped ones, and keep the cache apart."""
    real = data.root
    monkeypatch.setattr(data, "root", lambda kind: SMALL_RULES if kind == "rules" else real(kind))
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))


@pytest.fixture
def own(tmp_path: Path) -> Path:
    """Return a folder with an addition of every kind."""
    folder = tmp_path / "own"
    for name, text in FILES.items():
        write(folder, name, text)
    return folder


def write(folder: Path, name: str, text: str) -> None:
    """Write a file of an addition."""
    path = folder / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")


def run(*words: object) -> Result:
    """Run keygen."""
    return CliRunner().invoke(app, [str(word) for word in words], prog_name="keygen")


def told(folder: Path) -> str:
    """Return what `keygen check` finds in a folder."""
    problems, _ = check(read_folder(folder), "own")
    return "\n".join(map(str, problems))


def test_an_addition_of_every_kind_is_sound(own: Path) -> None:
    """Types, sources, regions, periods, words and couplets are proved with the shipped ones."""
    assert told(own) == ""
    rules, small = load(own), load(SMALL_RULES)
    assert set(rules.types) == {*small.types, "elder"}
    assert rules.attributes[-1].id == "glow"
    assert [one.name for one in rules.periods["hills"]][-1] == "Dale phase"
    assert rules.regions["hills"].neighbours == (*small.regions["hills"].neighbours, "dale")
    assert load(own) == rules  # from the cache


def test_the_edition_names_the_addition(own: Path) -> None:
    """The edition is the shipped one with the addition's name, and the digest covers both."""
    rules = load(own)
    assert rules.edition == "0.1 + Dale notes"
    assert rules.digest == digest(read_folder(own)) != load(SMALL_RULES).digest
    before = rules.digest
    write(own, "types/elder.yaml", ELDER + "note: x\n")
    assert load(own).digest != before
    (own / "addition.yaml").unlink()
    assert load(own).edition == "0.1 + additions"


def test_own_couplets_come_last(own: Path) -> None:
    """Every way through the shipped key leads on to the couplets of the addition."""
    rules = load(own)
    ends = [c.id for c in rules.couplets.values() for lead in c.leads if not lead.go]
    assert ends == ["glow", "glow"]


def test_commands_take_an_addition(own: Path, tmp_path: Path) -> None:
    """Describe, types, trace, key, table and the pocket page work on the whole."""
    seen = ("--set", "stemmed", "--set", "pegged", "--set", "glowing", "-r", "dale")
    for command in ("describe", "trace"):
        found = run(command, *seen, "--rules", own)
        assert found.exit_code == 0, found.stderr
        assert "Elder Stemmed" in found.stdout
    assert "0.1 + Dale notes" in found.stdout
    assert "Defined after Nobody (2001)" in run("types", "elder", "--rules", own).stdout
    page = run("key", "--as", "page", "-r", "dale", "--rules", own)
    assert '"0.1 + Dale notes"' in page.stdout
    assert "edition 0.1 + Dale notes, digest" in run("key", "--rules", own).stdout
    record = tmp_path / "E-1.yaml"
    walked = CliRunner().invoke(
        app,
        ["walk", str(record), "-r", "dale", "--rules", str(own)],
        input="enough\n" + "\n" * 20,
        prog_name="keygen",
    )
    assert walked.exit_code == 0, walked.stderr
    assert 'edition: "0.1 + Dale notes"' in record.read_text(encoding="utf-8")
    finds = tmp_path / "finds.csv"
    finds.write_text("Specimen,Haft style,Stem shape,Glow\n1,stemmed,pegged,glowing\n")
    table = run("table", finds, "-r", "dale", "--rules", own, "--out", "-")
    assert "Elder Stemmed" in table.stdout
    assert "0.1 + Dale notes (" in table.stdout


def test_a_shipped_type_is_replaced_only_on_purpose(own: Path) -> None:
    """A type of a shipped id is refused unless it says `replaces: true`."""
    write(own, "types/birch.yaml", ELDER.replace("birch", "alder").replace("Elder", "Birk"))
    assert "own/types/birch.yaml:1:1: K006: a type 'birch' ships" in told(own)
    text = (own / "types/birch.yaml").read_text(encoding="utf-8")
    write(own, "types/birch.yaml", "replaces: true\n" + text)
    assert load(own).types["birch"].name == "Birk Stemmed"


@pytest.mark.parametrize(
    ("name", "text", "expected"),
    [
        ("types/elder.yaml", "replaces: true\n" + ELDER, "types/elder.yaml:1:11: K005: 'replaces'"),
        ("types/elder.yaml", "replaces: 1\n" + ELDER, "types/elder.yaml:1:11: K004: 'replaces' is"),
        ("types/old_alder.yaml", ELDER, "types/old_alder.yaml:1:1: K206: 'old_alder' is an older"),
        (
            "types/elder.yaml",
            ELDER.replace("Late Archaic", "Paleoindian"),
            "types/elder.yaml:7:13: K210",
        ),
        ("types/elder.yaml", ELDER.replace("glows", "glow"), "elder.yaml:2:68: K005: the glow"),
        (
            "sources.yaml",
            FILES["sources.yaml"] + "  made_up2000: {cite: x, year: 1}\n",
            "own/sources.yaml:3:3: K006: 'made_up2000' ships with these rules and says something",
        ),
        (
            "sources.yaml",
            FILES["sources.yaml"] + "  more: {cite: x, year: 1}\n",
            "own/sources.yaml:3:3: K209: the source 'more' is cited nowhere",
        ),
        ("periods.yaml", "periods:\n  dale: 3\n", "own/periods.yaml:2:9: K004: a list of periods"),
        (
            "periods.yaml",
            FILES["periods.yaml"].replace("basis: common}\n", "basis: commn}\n"),
            "own/periods.yaml:5:",
        ),
        (
            "thesaurus.yaml",
            "words:\n  x: {means: [{a: [b]}], used: y}\n",
            "thesaurus.yaml:2:16: K221",
        ),
        ("measures.yaml", "measurements: {}\n", "own/measures.yaml:1:1: K002: an addition has no"),
        ("typs/fir.yaml", ELDER, "own/typs/fir.yaml:1:1: K002: an addition has no typs/fir.yaml"),
        ("vocabulary/haft.yaml", "attributes: {}\n", "vocabulary/haft.yaml:1:1: K006: a group"),
        ("vocabulary/new.yaml", "attributes: {}\n", "vocabulary/new.yaml:1:1: K003"),
        (
            "key/lamp.yaml",
            FILES["key/lamp.yaml"].replace("1001", "44"),
            "own/key/lamp.yaml:3:13: K106: couplet number 44 is kept for the shipped key",
        ),
        ("addition.yaml", "name: a/b\n", "own/addition.yaml:1:7: K004: the name 'a/b'"),
    ],
)
def test_faults_name_the_own_file(own: Path, name: str, text: str, expected: str) -> None:
    """What is wrong in an addition is told with its own file, line and column."""
    write(own, name, text)
    assert expected in told(own)


def test_a_shipped_entry_may_be_said_over_again(own: Path) -> None:
    """An entry that is just as the shipped one is no fault."""
    text = (SMALL_RULES / "sources.yaml").read_text(encoding="utf-8").splitlines()[1]
    write(own, "sources.yaml", FILES["sources.yaml"] + text + "\n")
    assert told(own) == ""


def test_a_shipped_work_that_lost_its_type(
    own: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A shipped work is not faulted when the one type that cites it is replaced."""
    more = "sources:\n  only2002: {cite: Only (2002), year: 2002}\n"
    shipped = changed_rules(tmp_path / "shipped", ("sources.yaml", "sources:\n", more))
    birch = shipped / "types" / "birch.yaml"
    before = birch.read_text(encoding="utf-8")
    birch.write_text(before.replace("made_up2000", "only2002"), encoding="utf-8")
    monkeypatch.setattr(data, "root", lambda _kind: shipped)
    assert told(own) == ""
    write(own, "types/birch.yaml", "replaces: true\n" + before)
    assert told(own) == ""


def test_over_a_pack(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """An addition names the pack that it is laid over; one that does not ship is refused."""
    monkeypatch.setattr(data, "packs", lambda: {"little": SMALL_RULES})
    write(tmp_path / "a", "addition.yaml", "name: A\nover: little\n")
    assert load(tmp_path / "a").edition == "0.1 + A"
    write(tmp_path / "b", "addition.yaml", "over: litle\n")
    with pytest.raises(KeygenError, match=r"addition\.yaml:1:7: K005: .* Did you mean 'little'"):
        load(tmp_path / "b")


def test_a_folder_with_neither(tmp_path: Path) -> None:
    """A folder that is neither whole rules nor an addition is told in one message."""
    (problem,), _ = check(read_folder(tmp_path), "empty")
    assert str(problem).startswith("empty: K003: neither whole rules")


def test_a_record_made_with_an_addition(own: Path, tmp_path: Path) -> None:
    """Without the folder a reviewer is told which addition a record was made with."""
    record = tmp_path / "r.yaml"
    seen = "{haft_style: stemmed, stem_shape: straight, glow: glows}"
    text = f"keygen_record: 1\nregion: dale\nobserved: {seen}\n"
    record.write_text(text, encoding="utf-8")
    assert run("rerun", record, "--rules", own, "--write").exit_code == 0
    assert "same: assigned Elder" in run("rerun", record, "--rules", own).stdout
    without = run("rerun", record, "--rules", SMALL_RULES)
    assert without.exit_code == 2
    assert "K314: it was made with the rules '0.1 + Dale notes', not with '0.1'" in without.stderr
    text = record.read_text(encoding="utf-8").replace("dale", "hills").replace(", glow: glows", "")
    record.write_text(text, encoding="utf-8")
    changed = run("rerun", record, "--rules", SMALL_RULES)
    assert changed.exit_code == 1
    assert "the call was made with rules 0.1 + Dale notes (" in changed.stdout
    assert "--rules takes the folder of that addition" in changed.stdout


def test_main_is_a_name_of_the_main_rules() -> None:
    """The main rules can be named where two rules folders are compared."""
    assert data.rules(Path("main")) == data.root("rules")
    assert "The rules say the same" in run("rerun", "--between", "main", SMALL_RULES).stdout
