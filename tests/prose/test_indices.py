"""Facts about how indices are told: in the report, in the trace, and as data."""

from __future__ import annotations

import json
from collections.abc import Mapping

import pytest

from keygen.core.examine import Examination, Piece, examine
from keygen.core.measure import read
from keygen.core.model import Rules
from keygen.core.observe import Observation
from keygen.prose import describe, sentences, to_json, trace
from keygen.prose.indices import index_lines
from keygen.prose.render import Sentence

# Figures of published darts (Fort Hood, Texas; Darl 41-0322 and Pedernales 36-3026).
DARL = {
    "length": "42.8",
    "width": "15.8",
    "thickness": "5.8",
    "neck_width": "10.6",
    "base_width": "11.3",
    "haft_length": "11.6",
}
PEDERNALES = {"length": "53.5", "width": "27.8", "thickness": "7.2", "neck_width": "20.2"}
STEMMED = {"haft_style": ("stemmed",)}


def examined(
    rules: Rules,
    entered: Mapping[str, str],
    states: Mapping[str, tuple[str, ...]] = STEMMED,
    scored: Mapping[str, str] | None = None,
) -> Examination:
    """Return a measured piece, examined."""
    seen = {}
    for name, words in states.items():
        mask = rules.mask(name, *words)
        seen[rules.index[name]] = Observation(mask, "seen" if len(words) == 1 else "unsure")
    readings = {name: read(text, rules.measurements[name].unit) for name, text in entered.items()}
    return examine(rules, Piece("P-1", seen, readings, dict(scored or {})), "central_texas")


def told(rules: Rules, examination: Examination, register: str = "report") -> list[Sentence]:
    """Return the sentences about indices."""
    return [s for s in sentences(rules, examination, register) if s.slot == "indices"]


def test_disagreement_is_told_side_by_side(rules: Rules) -> None:
    """A dart that two functions call an arrow: both sides with their works, and no verdict."""
    (sentence,) = told(rules, examined(rules, DARL))
    assert sentence.text == (
        "Of four published measures of dart or arrow, two call it a dart (dart-arrow index, "
        "Hildebrandt and King 2012; gap in point width, Spearthrower or Bow? n.d.) and two call it "
        "an arrow (shoulder-width function, Shott 1997; four-variable functions, Thomas 1978); "
        "none of them is the answer (the numbers of two of them are from memory, to be verified)."
    )
    assert set(sentence.measures) == {"length", "width", "thickness", "neck_width"}
    assert {"shott1997", "thomas1978", "hildebrandt_king2012"} <= set(sentence.sources)


def test_agreement_is_no_proof(rules: Rules) -> None:
    """Where all measures agree the sentence says so, and that this proves nothing."""
    (sentence,) = told(rules, examined(rules, PEDERNALES))
    assert sentence.text == (
        "All four published measures of dart or arrow that could be taken call it a dart, which is "
        "no proof of the weapon (the numbers of two of them are from memory, to be verified)."
    )
    (both,) = told(rules, examined(rules, {"width": "27.8", "length": "50"}))
    assert both.text.startswith("Both published measures of dart or arrow that could be taken call")


def test_open_measures_are_told(rules: Rules) -> None:
    """A measure that leaves it open is counted apart from those that decide."""
    (sentence,) = told(rules, examined(rules, {"width": "19.0", "weight": "5.2"}))
    assert "two call it a dart (gap in point width" in sentence.text
    assert "and one leaves it open (shoulder-width function, Shott 1997)" in sentence.text


def test_note_is_short(rules: Rules) -> None:
    """The field note names the measures on each side."""
    (sentence,) = told(rules, examined(rules, DARL), "note")
    assert sentence.text == (
        "Dart or arrow: a dart by dart-arrow index and gap in point width; an arrow by "
        "shoulder-width function and four-variable functions."
    )


@pytest.mark.parametrize(
    ("entered", "states"),
    [
        ({"thickness": "5.8", "neck_width": "10.6"}, STEMMED),
        (DARL, {"haft_style": ("stemmed", "lanceolate")}),
        (DARL, {"blade_shape": ("straight",)}),
        ({}, STEMMED),
    ],
)
def test_silent_without_haft_or_second_measure(
    rules: Rules, entered: dict[str, str], states: dict[str, tuple[str, ...]]
) -> None:
    """One measure alone, or a haft not known to be stemmed or notched, is not told of."""
    assert told(rules, examined(rules, entered, states)) == []


def test_lines_have_scores_margin_and_grounds(rules: Rules) -> None:
    """Each index is one line with what it rests on beneath it, and a count of the answers."""
    text = "\n".join(index_lines(rules, examined(rules, DARL)))
    assert "- dart-arrow index: 16.4 mm (16.3 to 16.5), margin 4.6 mm (4.5 to 4.7); a dart" in text
    assert "- shoulder-width function: arrow 6.84 (6.80 to 6.89), dart 5.27 (5.20 to 5.34)" in text
    assert "limit of use: Not on coasts" in text
    assert "- dart or arrow: 2 for a dart, 2 for an arrow, 0 undecided" in text
    assert "- not computable: weight groups (weight not measured)" in text
    assert (
        "blade length / haft length: 2.69 (2.67 to 2.71); blade length (length less haft)" in text
    )


def test_lines_say_what_is_lost(rules: Rules) -> None:
    """On a fragment the figures that broke are named, and what cannot be taken whole."""
    states = {**STEMMED, "portion": ("proximal",)}
    text = "\n".join(index_lines(rules, examined(rules, DARL, states)))
    assert "maximum length is at least that (the tip and the blade are gone)" in text
    assert "dart-arrow index: at least 16.4 mm" in text
    assert "weight groups (weight cannot be taken whole without the tip and blade)" in text
    broken = index_lines(rules, examined(rules, {**DARL, "neck_width": "10.6+"}))
    assert any(line.endswith("neck width is incomplete") for line in broken)


def test_nothing_measured_nothing_said(rules: Rules) -> None:
    """Of a piece that nobody measured or scored there are no lines, and no section in the trace."""
    bare = examined(rules, {})
    assert index_lines(rules, bare) == []
    assert "\nIndices\n" not in trace(rules, bare)
    scored = examined(rules, {}, scored={"tang_tip": "round"})
    assert "\nIndices\n" in trace(rules, scored)


def test_account_names_limits_and_works(rules: Rules) -> None:
    """The account gives every index with grounds and limits, and cites their works in full."""
    text = describe(rules, examined(rules, DARL), "account")
    assert "   - four-variable functions: arrow 11.41" in text
    assert "Of 90 Fort Hood darts it calls 40 darts." in text
    works = text[text.index("Works cited") :]
    assert "Thomas, D. H. 1978. Arrowheads and Atlatl Darts" in works
    assert "Erlandson" in works


def test_json_holds_all_indices(rules: Rules) -> None:
    """The data has every index; an open end is null, and text survives a round trip."""
    data = to_json(rules, examined(rules, {**DARL, "length": "42.8+"}))
    found = {entry["id"]: entry for entry in json.loads(json.dumps(data))["indices"]}
    assert found.keys() == rules.indices.keys()
    index = found["dart_arrow_index"]
    assert index["figure"] == {"value": 16.4, "low": 16.3, "high": 16.5}
    assert (index["says"], index["basis"]) == (["dart"], "read")
    assert found["length_width_ratio"]["figure"]["high"] is None
    assert found["retouch_index"]["lacks"] == [
        {"term": "retouch_segments", "why": "not_scored", "parts": []}
    ]
