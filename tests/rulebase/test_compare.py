"""Two editions side by side: entries, fields, renamed ids, and the calls that change."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from keygen.core.model import Rules
from keygen.rulebase.compare import CallChange, Comparison, Told, compare, to_data
from keygen.rulebase.load import load
from tests.changed_rules import changed_rules
from tests.specimens.test_aliases import RENAMED

Change = tuple[str, str, str]
RATIO = "ratio of base_width, neck_width:"


def with_changes(small_rules: Rules, folder: Path, *changes: Change) -> Comparison:
    """Compare the small rules with a changed copy."""
    return compare(small_rules, load(changed_rules(folder / "new", *changes)))


def test_the_same_rules_do_not_differ(small_rules: Rules, tmp_path: Path) -> None:
    """A copy in another folder is the same edition."""
    assert with_changes(small_rules, tmp_path).same


@pytest.mark.parametrize(
    ("change", "where", "field"),
    [
        (
            ("types/birch.yaml", "[straight, incurvate]", "[straight]"),
            ("types", "birch"),
            ("defined_by base_shape", "straight, incurvate", "straight"),
        ),
        (
            ("types/cedar.yaml", "from: 10800", "from: 10900"),
            ("types", "cedar"),
            ("records hills dates", "10800 to 10000 rcybp", "10900 to 10000 rcybp"),
        ),
        (
            ("types/alder.yaml", "sure: false", "sure: true"),
            ("types", "alder"),
            (
                "records hills dates",
                "-5500 to -5000 bc/ad, scale not certain",
                "-5500 to -5000 bc/ad",
            ),
        ),
        (
            (
                "types/alder.yaml",
                "{from: 30, to: 80, basis: memory",
                "{from: 30, to: 90, basis: memory",
            ),
            ("types", "alder"),
            ("measures length high", "80", "90"),
        ),
        (
            ("types/alder.yaml", "Birch has parallel stem sides", "Look at the stem"),
            ("types", "alder"),
            ("look_alikes birch tell", "Birch has parallel stem sides", "Look at the stem"),
        ),
        (
            ("key/haft.yaml", "Is the base hollowed?", "Is it hollow?"),
            ("couplets", "base_hollow"),
            ("ask", "Is the base hollowed?", "Is it hollow?"),
        ),
        (
            ("key/haft.yaml", '{say: "Hollowed."', '{say: "Hollow."'),
            ("couplets", "base_hollow"),
            ("leads a say", "Hollowed.", "Hollow."),
        ),
        (
            ("vocabulary/haft.yaml", "narrower at the base", "drawn in"),
            ("attributes", "stem_shape"),
            ("states contracting means", "narrower at the base", "drawn in"),
        ),
        (
            (
                "measures.yaml",
                "{states: [expanding], from: 1.1}",
                "{states: [expanding], from: 1.2}",
            ),
            ("derived", "stem_by_ratio"),
            (
                "by",
                f"{RATIO} contracting 0 to 0.9, straight 0.9 to 1.1, expanding 1.1 to inf",
                f"{RATIO} contracting 0 to 0.9, straight 0.9 to 1.1, expanding 1.2 to inf",
            ),
        ),
        (
            ("parts.yaml", "    parts: [tip, blade]", "    parts: [tip]"),
            ("losses", "portion=proximal"),
            ("parts", "tip, blade", "tip"),
        ),
    ],
)
def test_a_changed_field_is_named(
    small_rules: Rules,
    tmp_path: Path,
    change: Change,
    where: tuple[str, str],
    field: tuple[str, str, str],
) -> None:
    """One change in the rules is one field of one entry, before and after."""
    found = with_changes(small_rules, tmp_path, change)
    told = [
        ((d.section, d.id), (f.name, f.was, f.now)) for d in found.differences for f in d.fields
    ]
    assert told == [(where, field)]


def test_types_come_and_go(small_rules: Rules, tmp_path: Path) -> None:
    """A type that is gone and one that is new are told, with what they were and are called."""
    folder = changed_rules(tmp_path / "new")
    (folder / "types" / "alder.yaml").rename(folder / "types" / "elm.yaml")
    found = compare(small_rules, load(folder))
    assert [(d.section, d.id, d.change) for d in found.differences] == [
        ("types", "alder", "removed"),
        ("types", "elm", "added"),
    ]
    was, now = Told("assigned", ("alder",)), Told("assigned", ("elm",))
    assert CallChange("alder", "older", ("hills",), was, now) in found.calls
    assert CallChange("elm", "newer", ("hills",), was, now) in found.calls


def test_a_renamed_type_changes_no_call(small_rules: Rules, tmp_path: Path) -> None:
    """A type with its old id among its aliases is renamed, not removed and added."""
    folder = changed_rules(
        tmp_path / "new", ("types/alder.yaml", "[old_alder]", "[old_alder, alder]")
    )
    (folder / "types" / "alder.yaml").rename(folder / "types" / "elm.yaml")
    found = compare(small_rules, load(folder))
    assert [(d.id, d.was_id, d.change) for d in found.differences] == [("elm", "alder", "changed")]
    assert found.calls == ()


def test_renamed_words_change_no_definition(small_rules: Rules, tmp_path: Path) -> None:
    """Old ids of attributes, states, items and couplets are followed through their aliases."""
    older = load(_called_as_before(tmp_path / "older"))
    newer = load(changed_rules(tmp_path / "newer", *RENAMED))
    found = compare(older, newer)
    assert {(d.section, d.id, d.was_id) for d in found.differences} == {
        ("attributes", "stem_shape", "peg"),
        ("attributes", "damage.heat", "harm.scorched"),
        ("attributes", "damage.tip_snap", "harm.tip_snap"),
        ("couplets", "stem_draws_in", "stem_tapers"),
    }
    assert {f.name for d in found.differences for f in d.fields} <= {
        "aliases",
        "states contracting aliases",
        "states present aliases",
    }
    assert found.calls == ()


def _called_as_before(folder: Path) -> Path:
    """Return the small rules with the ids to which `RENAMED` leads back."""
    before = {
        r"\bstem_shape\b": "peg",
        r"\bdamage(?=:)": "harm",
        r"(?<!term: )\bcontracting(?=[],:])": "narrowed",
        r"(?<!term: )\bheat(?=[]:])": "scorched",
        r"\bstem_draws_in\b": "stem_tapers",
    }
    for file in changed_rules(folder).rglob("*.yaml"):
        text = file.read_text(encoding="utf-8")
        for now, was in before.items():
            text = re.sub(now, was, text)
        file.write_text(text, encoding="utf-8")
    return folder


def test_a_wider_definition_changes_calls_of_its_own_pieces(
    small_rules: Rules, tmp_path: Path
) -> None:
    """What a definition newly takes in is called otherwise, and is told once for all regions."""
    change = (
        "types/alder.yaml",
        "stem_shape: [contracting]",
        "stem_shape: [contracting, expanding]",
    )
    found = with_changes(small_rules, tmp_path, change)
    assert found.calls == (
        CallChange(
            "alder", "newer", ("hills",), Told("cf.", ("alder",)), Told("assigned", ("alder",))
        ),
    )


def test_a_citation_changes_no_call(small_rules: Rules, tmp_path: Path) -> None:
    """What no call depends on is told, and nothing is called again for it."""
    found = with_changes(
        small_rules, tmp_path, ("regions.yaml", "label: The Hills", "label: Hills")
    )
    assert [d.section for d in found.differences] == ["regions"]
    assert found.calls == ()


def test_a_comparison_is_plain_data(small_rules: Rules, tmp_path: Path) -> None:
    """As data a comparison can be written as JSON, with the editions it is between."""
    change = ("types/birch.yaml", "[straight, incurvate]", "[straight]")
    data = json.loads(json.dumps(to_data(with_changes(small_rules, tmp_path, change))))
    assert data["older"] == {"edition": "0.1", "digest": small_rules.digest}
    assert data["differences"][0]["fields"] == [
        {"name": "defined_by base_shape", "was": "straight, incurvate", "now": "straight"}
    ]
