"""Every state, set of states and pair of attributes gives correct sentences, or none."""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from keygen.core.examine import Examination, Piece, examine
from keygen.core.model import Attribute
from keygen.core.observe import How, Observation
from keygen.prose import sentences
from keygen.prose.form import FORMS
from keygen.prose.sights import look
from tests.prose.pieces import examined, piece, rules, words

ATTRIBUTES = words().attributes
FAULTS = re.compile(
    r"  | [,.;:)]|\( |[{}]|\bNone\b(?! of)|\bUndefined\b|\b(\w+) \1\b|,\s*,|;\s*;|\.\.|,\."
    r"|\b(and|or|with|is|are|to|of|a|an|the)[.,;)]"
    r"|\ba (?!u-|U-|uni|one)[aeiou]|\ban (?![aeiou8])"
)


def seen(*observed: tuple[str, int]) -> Examination:
    """Return a piece with these masks seen."""
    index = rules().index
    found = {index[name]: Observation(mask, "seen") for name, mask in observed}
    return examine(rules(), Piece(observations=found))


def faults(examination: Examination) -> list[str]:
    """Return the sentences of all registers that are not well formed."""
    bad = []
    for register in ("report", "note", "catalogue"):
        for sentence in sentences(rules(), examination, register):
            whole = sentence.text[:1].isupper() and sentence.text.endswith(".")
            balanced = sentence.text.count("(") == sentence.text.count(")")
            fault = FAULTS.search(sentence.text)
            if fault or not balanced or not (whole or register == "catalogue"):
                bad.append(f"{register}/{sentence.slot}: {sentence.text}")
    return bad


def texts(examination: Examination) -> str:
    """Return the report's sentences about the piece."""
    return " ".join(s.text for s in sentences(rules(), examination, "report"))


@pytest.mark.parametrize("attribute", ATTRIBUTES, ids=lambda a: a.id)
def test_every_set_of_states_is_worded(attribute: Attribute) -> None:
    """Each set of states of an attribute, alone, gives sentences without a fault."""
    bad = [
        fault for mask in range(1, attribute.full) for fault in faults(seen((attribute.id, mask)))
    ]
    assert bad == []


SINGLE = [a for a in ATTRIBUTES if not a.item_of and a.id not in ("sampling", "handling")]


@pytest.mark.parametrize("attribute", SINGLE, ids=lambda a: a.id)
def test_what_is_worth_saying_is_said(attribute: Attribute) -> None:
    """An observation changes the report if, and only if, it is worth saying."""
    silent = texts(seen())
    for mask in range(1, attribute.full):
        examination = seen((attribute.id, mask))
        spoken = bool(look(rules(), examination)[attribute.id])
        about = {a for s in sentences(rules(), examination, "report") for a in s.about}
        assert (texts(examination) != silent) is spoken, texts(examination)
        assert about == ({attribute.id} if spoken else set())


def few(attribute: Attribute) -> Iterator[int]:
    """Yield some sets of states: the first, second and last alone, the first and the last two."""
    count = len(attribute.states)
    yield from sorted({1, 2, 1 << count - 1, 0b11, 0b11 << count - 2})


PAIRS = sorted(
    {
        tuple(sorted(pair))
        for form in FORMS.values()
        for pair in combinations([n for n in (*form.declared, *form.lent) if n in rules().index], 2)
    }
    | {(one.id, other.id) for one, other in combinations([a for a in ATTRIBUTES if a.item_of], 2)}
)


@pytest.mark.parametrize("pair", PAIRS, ids="+".join)
def test_pairs_within_a_sentence(pair: tuple[str, str]) -> None:
    """Two attributes that meet in a sentence give it no fault, whatever their states."""
    one, other = (ATTRIBUTES[rules().index[name]] for name in pair)
    bad = [
        fault
        for mask in few(one)
        for second in few(other)
        if mask < one.full and second < other.full
        for fault in faults(seen((one.id, mask), (other.id, second)))
    ]
    assert bad == []


