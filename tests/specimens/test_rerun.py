"""Judging again: what changed, and through which rule."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from keygen.core.model import Rules
from keygen.rulebase.load import load
from keygen.specimens import record
from keygen.specimens.history import KeyCall
from keygen.specimens.record import Specimen
from keygen.specimens.rerun import Older, Rerun, rerun
from keygen.specimens.terms import Lexicon
from tests.changed_rules import changed_rules

TEXT = """\
keygen_record: 1
region: hills
observed: {haft_style: stemmed, stem_shape: contracting, base_shape: straight}
"""
BASE = "stem_shape: [contracting]"


def read(rules: Rules, text: str = TEXT) -> Specimen:
    """Read the record with some rules."""
    return record.read_text(Lexicon(rules), text, "x")


def again(
    small_rules: Rules, newer: Rules, text: str = TEXT, known: bool = True, region: str = "hills"
) -> Rerun:
    """Judge a record with changed rules, the older ones at hand or not."""
    made = record.judged(small_rules, read(small_rules, text))
    older = Older(small_rules, made.piece) if known else None
    return rerun(newer, replace(read(newer, text), key_call=made.key_call), region, "x", older)


@pytest.mark.parametrize(
    ("change", "now", "told"),
    [
        (
            ("types/alder.yaml", BASE, "stem_shape: [straight]"),
            ("untyped", ()),
            [("alder", "left", "types/alder: defined_by stem_shape: contracting -> straight")],
        ),
        (
            ("types/birch.yaml", "stem_shape: [straight]", "stem_shape: [straight, contracting]"),
            ("either", ("alder", "birch")),
            [
                (
                    "birch",
                    "joined",
                    "types/birch: defined_by stem_shape: straight -> straight, contracting",
                )
            ],
        ),
        (
            ("types/alder.yaml", "region: hills", "region: coast"),
            ("untyped", ()),
            [("alder", "left", "types/alder: its record for hills is no longer there")],
        ),
        (
            ("types/dogwood.yaml", "region: coast", "region: hills"),
            ("assigned", ("alder",)),
            [],
        ),
        (
            (
                "types/alder.yaml",
                "{haft_style: [stemmed], stem_shape",
                "{portion: [complete], haft_style: [stemmed], stem_shape",
            ),
            ("cf.", ("alder",)),
            [("alder", "stays", "types/alder: defined_by portion: any -> complete")],
        ),
    ],
)
def test_the_changed_rule_is_named(
    small_rules: Rules,
    tmp_path: Path,
    change: tuple[str, str, str],
    now: tuple[str, tuple[str, ...]],
    told: list[tuple[str, str, str]],
) -> None:
    """With the older rules at hand each type that comes or goes names the change that did it."""
    found = again(small_rules, load(changed_rules(tmp_path / "new", change)))
    assert found.was == KeyCall("assigned", ("alder",), "hills", "0.1", small_rules.digest)
    assert found.now is not None
    assert (found.now.status, found.now.types) == now
    assert [(r.type, r.change, *r.rules) for r in found.reasons] == told
    assert found.outcome == ("changed" if told else "same")


def test_a_type_that_is_gone_or_new_is_named(small_rules: Rules, tmp_path: Path) -> None:
    """A type taken out of the rules, and one put in, are reasons by themselves."""
    folder = changed_rules(tmp_path / "new")
    (folder / "types" / "alder.yaml").rename(folder / "types" / "elm.yaml")
    found = again(small_rules, load(folder))
    assert [(r.type, r.change, r.rules) for r in found.reasons] == [
        ("alder", "left", ("types/alder is no longer in the rules",)),
        ("elm", "joined", ("types/elm is new in the rules",)),
    ]


def test_a_renamed_type_is_the_same(small_rules: Rules, tmp_path: Path) -> None:
    """A type that kept its old id as an alias is no change of the call."""
    folder = changed_rules(
        tmp_path / "new", ("types/alder.yaml", "[old_alder]", "[old_alder, alder]")
    )
    (folder / "types" / "alder.yaml").rename(folder / "types" / "elm.yaml")
    found = again(small_rules, load(folder))
    assert (found.outcome, found.reasons) == ("same", ())
    assert found.now is not None
    assert found.now.types == ("elm",)


def test_without_older_rules_the_deciding_criteria_are_named(
    small_rules: Rules, tmp_path: Path
) -> None:
    """The call as made is in the record; what speaks against a type now is told from the rules."""
    change = ("types/alder.yaml", BASE, "stem_shape: [straight]")
    (reason,) = again(
        small_rules, load(changed_rules(tmp_path / "new", change)), known=False
    ).reasons
    assert reason.rules == ()
    assert [(h.attribute, h.fit, h.observed, h.allowed) for h in reason.decides] == [
        ("stem_shape", "against", ("contracting",), ("straight",))
    ]


def test_a_measurement_read_otherwise_is_named(small_rules: Rules, tmp_path: Path) -> None:
    """If the definition is the same and a limit of a measurement is not, the limit is named."""
    text = TEXT.replace("stem_shape: contracting, ", "")
    text += "measurements: {base_width: 8, neck_width: 10}\n"
    bands = ("{states: [contracting], from: 0, to: 0.9}", "{states: [straight], from: 0.9")
    newer = changed_rules(
        tmp_path / "new",
        ("measures.yaml", bands[0], bands[0].replace("0.9", "0.7")),
        ("measures.yaml", bands[1], bands[1].replace("0.9", "0.7")),
    )
    told = {r.type: r.rules for r in again(small_rules, load(newer), text).reasons}
    read_as = (
        "stem_shape is now read as straight by the measurement rule stem_by_ratio, "
        "before as contracting"
    )
    assert told == {"alder": (read_as,), "birch": (read_as,)}


def test_a_record_changed_by_hand_is_told(small_rules: Rules) -> None:
    """With the very same rules, another call can only come from another record."""
    made = record.judged(small_rules, read(small_rules)).key_call
    edited = read(small_rules, TEXT.replace("contracting", "straight"))
    found = rerun(small_rules, replace(edited, key_call=made), "hills")
    assert found.outcome == "changed"
    assert "the record has been changed since its call was made" in found.notes[0]


def test_another_region_is_no_change(small_rules: Rules) -> None:
    """A call kept for one region is not held against a call for another."""
    found = again(small_rules, small_rules, known=False, region="coast")
    assert found.outcome == "first"
    assert found.notes == ("the call kept in the record is for hills, this one for coast",)


def test_without_a_region_there_is_no_call(small_rules: Rules) -> None:
    """No region, no call, and no change of one."""
    assert again(small_rules, small_rules, region="").outcome == "no_call"


def test_older_rules_that_cannot_read_the_record_are_told(small_rules: Rules) -> None:
    """What the older rules have no word for is said, and the record is judged all the same."""
    older = Older(small_rules, None, "'bent' is not a state of stem_shape")
    found = rerun(small_rules, record.judged(small_rules, read(small_rules)), "hills", "x", older)
    assert found.outcome == "same"
    assert found.notes == (
        "the record cannot be read with the older rules: 'bent' is not a state of stem_shape",
    )


def test_an_observation_changed_just_now_is_the_reason(small_rules: Rules) -> None:
    """An observation that is changed is told as it was and as it is now."""
    before = read(small_rules)
    after = read(small_rules, TEXT.replace("contracting", "[contracting, straight]"))
    found = rerun(small_rules, after, "hills", "x", None, before)
    assert found.outcome == "changed"
    assert found.notes == ("stem_shape: contracting -> straight, contracting",)
