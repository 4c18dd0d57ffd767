"""What the observations amount to: the call in words, ages, other regions, cautions."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from keygen.core.examine import AnalystCall, examine
from keygen.prose import sentences
from keygen.prose.grammar import fragment
from keygen.prose.render import render
from keygen.prose.seen import briefs
from keygen.prose.sights import look
from tests.prose.pieces import examined, limits, piece, rules

TAPERED: dict[str, Any] = {
    "haft_style": "stemmed",
    "stem_shape": "contracting",
    "base_shape": "rounded",
    "haft_grinding": "none",
}


def told(slot: str, register: str = "report", **what: Any) -> str:
    """Return the text of one slot for a piece in the east."""
    examination = examined(what.pop("region", "east"), **what)
    found = sentences(rules(), examination, register)
    return " ".join(s.text for s in found if s.slot == slot)


def test_assigned() -> None:
    """One consistent type is named with the haft observations that the call rests on."""
    assert told("call", **TAPERED) == (
        "The haft agrees with Alder Stemmed as known in the Eastern Valley (stem contracting, "
        "unground, base rounded), and nothing recorded speaks against it."
    )


def test_what_is_unusual_is_no_evidence() -> None:
    """A trait that the definition allows and that is unusual is told as unusual only."""
    alder = replace(rules().types["alder_stemmed"], usual=limits(base_shape="pointed"))
    known = replace(rules(), types={**rules().types, "alder_stemmed": alder})
    found = sentences(known, examine(known, piece(**TAPERED), "east"))
    call, support = (next(s.text for s in found if s.slot == n) for n in ("call", "support"))
    assert call.endswith("(stem contracting, unground).")
    assert "the base shape (rounded)" in support


def test_no_more_than_six_observations_are_evidence() -> None:
    """Of many observations that a call rests on, the six that leave out the most are named."""
    haft: dict[str, Any] = {
        "notch_position": "side",
        "notch_form": "shallow",
        "haft_waist": "strong",
        "haft_edge": "bevelled",
        "haft_grinding": "both",
        "base_shape": "incurvate",
        "ears": "drooping",
    }
    alder = replace(rules().types["alder_stemmed"], defined_by=limits(**haft), usual=())
    known = replace(rules(), types={"alder_stemmed": alder})
    found = sentences(known, examine(known, piece(**haft), "east"))
    (about,) = (s.about for s in found if s.slot == "call")
    assert set(about) == {*haft} - {"haft_edge"}  # one of two states; the others have more


def test_what_one_subject_shows_is_said_together() -> None:
    """Two observations of one part are named with one noun."""
    text = told("call", **TAPERED, stem_length="long", base_width_class="narrower")
    assert "(stem contracting, unground, base rounded)" in text  # the type says nothing of these
    seen = look(rules(), examined(shoulder_shape="barbed", shoulder_strength="strong"))
    pair = (seen["shoulder_shape"], seen["shoulder_strength"])
    assert briefs(pair) == ["shoulders barbed and strong"]


def test_doubtful_notches_are_told_with_the_style_of_the_haft() -> None:
    """A type that may be stemmed or notched is not said to have absent notches."""
    seen = look(rules(), examined(haft_style="stemmed notched", notch_position="none corner"))
    assert briefs([seen["notch_position"]], seen["haft_style"]) == ["stemmed or corner-notched"]
    seen = look(rules(), examined(notch_position="none corner", notch_count="none two"))
    assert briefs([seen["notch_position"], seen["notch_count"]]) == ["possibly corner-notched"]
    seen = look(rules(), examined(haft_grinding="none base"))
    assert briefs([seen["haft_grinding"]]) == ["unground or ground on the basal edge only"]


@pytest.mark.parametrize(
    ("usual", "end"),
    [
        ("contracting", ", but the stem shape as measured speaks against it."),
        ("straight contracting", ", and nothing recorded speaks against it."),
        ("", ", and nothing recorded speaks against it."),
    ],
)
def test_a_measurement_against_the_type(usual: str, end: str) -> None:
    """A measurement that contradicts eye and type is named, and one that bears on neither not."""
    alder = rules().types["alder_stemmed"]
    defined = tuple(c for c in alder.defined_by if c not in limits(stem_shape="contracting"))
    traits = limits(stem_shape=usual) if usual else ()
    changed = replace(alder, defined_by=defined, usual=traits)
    known = replace(rules(), types={**rules().types, "alder_stemmed": changed})
    found = examine(
        known, piece(measures={"base_width": "14.0", "neck_width": "15"}, **TAPERED), "east"
    )
    text = next(s.text for s in sentences(known, found) if s.slot == "call")
    assert text.endswith(end)


def test_a_measurement_that_leaves_doubt() -> None:
    """A measurement that fits the type in part is said to leave doubt."""
    alder = rules().types["alder_stemmed"]
    defined = tuple(c for c in alder.defined_by if c not in limits(stem_shape="contracting"))
    changed = replace(alder, defined_by=(*defined, *limits(stem_shape="contracting straight")))
    known = replace(rules(), types={**rules().types, "alder_stemmed": changed})
    found = examine(
        known, piece(measures={"base_width": "15.2", "neck_width": "15"}, **TAPERED), "east"
    )
    text = next(s.text for s in sentences(known, found) if s.slot == "call")
    assert text.endswith(", though the stem shape as measured leaves room for doubt.")


@pytest.mark.parametrize(
    ("style", "against"),
    [
        ("stemmed", "the shoulders"),
        ("stemmed notched", "the shoulders"),
        ("lanceolate triangular", "the blade"),
        ("stemmed lanceolate", "the shoulders or blade"),
    ],
)
def test_what_a_base_is_compared_with(style: str, against: str) -> None:
    """The width of a base is held against shoulders or blade, whichever the haft has."""
    found = examined(haft_style=style, base_width_class="narrower")
    seen = look(rules(), found)
    assert briefs([seen["base_width_class"]], seen["haft_style"]) == [
        f"base narrower than {against}"
    ]
    text = next(s.text for s in sentences(rules(), found) if s.slot == "base")
    assert text == f"The base is narrower than {against}."


def test_what_is_open_for_one_reason_is_named_together() -> None:
    """Of several open criteria the reason is given once."""
    text = told("call", haft_style="stemmed", stem_shape="contracting")
    assert text.endswith("with the base shape and haft grinding (not observed) left open.")


def test_confer() -> None:
    """A type with something open is a cf., and what is open is named with the reason."""
    states = {**TAPERED, "base_shape": "excurvate rounded"}
    del states["haft_grinding"]
    assert told("call", **states) == (
        "Of the types known in the Eastern Valley only Alder Stemmed remains possible (stem "
        "contracting); the call is cf. Alder Stemmed, with the base shape (excurvate to rounded) "
        "and haft grinding (not observed) left open."
    )


def test_either_of_two() -> None:
    """Two types are named with the tell that parts them."""
    assert told("call", haft_style="notched", notch_position="side") == (
        "By its haft (side-notched) the piece can be one of two types known in the Eastern Valley: "
        "Dogwood Notched or Cedar Notched. Cedar notches lie higher on the side."
    )


def test_next_look() -> None:
    """The next look is named with what it would leave, where it would narrow the types clearly."""
    assert told("next_look", haft_style="triangular") == (
        "Knowing the shape of the base would narrow these five to about two, and to three at worst."
    )
    assert told("next_look", haft_style="notched", notch_position="side") == ""


def test_next_look_that_may_not_help() -> None:
    """Where a further look might leave all of many types, the text says so."""
    values = {"question": "the base", "count": 7, "leaves": 5, "lost": "", "gone": False}
    assert fragment(render("report/next_look.j2", {**values, "at_worst": 7})) == (
        "Knowing the base would narrow these seven to about five on average, though at worst none "
        "would fall out"
    )
    assert fragment(render("report/next_look.j2", {**values, "at_worst": 5})) == (
        "Knowing the base would narrow these seven to about five"
    )


def test_either_of_many() -> None:
    """Of many types the number is given, and the first three, if none agree better than others."""
    assert told("call", haft_style="triangular") == (
        "By its haft (triangular) the piece can be any of five types known in the Eastern Valley, "
        "among them Fir Triangle 1, Fir Triangle 2 and Fir Triangle 3."
    )
    assert told("age", haft_style="triangular") == ""


@pytest.mark.parametrize(
    ("usual", "end"),
    [
        (("fir_triangle_4",), "; the one that agrees best is Fir Triangle 4."),
        (
            ("fir_triangle_2", "fir_triangle_5"),
            "; those that agree best are Fir Triangle 2 and Fir Triangle 5.",
        ),
        (
            ("fir_triangle_1", "fir_triangle_2", "fir_triangle_3", "fir_triangle_5"),
            ", among them Fir Triangle 1, Fir Triangle 2 and Fir Triangle 3.",
        ),
    ],
)
def test_those_that_agree_best(usual: tuple[str, ...], end: str) -> None:
    """Only types that agree better than all others are said to; the first of a tie are not."""
    plain = limits(blade_edge="plain")
    types = {
        name: replace(kind, usual=plain if name in usual else ())
        for name, kind in rules().types.items()
    }
    known = replace(rules(), types=types)
    found = examine(known, piece(haft_style="triangular", blade_edge="plain"), "east")
    text = next(s.text for s in sentences(known, found) if s.slot == "call")
    assert text.endswith(f"known in the Eastern Valley{end}")


@pytest.mark.parametrize(
    ("what", "end"),
    [
        ({"gone": frozenset({"base"})}, "What would part them best, the shape of the base, can no"),
        ({}, "What would part them best, the shape of the base, could not be seen."),
    ],
)
def test_a_look_that_was_lost(what: dict[str, Any], end: str) -> None:
    """What would part the types best is named where the piece cannot show it."""
    found = examined("east", haft_style="triangular", how={"base_shape": "missing"})
    told = sentences(rules(), replace(found, **what))
    text, about = next((s.text, s.about) for s in told if s.slot == "next_look")
    assert (text[: len(end)], about) == (end, ("base_shape",))


def test_a_look_as_good_as_a_lost_one() -> None:
    """A lost look is not named where one that can still be made is as good."""
    found = examined("east", haft_style="triangular")
    best = found.looks[0]
    other = best._replace(attribute=rules().index["blade_shape"])
    lost = best._replace(visible=False)
    for leaves, named in ((best.leaves, False), (best.leaves + 1, True)):
        both = replace(found, looks=(lost, other._replace(leaves=leaves)))
        text = next(s.text for s in sentences(rules(), both) if s.slot == "next_look")
        assert text.startswith("Knowing the outline of the blade would ")
        assert ("what would part them best, the shape of the base" in text) is named


def test_untyped_names_the_nearest() -> None:
    """Where no type fits, the nearest is named with what speaks against it."""
    assert told("call", **{**TAPERED, "base_shape": "straight"}) == (
        "None of the types known in the Eastern Valley fits all that was observed; nearest is "
        "Alder Stemmed, whose base is rounded to pointed."
    )


def test_untyped_without_a_haft() -> None:
    """Without anything seen of the haft no type is called, and the text says why."""
    assert told("call", blade_shape="straight") == (
        "Nothing that defines a haft was observed, and without it no type is called."
    )
    assert told("call", portion="distal") == ("Without the haft no type is called.")


def test_unusual_traits_and_figures() -> None:
    """What is unusual for the type is named, with the range and its source."""
    text = told("support", blade_edge="coarse", measures={"length": "72"}, **TAPERED)
    assert text == (
        "It departs from what is usual for Alder Stemmed in the blade edge (coarsely serrated); "
        "its maximum length (72 mm, against 30-60 mm) lies outside what is given for the type "
        "(Able 1964, from memory, to be verified)."
    )
    assert "nothing recorded" not in told("call", blade_edge="coarse", **TAPERED)


def test_blade_not_weighed() -> None:
    """On a reworked piece the blade criteria are not weighed, and the text says so."""
    assert told("aside", reworked_as="drill", **TAPERED) == (
        "As the piece was reworked, its blade was not weighed in the call."
    )
    assert told("aside", resharpening="heavy", **TAPERED) == (
        "As the blade was heavily resharpened, it was not weighed in the call."
    )
    assert told("aside", resharpening="light", **TAPERED) == ""


def test_age_of_one_type() -> None:
    """The age is the type's, with scale, sources and basis."""
    assert told("age", **TAPERED) == (
        "The type is placed there in the Middle Archaic, 5500-5000 BC (uncalibrated; Able 1964, "
        "and Baker and Cole 1975, from memory, to be verified)."
    )


