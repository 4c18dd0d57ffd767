"""Templates, registers, the account, the trace and plain data."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from syrupy.assertion import SnapshotAssertion
from syrupy.extensions.single_file import SingleFileSnapshotExtension, WriteMode

from keygen import data
from keygen.core.examine import AnalystCall, Examination, Piece, examine
from keygen.core.observe import Observation
from keygen.errors import KeygenError
from keygen.prose import REGISTERS, describe, sentences, to_json, trace
from keygen.prose.render import PARAGRAPHS
from tests.prose.pieces import examined, mask, rules

TAPERED: dict[str, Any] = {
    "haft_style": "stemmed",
    "stem_shape": "contracting",
    "stem_length": "short medium",
    "base_shape": "rounded",
    "haft_grinding": "none",
    "shoulder_shape": "tapered",
    "shoulder_strength": "weak",
}
BLADE = {
    "blade_shape": "straight excurvate",
    "blade_edge": "plain",
    "blade_retouch": "bifacial",
    "cross_section": "biconvex",
}
CASES: dict[str, tuple[str, dict[str, Any]]] = {
    "whole_stemmed": (
        "east",
        {
            "label": "T-0417",
            "portion": "near_complete",
            "damage": "impact",
            "measures": {"length": "48.2+", "width": "27.1", "thickness": "8.4"},
            "details": {
                "material": "rhyolite",
                "colour": "grey",
                "site": "Site A",
                "unit": "unit 3",
                "observer": "A. Tester",
                "date": "2026-01-02",
            },
            **TAPERED,
            **BLADE,
        },
    ),
    "side_notched_base": (
        "east",
        {
            "label": "T-2",
            "portion": "proximal",
            "haft_style": "notched",
            "notch_position": "side",
            "notch_form": "broad_u",
            "shoulder_strength": "strong",
            "base_shape": "straight incurvate",
            "haft_grinding": "base both",
            "how": {"ears": "missing"},
        },
    ),
    "fluted": (
        "east",
        {
            "label": "T-3",
            "portion": "complete",
            "haft_style": "lanceolate",
            "haft_sides": "parallel",
            "haft_waist": "none slight",
            "base_shape": "incurvate",
            "ears": "none",
            "fluting": "both_faces",
            "flute_length": "short half",
            "haft_grinding": "both",
            "flaking": "collateral",
        },
    ),
    "many_triangles": ("east", {"haft_style": "triangular", "size_class": "small"}),
    "distal_fragment": (
        "east",
        {"label": "T-5", "portion": "distal", "tip": "acute", "details": {"material": "chert"}},
    ),
    "none_fits": ("east", {"label": "T-6", **TAPERED, "base_shape": "straight"}),
    "analyst_differs": (
        "east",
        {
            "label": "T-7",
            **TAPERED,
            "sampling": "planned",
            "handling": "protected",
            "analyst": AnalystCall(
                "Birch Stemmed", "it lay with pottery", "A. Tester", "2026-01-02"
            ),
        },
    ),
    "no_region_reworked": (
        "",
        {
            "label": "T-8",
            **TAPERED,
            "resharpening": "heavy",
            "reworked_as": "drill",
            "measures": {"neck_width": "15.0", "base_width": "9.0", "weight": "7.5"},
        },
    ),
}


class MarkdownSnapshots(SingleFileSnapshotExtension):
    """One readable file a case."""

    file_extension = "md"
    _write_mode = WriteMode.TEXT


def every_register(examination: Examination) -> str:
    """Return a piece in all registers, with its trace."""
    parts = [
        f"# {register}\n\n{describe(rules(), examination, register)}" for register in REGISTERS
    ]
    return "\n\n".join([*parts, f"# trace\n\n{trace(rules(), examination)}"]) + "\n"


@pytest.mark.parametrize("case", CASES)
def test_registers(case: str, snapshot: SnapshotAssertion) -> None:
    """A piece reads in every register as it was last reviewed."""
    region, what = CASES[case]
    text = every_register(examined(region, **what))
    assert text == snapshot(extension_class=MarkdownSnapshots)


def test_every_slot_has_its_template() -> None:
    """The folder of a register holds a template for each of its slots and no other."""
    for register, paragraphs in PARAGRAPHS.items():
        folder = data.root("templates").joinpath(register)
        found = {file.name.removesuffix(".j2") for file in folder.iterdir()}
        assert found == {slot for slots in paragraphs for slot in slots}


def test_own_template(tmp_path: Path) -> None:
    """A user's template stands in for the shipped one of the same name, and only for that."""
    (tmp_path / "report").mkdir()
    (tmp_path / "report" / "piece.j2").write_text("object {{ label }} ({{ kind }})")
    examination = examined(label="T-1", haft_style="stemmed", stem_shape="straight")
    text = describe(rules(), examination, "report", tmp_path)
    assert text.startswith("Object T-1 (stemmed). The stem is straight.")


