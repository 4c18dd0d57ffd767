"""Observers held against each other on the small rules."""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from keygen.assemblage.agreed import agreed, data, grades, text
from keygen.assemblage.observers import parting_couplets
from keygen.core.examine import Examination, Piece, examine
from keygen.core.model import Rules
from keygen.core.observe import Observation
from keygen.core.states import is_single


def described(
    rules: Rules, region: str, said: Mapping[str, Mapping[str, str]]
) -> dict[str, Examination]:
    """Return specimens by number from states by attribute, several joined by a slash."""
    found = {}
    for label, states in said.items():
        observations = {}
        for name, words in states.items():
            mask = rules.mask(name, *words.split("/"))
            observations[rules.index[name]] = Observation(
                mask, "seen" if is_single(mask) else "unsure"
            )
        found[label] = examine(rules, Piece(label, observations), region)
    return found


@pytest.fixture
def pair(rules: Rules) -> list[dict[str, Examination]]:
    """Return two observers' records of three points of the Southern Piedmont."""
    morrow = {
        "portion": "complete", "haft_style": "stemmed", "stem_shape": "contracting",
        "base_shape": "rounded", "haft_grinding": "none", "stem_length": "medium",
        "size_class": "medium",
    }  # fmt: skip
    first = {
        "P-1": morrow,
        "P-2": morrow,
        "P-3": {"haft_style": "stemmed", "stem_shape": "straight"},
    }
    second = {
        "P-1": morrow,
        "P-2": {**morrow, "stem_length": "short"},
        "P-3": {"haft_style": "stemmed", "stem_shape": "straight/contracting"},
    }
    return [described(rules, "carolina_piedmont", one) for one in (first, second)]


def test_what_differs_is_told(rules: Rules, pair: list[dict[str, Examination]]) -> None:
    """Two of three stems agree in shape, and the third pair still has a state in common."""
    found = agreed(rules, pair, ["A", "B"], 0)
    stem = next(c for c in found.attributes if c.subject == rules.index["stem_shape"])
    assert stem.percent.value == pytest.approx(200 / 3)
    assert stem.compatible == 100
    assert found.shared == ("P-1", "P-2", "P-3")
    told = text(rules, found)
    assert "stem shape: straight / straight or contracting 1" in told.replace(
        " (parallel-sided)", ""
    )
    assert "arbitrary by the authors' own account" in told


def test_the_decisive_attribute_is_found(rules: Rules, pair: list[dict[str, Examination]]) -> None:
    """Taking over the stem's length alone gives the other's call, and its couplets are named."""
    found = agreed(rules, pair, ["A", "B"], 0)
    parting = next(p for p in found.partings if p.specimen == "P-2")
    i = rules.index["stem_length"]
    assert parting.differ == (i,)
    assert [name for name, _ in parting.decisive] == [i]
    numbers = parting.decisive[0][1]
    assert numbers
    for number in numbers:
        assert i in rules.by_number[number].decides
    assert parting.calls[0] != parting.calls[1]
    plain = data(rules, found)["calls_that_differ"]
    assert isinstance(plain, list)
    assert plain[0]["decisive"] == [{"attribute": "stem_length", "couplets": list(numbers)}]


def test_what_cannot_be_seen_is_missing(rules: Rules) -> None:
    """An attribute that one observer could not see is no disagreement, and counts for nothing."""
    one = described(rules, "ozarks", {"1": {"base_shape": "straight"}})
    full = rules.attributes[rules.index["base_shape"]].full
    unseen = Piece("1", {rules.index["base_shape"]: Observation(full, "missing")})
    found = agreed(rules, [one, {"1": examine(rules, unseen, "ozarks")}], ["A", "B"], 0)
    assert not [c for c in found.attributes if c.subject == rules.index["base_shape"]]


def test_couplets_part_where_answers_differ(rules: Rules) -> None:
    """Equal sets part nowhere; opposed ones at a couplet whose leads they take for granted."""
    i = rules.index["stem_shape"]
    contracting, straight = (
        rules.mask("stem_shape", "contracting"),
        rules.mask("stem_shape", "straight"),
    )
    assert parting_couplets(rules, i, straight, straight) == ()
    numbers = parting_couplets(rules, i, contracting, straight)
    assert numbers == tuple(sorted(numbers))
    assert any(
        {bool(lead.leaves[0].get(i, 0) & contracting) for lead in rules.by_number[n].leads}
        == {True, False}
        for n in numbers
    )


def test_grades_are_in_the_trades_order(rules: Rules) -> None:
    """Stems run from expanding over straight to contracting; where no order is, there is none."""
    assert grades(rules, rules.index["stem_shape"]) == ("expanding", "straight", "contracting")
    assert grades(rules, rules.index["flaking"]) == ()