def test_ages_of_two_types() -> None:
    """What holds of all ages is said once."""
    assert told("age", haft_style="notched", notch_position="side") == (
        "Dogwood Notched is placed there in the Late Archaic, 2000-1000 BC (Able 1964, and Baker "
        "and Cole 1975); Cedar Notched is in the Early Archaic, 9500-8800 radiocarbon years BP "
        "(Able 1964, and Baker and Cole 1975). Both ages are ranges of the period rather than "
        "direct dates; they are cited from memory and still to be verified."
    )


def test_elsewhere() -> None:
    """Other regions give the type's name, the place and its age with the scale."""
    assert told("elsewhere", **TAPERED) == (
        "In other regions the same observations agree with Birch Stemmed on the Western Hills "
        "(younger: Woodland, late part, 500 BC-AD 600, scale uncertain; locally Bramble)."
    )


def test_eye_against_measurement() -> None:
    """A disagreement names both states and the figures."""
    text = told(
        "disagreement", stem_shape="expanding", measures={"base_width": "9.0", "neck_width": "15"}
    )
    assert text == (
        "By eye the stem is expanding; measurement (basal width 9.0 mm and neck width 15 mm) makes "
        "it contracting."
    )


@pytest.mark.parametrize("register", ["report", "note", "catalogue"])
def test_analyst_differs(register: str) -> None:
    """An analyst's own call stands beside the key's, with reason, name and date."""
    own = AnalystCall("Birch Stemmed", "it lay with pottery", "A. Tester", "2026-01-02")
    text = told("analyst", register, analyst=own, **TAPERED)
    for word in ("Birch Stemmed", "it lay with pottery", "A. Tester", "2026-01-02"):
        assert word in text
    assert "Alder Stemmed" in told("call", register, analyst=own, **TAPERED)