@pytest.mark.parametrize(
    ("template", "line", "words"),
    [
        ("object\n{{ lable }}", 2, "'lable' is undefined"),
        ("object\n{{ label", 2, "unexpected end of template"),
        ("\n\n{{ label.__class__.__mro__ }}", 3, "unsafe"),
    ],
)
def test_faulty_template(tmp_path: Path, template: str, line: int, words: str) -> None:
    """A faulty template is named with its line, and nothing outside its facts is in reach."""
    (tmp_path / "report").mkdir()
    (tmp_path / "report" / "piece.j2").write_text(template)
    with pytest.raises(KeygenError) as caught:
        describe(rules(), examined(label="T-1"), "report", tmp_path)
    problem = caught.value.problems[0]
    assert problem.file.endswith("report/piece.j2")
    assert (problem.line, words in problem.what) == (line, True)


def test_unknown_register() -> None:
    """A register that does not exist is refused with the nearest one."""
    with pytest.raises(KeygenError, match="Did you mean 'report'"):
        describe(rules(), examined(), "reprot")


def test_catalogue_is_one_line() -> None:
    """A catalogue entry is one line, and begins with the label as it was given."""
    text = describe(rules(), examined("east", label="t-1", **TAPERED), "catalogue")
    assert "\n" not in text
    assert text.startswith("t-1: stemmed point; ")
    assert text.endswith("; Alder Stemmed.")


def test_account_names_couplet_and_slug() -> None:
    """The account says at which couplet an observation was made, and gives each definition once."""
    index = rules().index["stem_shape"]
    at = Observation(mask("stem_shape", "contracting"), "seen", ("stem_runs",))
    examination = examine(rules(), Piece("T-1", {index: at}), "east")
    text = describe(rules(), examination, "account")
    assert "stem shape: contracting (seen: couplet 23 (stem_runs))" in text
    assert text.count("Which way the sides of the stem run") == 1
    assert "rules edition test, digest 000000000000" in text


def test_account_carries_every_caution() -> None:
    """The account gives all cautions that apply, those on context too; a report does not."""
    examination = examined("east", **TAPERED)
    assert "Consult the descendants." in describe(rules(), examination, "account")
    assert "Consult the descendants." not in describe(rules(), examination, "report")


def test_places_stay_out_of_reports() -> None:
    """Site and unit stand in note and account only; coordinates nowhere."""
    details = {"site": "Site A", "unit": "unit 3", "coordinates": "12.34 N"}
    examination = examined("east", details=details, **TAPERED)
    for register in REGISTERS:
        text = describe(rules(), examination, register)
        assert ("Site A" in text) is (register in ("note", "account"))
        assert "12.34" not in text


def test_trace_judges_every_criterion() -> None:
    """The trace gives each criterion of a candidate as met or open, with what was observed."""
    states = {name: text for name, text in TAPERED.items() if name != "haft_grinding"}
    text = trace(rules(), examined("east", **states))
    assert "1. Alder Stemmed: possible, 3 met, 1 open" in text
    assert "   met: stem shape: contracting [seen: named outright]; type has contracting" in text
    assert "   open: haft grinding: any state [not observed]; type has unground" in text


def test_trace_of_a_measured_state() -> None:
    """A state that was measured is traced to its figures and rule."""
    measures = {"base_width": "9.0", "neck_width": "15.0"}
    text = trace(rules(), examined("east", measures=measures))
    assert (
        "stem shape: contracting [measured: basal width 9.0 mm and neck width 15.0 mm "
        "(rule stem_by_widths)]"
    ) in text


def test_plain_data_gathers_items() -> None:
    """Damage is told as its items present, not as one attribute an item."""
    states = {**TAPERED, "damage.tip_snap": "present", "damage.heat": "absent"}
    found = to_json(rules(), examined("east", **states))["observed"]
    assert isinstance(found, dict)
    assert found["damage"]["states"] == ["tip_snap"]
    assert "heat" not in found["damage"]["open"]
    assert "impact" in found["damage"]["open"]
    assert not [name for name in found if "." in name]


def test_plain_data() -> None:
    """An examination as plain data survives JSON and holds what the text was made from."""
    own = AnalystCall("Alder Stemmed", "as drawn", "A. Tester")
    examination = examined(
        "east", label="T-1", analyst=own, measures={"length": "34.2+"}, **TAPERED
    )
    found = json.loads(json.dumps(to_json(rules(), examination), allow_nan=False))
    assert found["format_version"] == 1
    assert found["call"] == {"status": "assigned", "types": ["alder_stemmed"], "reason": None}
    assert found["observed"]["stem_length"] == {
        "states": ["short", "medium"],
        "how": "unsure",
        "couplets": [],
    }
    assert found["measurements"]["length"]["high"] is None
    assert found["elsewhere"][0]["dates"] == {
        "from": -500,
        "to": 600,
        "scale": "BC/AD",
        "sure": False,
    }
    assert found["analyst"]["agrees"] is True
    assert found["text"] == describe(rules(), examination)
    assert [caution["id"] for caution in found["cautions"]] == ["construct", "remains"]
    assert found["rules"] == {"edition": "test", "digest": "000000000000"}


def test_sentences_make_the_description() -> None:
    """A report is its sentences in order."""
    examination = examined("east", **TAPERED, **BLADE)
    told = " ".join(s.text for s in sentences(rules(), examination, "report"))
    assert told == describe(rules(), examination).replace("\n\n", " ")