@settings(max_examples=150, deadline=None)
@given(st.data())
def test_whole_pieces(draw: st.DataObject) -> None:
    """A piece with any sets of states, measures and ways of seeing has well-formed sentences."""
    observed = {}
    for i, attribute in enumerate(ATTRIBUTES):
        mask = draw.draw(st.integers(0, attribute.full))
        if mask:
            how: How = draw.draw(st.sampled_from(("missing", "unsure")))
            observed[i] = Observation(mask, "seen" if mask != attribute.full else how)
    measures = draw.draw(st.sets(st.sampled_from(sorted(rules().measurements))))
    taken = piece(measures={m: draw.draw(st.sampled_from(("34.2", "9.1+"))) for m in measures})
    region = draw.draw(st.sampled_from(("", "east", "west")))
    whole = Piece("T-1", observed, taken.readings, {"material": "chert", "colour": "grey"})
    examination = examine(rules(), whole, region)
    assert faults(examination) == []
    known = {ATTRIBUTES[i].id for i in observed}
    for sentence in sentences(rules(), examination, "report"):
        if sentence.slot not in ("call", "next_look"):  # these name what was not observed as open
            assert set(sentence.about) <= known | {"stem_shape"}  # which measurement can give


def test_sentences_speak_of_declared_attributes_only() -> None:
    """A sentence about the piece rests on attributes that its slot declares."""
    examination = seen(*((a.id, 1 << len(a.states) - 1) for a in ATTRIBUTES))
    for sentence in sentences(rules(), examination, "report"):
        form = FORMS.get(sentence.slot)
        spoken_of = {*form.declared, *form.lent} if form else set()
        if spoken_of and not spoken_of & {"damage", "form"}:
            assert set(sentence.about) <= spoken_of


def test_every_attribute_has_a_sentence() -> None:
    """No attribute of the vocabulary is left without a place in the description."""
    declared = {name for form in FORMS.values() for name in form.declared} | {"sampling"}
    assert [a.id for a in ATTRIBUTES if (a.item_of or a.id) not in declared] == []


def test_nothing_observed() -> None:
    """A piece of which nothing was observed is a point, and no more is said."""
    assert texts(examined(label="T-1")) == (
        "Specimen T-1 is a point. No research region was given, so no type is called."
    )


def test_what_is_implied_is_silent() -> None:
    """What only follows from other answers, or was not asked, is not said."""
    examination = seen(("stem_shape", 0b1000))
    observations = list(examination.observations)
    for name in ("haft_style", "shoulder_shape", "base_shape"):
        observations[rules().index[name]] = Observation(0b10, "implied")
    implied = Examination(**{**vars(examination), "observations": tuple(observations)})
    assert texts(implied) == texts(examination)


@pytest.mark.parametrize(
    ("states", "text"),
    [
        ({"haft_style": "lanceolate", "fluting": "none"}, "The piece is unfluted."),
        ({"haft_style": "stemmed", "fluting": "none"}, ""),
        ({"haft_style": "notched", "ears": "none", "barb_tip": "none"}, ""),
        ({"haft_grinding": "none"}, "The haft is unground."),
        ({"base_finish": "flaked", "haft_edge": "plain", "notch_count": "two"}, ""),
    ],
)
def test_what_goes_without_saying(states: dict[str, str], text: str) -> None:
    """An absence is mentioned only where an analyst would mention it."""
    told = sentences(rules(), examined(**states), "report")
    assert " ".join(s.text for s in told if s.slot not in ("piece", "no_region")) == text


@pytest.mark.parametrize(
    ("states", "text"),
    [
        ({"stem_shape": "straight contracting"}, "The stem is straight to contracting."),
        ({"stem_shape": "expanding contracting"}, "The stem is expanding or contracting."),
        ({"stem_shape": "none contracting"}, "The stem, if any, is contracting."),
        ({"ears": "none flared"}, "The base may have flared ears."),
        ({"haft_grinding": "base sides both"}, "The haft is ground."),
        ({"fluting": "one_face both_faces"}, "The piece is fluted on at least one face."),
        ({"resharpening": "none light"}, "The blade was lightly resharpened, if at all."),
        ({"haft_waist": "none slight"}, "The haft has at most a slight waist above the base."),
        ({"notch_count": "three four_plus"}, "There are three or more notches."),
        ({"blade_edge": "fine coarse"}, "The blade edges are serrated."),
        (
            {"damage": "recent"},
            "Fresh scars show recent damage from digging or the plough.",
        ),
        ({"damage": "tip_snap impact"}, "The tip is lost to a snap and an impact fracture."),
        ({"portion": "proximal"}, "The specimen is a proximal fragment of a point."),
        ({"portion": "distal"}, "The specimen is a distal fragment of a biface."),
        (
            {"portion": "complete proximal", "haft_style": "stemmed"},
            "The specimen is a complete stemmed point or a proximal fragment of one.",
        ),
        (
            {"haft_style": "stemmed notched", "notch_position": "none corner"},
            "The specimen is a stemmed or corner-notched point.",
        ),
    ],
)
def test_wording(states: dict[str, str], text: str) -> None:
    """Sets of states are worded as a careful analyst words them."""
    assert text in [s.text for s in sentences(rules(), examined(**states), "report")]