def test_analyst_agrees() -> None:
    """An analyst's call of the same type, by name or id, is said to agree."""
    for name in ("alder stemmed", "alder_stemmed"):
        assert told("analyst", analyst=AnalystCall(name, ""), **TAPERED) == (
            "The analyst's own call agrees: Alder Stemmed."
        )


def test_analyst_goes_further() -> None:
    """A call of one of the types that stay possible is not called another."""
    own = AnalystCall("Alder Stemmed", "")
    assert told("analyst", analyst=own, haft_style="stemmed") == (
        "The analyst's own call is among what the key leaves open: Alder Stemmed."
    )
    assert told("analyst", region="", analyst=own, haft_style="stemmed") == (
        "The analyst's own call is Alder Stemmed."
    )


def test_cautions() -> None:
    """A report carries the caution on types, and that on sampling before it."""
    assert told("cautions", **TAPERED) == "A type is a construct."
    assert told("cautions", sampling="planned", **TAPERED) == (
        "Leave the piece unwashed. A type is a construct."
    )
    assert told("cautions", "note", sampling="planned") == (
        "Sampling planned or not ruled out: do not wash, gloves only."
    )
    assert told("cautions", "note", **TAPERED) == ""


def test_no_region() -> None:
    """Without a region there is no call, and other regions are still told."""
    assert told("no_region", region="", **TAPERED) == (
        "No research region was given, so no type is called."
    )
    assert told("elsewhere", region="", **TAPERED).startswith(
        "The same observations agree with Alder Stemmed in the Eastern Valley"
    )
