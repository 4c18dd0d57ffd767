"""The pack for the central Great Basin: figures recalled from Thomas 1981, arithmetic of our own.

Nobody here has held the article. These tests compare the pack with what is recalled of it, which
proves that the rules do what they say, and not that they say what was published.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path

import pytest
from typer.testing import CliRunner

from keygen import data
from keygen.cli import app
from keygen.core.examine import Examination, examine
from keygen.core.model import Rules
from keygen.rulebase.check import check
from keygen.rulebase.folder import read_folder
from keygen.rulebase.load import load
from keygen.specimens.given import parse_set
from keygen.specimens.record import Specimen, judged, to_text
from keygen.specimens.terms import Lexicon
from tests.core.test_examine import piece

REGION = "central_great_basin"
SHOULDERED = ("stemmed", "side_notched", "corner_notched")


@pytest.fixture(scope="module")
def pack() -> Rules:
    """Return the rules of the pack."""
    return load(data.packs()["great_basin"])


def examined(pack: Rules, haft: str | tuple[str, ...], **measures: str) -> Examination:
    """Return a whole piece of which only the style of the haft was judged by eye."""
    return examine(pack, piece(pack, measures, portion="complete", haft_style=haft), REGION)


def types(found: Examination) -> tuple[str, ...]:
    """Return the types of the call."""
    assert found.call is not None
    return found.call.types


NO_INDENTATION = {"length": "40.00", "axial_length": "40.00"}
# Recalled vectors of the numeric key, arithmetic only. Where one leaves the distal angle, the neck
# or the base open, a figure is given here that lies within the type and outside its rivals.
VECTORS: Mapping[str, tuple[str | tuple[str, ...], Mapping[str, str]]] = {
    "elko_corner_notched": (
        SHOULDERED,
        {"psa": "120", "dsa": "160", "base_width": "14", "neck_width": "11", **NO_INDENTATION},
    ),
    "elko_eared": (
        SHOULDERED,
        {"psa": "120", "dsa": "160", "base_width": "14", "length": "40.0", "axial_length": "36.0"},
    ),
    "rosegate": (
        SHOULDERED,
        {"psa": "110", "dsa": "150", "base_width": "7", "neck_width": "6"},
    ),
    "desert_side_notched": (
        "side_notched",
        {"psa": "160", "dsa": "200", "weight": "1.0", "base_width": "14.5", "width": "15.0"},
    ),
    "large_side_notched": ("side_notched", {"psa": "175", "dsa": "200", "weight": "4.0"}),
    "gatecliff_split_stem": (
        SHOULDERED,
        {"psa": "85", "neck_width": "12", "length": "40.0", "axial_length": "38.0"},
    ),
    "gatecliff_contracting_stem": (
        SHOULDERED,
        {"psa": "85", "neck_width": "12", **NO_INDENTATION},
    ),
    "cottonwood_triangular": (
        "unshouldered",
        {
            "weight": "0.9",
            "length": "24",
            "thickness": "3.1",
            "base_width": "14.7",
            "width": "15.0",
        },
    ),
}


@pytest.mark.parametrize("name", VECTORS)
def test_recalled_vectors(pack: Rules, name: str) -> None:
    """Figures inside one type alone give that type, by measurement only, and outright."""
    haft, measures = VECTORS[name]
    found = examined(pack, haft, **measures)
    assert found.call is not None
    assert (found.call.status, found.call.types) == ("assigned", (name,))


def test_outside_the_key(pack: Rules) -> None:
    """A proximal angle of 105, an opening of 30 degrees and a base of 12 mm: outside the key."""
    found = examined(pack, SHOULDERED, psa="105", dsa="135", base_width="12")
    assert found.call is not None
    assert (found.call.status, found.call.reason) == ("untyped", "none_fits")
    wide = examined(pack, SHOULDERED, psa="105", dsa="170", base_width="12", neck_width="11")
    assert set(types(wide)) == {"gatecliff_split_stem", "gatecliff_contracting_stem"}


def test_two_candidates(pack: Rules) -> None:
    """A light side-notched piece at 140 degrees with a base over 10 mm fits two types."""
    found = examined(
        pack,
        "side_notched",
        psa="140",
        dsa="170",
        weight="1.2",
        base_width="12.0",
        width="12.6",
        **NO_INDENTATION,
    )
    assert found.call is not None
    assert found.call.status == "either"
    assert set(found.call.types) == {"desert_side_notched", "elko_corner_notched"}


def test_an_or_of_two_figures(pack: Rules) -> None:
    """With the distal angle not taken, an opening of 60 degrees or more stays possible."""
    open_ = examined(pack, SHOULDERED, psa="120", base_width="14", neck_width="11", length="40.0")
    assert {"elko_eared", "gatecliff_split_stem"} <= set(types(open_))
    met = pack.mask("angle_rule", "met")
    low = examined(pack, SHOULDERED, psa="85")
    assert low.known[pack.index["angle_rule"]] == met


def test_figure_on_a_limit_leaves_both_classes(pack: Rules) -> None:
    """A base of 10 mm, to the millimetre, may be over 10 mm or not; 9.4 mm is not."""
    on_it = examined(pack, SHOULDERED, base_width="10")
    assert on_it.known[pack.index["basal_width_class"]] == pack.mask(
        "basal_width_class", "to_10", "over_10"
    )
    under = examined(pack, SHOULDERED, base_width="9.4")
    assert under.known[pack.index["basal_width_class"]] == pack.mask("basal_width_class", "to_10")


def test_every_figure_is_marked_as_recalled(pack: Rules) -> None:
    """No rule, type or record of the pack claims to have been read, and the caution says so."""
    assert {rule.basis for rule in pack.derivations} == {"memory"}
    assert {kind.basis for kind in pack.types.values()} == {"memory"}
    assert {record.basis for kind in pack.types.values() for record in kind.records} == {"memory"}
    assert "recalled, not read" in pack.cautions["recalled"].text
    assert not any(record.dates.sure for kind in pack.types.values() for record in kind.records)


def test_every_class_of_a_figure_follows_from_measurements(pack: Rules) -> None:
    """Each attribute of a definition is haft style, a corner, or read off measurements."""
    derived = {rule.attribute for rule in pack.derivations}
    by_eye = {"haft_style", "corners", "angle_rule", "bulk"}  # the last two follow from others
    for kind in pack.types.values():
        asked = {pack.attributes[c.attribute].id for c in kind.defined_by} - by_eye
        assert {pack.index[name] for name in asked} <= derived, kind.id


@pytest.mark.parametrize("name", data.packs())
def test_shipped_packs_are_sound(name: str) -> None:
    """Every pack that ships passes the proofs of the main rules."""
    problems, rules = check(read_folder(data.packs()[name]))
    assert [str(problem) for problem in problems] == []
    assert rules is not None


def test_words_of_the_trade(pack: Rules) -> None:
    """`shouldered` and `concave-based` leave the classes that they mean."""
    lexicon = Lexicon(pack)
    (haft,) = parse_set(lexicon, "shouldered").values()
    assert haft.mask == pack.mask("haft_style", *SHOULDERED)
    (base,) = parse_set(lexicon, "concave base").values()
    assert base.mask == pack.mask("indentation", "to_093", "to_097", "under_098")


# What the commands make of the same piece, through the name of the pack.
GIVEN = (
    *("--rules", "great_basin", "--region", REGION),
    *("--set", "portion=complete", "--set", "corner-notched"),
    *("--measure", "psa=120", "--measure", "dsa=160", "--measure", "base_width=14.0"),
    *("--measure", "length=40.0", "--measure", "axial_length=36.0"),
)


def run(*arguments: str, typed: str | None = None) -> str:
    """Run a command and return what it prints."""
    done = CliRunner().invoke(app, list(arguments), input=typed, prog_name="keygen")
    assert done.exit_code == 0, done.output
    return done.stdout


@pytest.mark.parametrize("register", ["report", "note", "catalogue", "account"])
def test_described_in_every_register(register: str) -> None:
    """Every register words a piece of the pack and names its type."""
    assert "Elko Eared" in run("describe", *GIVEN, "--register", register)


def test_what_was_coded_by_eye_is_told() -> None:
    """Classes that no sentence of the main rules speaks of are told all the same, once."""
    seen = ("--rules", "great_basin", "--set", "shouldered", "--set", "indentation=flat")
    report = run("describe", *seen)
    assert "Coded besides: basal indentation class 0.98 or more." in report
    assert "basal indentation class" not in run("describe", *GIVEN).partition("\n")[0]
    assert "Basal indentation class 0.98 or more." in run("describe", *seen, "--register", "note")
    either = (*seen, "--set", "neck_class=to_10,over_10")  # says only that there is a neck
    assert "neck width class" not in run("describe", *either)


def test_outside_is_said_in_words() -> None:
    """A piece that no class holds is said to be outside the key; a typed one is not."""
    hole = ("--set", "shouldered", "--measure", "psa=105", "--measure", "dsa=135")
    base = ("--rules", "great_basin", "--region", REGION, "--measure", "base_width=12.0")
    assert "outside the key" in run("describe", *base, *hole)
    assert "outside the key" not in run("describe", *GIVEN)


def test_traced_and_listed() -> None:
    """The trace names rule and source; the list of types and the page of one know the pack."""
    trace = run("trace", *GIVEN)
    assert "(rule psa_by_goniometer), defined by Thomas 1981]" in trace
    assert "Elko Eared" in run("types", "--rules", "great_basin")
    page = run("types", "elko_eared", "--rules", "great_basin")
    assert "Its criterion of size is the basal width class." in page


def test_pack_is_proved_and_named() -> None:
    """`keygen check` proves a pack by its name; without one it names those that ship."""
    assert run("check", "--rules", "great_basin").startswith("No problems. Rules edition great_b")
    assert "great_basin" in run("check").splitlines()[-1]


def test_no_such_pack_names_those_that_ship() -> None:
    """A misspelt pack is refused with exit code 2 and the nearest name."""
    done = CliRunner().invoke(app, ["check", "--rules", "great_bason"], prog_name="keygen")
    assert done.exit_code == 2
    assert "great_basin" in done.stderr


def test_walked_to_a_record(tmp_path: Path) -> None:
    """A walk through the pack writes a record that reads back under it with the same call."""
    file = tmp_path / "GB-1.yaml"
    answers = [*"aaaabbbababbabbb", "done"]
    where = ("--rules", "great_basin", "--region", REGION)
    run("walk", str(file), *where, typed="\n".join(answers) + "\n")
    told = json.loads(run("describe", str(file), "--rules", "great_basin", "--format", "json"))
    assert told["call"]["types"] == ["elko_eared"]
    assert told["observed"]["psa_class"]["how"] == "seen"


def test_main_rules_hold_no_pack() -> None:
    """Packs are no part of the main rules, nor of their digest."""
    assert not any(name.startswith("packs/") for name in read_folder(data.root("rules")))


def test_curve_of_the_main_rules_is_lent(pack: Rules) -> None:
    """A pack without a curve of its own is dated with the one of the main rules."""
    folder = data.packs()["great_basin"]
    assert not folder.joinpath("curve").is_dir()
    assert pack.curve is not None
    assert pack.curve.text == data.root("rules").joinpath("curve/intcal20.csv").read_text("utf-8")


def test_disagreement_stands_in_a_record_of_the_pack(pack: Rules) -> None:
    """An angle that the goniometer gives otherwise is noted with the call; the eye is followed."""
    seen = piece(pack, {"psa": "120"}, haft_style="side_notched", psa_class="over_150")
    text = to_text(pack, judged(pack, Specimen(seen, REGION)))
    assert 'measured_otherwise: ["psa_class=from_110"]' in text