def test_joined_haft() -> None:
    """Shoulders, stem and a base of which little is said stand in one sentence."""
    told = sentences(
        rules(),
        examined(
            shoulder_strength="weak",
            shoulder_shape="tapered",
            stem_length="short",
            stem_shape="contracting",
            base_shape="rounded",
            haft_grinding="none",
            measures={"haft_length": "12.3"},
        ),
        "report",
    )
    assert told[1].text == (
        "Weak, tapered shoulders pass into a short, contracting stem, 12.3 mm long, with a "
        "rounded, unground base."
    )
    assert told[1].measures == ("haft_length",)
    assert told[1].about[-2:] == ("base_shape", "haft_grinding")


@pytest.mark.parametrize(
    ("states", "text"),
    [
        (
            {"haft_sides": "contracting", "haft_waist": "none", "haft_grinding": "none"},
            "The haft margins are contracting, with no waist above the base; the haft is unground.",
        ),
        (
            {"haft_waist": "slight", "haft_grinding": "none"},
            "The haft has a slight waist above the base and is unground.",
        ),
    ],
)
def test_margins_are_told_with_their_grinding(states: dict[str, str], text: str) -> None:
    """Where the margins of the haft are described, its grinding stands in their sentence."""
    told = sentences(
        rules(), examined(haft_style="lanceolate", base_shape="rounded", **states), "report"
    )
    assert [s.text for s in told if s.slot in ("base", "margins")] == ["The base is rounded.", text]
    assert [s.slot for s in told if "haft_grinding" in s.about] == ["margins"]


def test_doubtful_damage_is_told_once() -> None:
    """A break in doubt is told with the damage, and not again among what is undecided."""
    told = sentences(rules(), examined(how={"damage.tip_snap": "unsure"}), "report")
    assert [s.slot for s in told if "damage.tip_snap" in s.about] == ["damage"]


@pytest.mark.parametrize(
    ("states", "text"),
    [
        ({}, "No damage was noted."),
        ({"portion": "complete"}, "No damage was noted."),
        ({"portion": "proximal"}, "No other damage was noted."),
    ],
)
def test_no_damage_beside_a_break(states: dict[str, str], text: str) -> None:
    """Other damage is spoken of only where the piece is known to be broken."""
    nothing = {a.id: "absent" for a in rules().attributes if a.item_of == "damage"}
    told = sentences(rules(), examined(**nothing, **states), "report")
    assert [s.text for s in told if s.slot == "damage"] == [text]


def test_what_could_not_be_seen() -> None:
    """Lost parts, hidden traits and undecided ones are told in one sentence."""
    told = sentences(
        rules(),
        examined(
            portion="proximal",
            stem_shape="straight",
            how={"base_shape": "missing", "haft_grinding": "unsure", "blade_shape": "missing"},
        ),
        "report",
    )
    assert next(s.text for s in told if s.slot == "unseen") == (
        "The tip and blade do not survive; the base shape could not be observed; haft grinding "
        "could not be decided."
    )


def test_a_stem_of_which_nothing_is_known_is_not_described() -> None:
    """Where all states but `none` are left of a stem, they are no observation and not listed."""
    open_stem = examined(
        haft_style="stemmed", how={"stem_shape": "unsure", "stem_length": "missing"}
    )
    assert "The stem is" not in texts(open_stem)
    told = next(s.text for s in sentences(rules(), open_stem, "report") if s.slot == "unseen")
    assert told == "The stem length could not be observed; the stem shape could not be decided."
    walked = examined(haft_style="stemmed", stem_shape="straight expanding contracting")
    assert "stem" not in texts(walked).replace("stemmed", "")
