"""What each specimen of the demo is there to show."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

import pytest

from keygen.cli.demo import records
from keygen.core.examine import Examination
from keygen.core.model import Rules
from keygen.core.observe import Observation
from keygen.prose import sentences
from keygen.specimens.record import Specimen, examined, read_text
from keygen.specimens.terms import Lexicon

Survey = Mapping[str, Examination]
Shows = Callable[["Told"], bool]


class Told:
    """A specimen with its observations and sentences at hand by name."""

    def __init__(self, rules: Rules, examination: Examination) -> None:
        self.rules = rules
        self.examination = examination

    def seen(self, name: str) -> tuple[str, ...]:
        """Return the states left of an attribute."""
        index = self.rules.index[name]
        return self.rules.attributes[index].ids(self.examination.observations[index].mask)

    def observation(self, name: str) -> Observation:
        """Return the observation of an attribute."""
        return self.examination.observations[self.rules.index[name]]

    def derived(self, name: str) -> bool:
        """Tell whether a state follows from measurements alone."""
        return self.rules.index[name] in self.examination.derived

    def says(self, slot: str, words: str) -> bool:
        """Tell whether the sentence of a slot holds some words."""
        told = sentences(self.rules, self.examination)
        return any(words in s.text for s in told if s.slot == slot)

    def near(self) -> list[tuple[str, str]]:
        """Return the near misses, each with the attribute against it."""
        call = self.examination.call
        assert call is not None
        attributes = self.rules.attributes
        return [(j.type, attributes[j.against[0].attribute].id) for j in call.near_misses]

    def open(self) -> list[str]:
        """Return what the best candidate leaves open."""
        call = self.examination.call
        assert call is not None
        return [self.rules.attributes[c.attribute].id for c in call.candidates[0].open]


CASES: dict[str, tuple[str, tuple[str, ...] | int, Shows]] = {
    "VS-01": (
        "assigned",
        ("kirk_corner_notched",),
        lambda t: t.seen("portion") == ("complete",) and not t.open(),
    ),
    "VS-02": (
        "either",
        7,
        lambda t: (
            t.derived("stem_shape")
            and t.seen("stem_shape") == ("straight",)
            and t.says("elsewhere", "would fit")
            and t.examination.gone == {"tip", "blade", "shoulder"}
        ),
    ),
    "VS-03": (
        "untyped",
        (),
        lambda t: (
            t.examination.gone == {"haft", "base", "shoulder"}
            and t.says("call", "Without the haft no type is called")
        ),
    ),
    "VS-04": (
        "either",
        13,
        lambda t: (
            t.examination.gone == {"haft", "base"} and t.says("barbs", "The barbs are squared")
        ),
    ),
    "VS-05": (
        "assigned",
        ("guilford",),
        lambda t: (
            t.seen("portion") == ("lateral",)
            and t.examination.piece.readings["width"].incomplete
            and t.observation("blade_symmetry").how == "missing"
        ),
    ),
    "VS-06": (
        "assigned",
        ("table_rock",),
        lambda t: t.seen("reworked_as") == ("drill",) and t.says("aside", "was not weighed"),
    ),
    "VS-07": (
        "assigned",
        ("dalton",),
        lambda t: (
            t.seen("blade_retouch") == ("alternate_bevel",)
            and t.says("aside", "heavily resharpened")
        ),
    ),
    "VS-08": (
        "either",
        6,
        lambda t: (
            t.observation("stem_shape").how == "unsure"
            and t.says("haft", "straight to contracting stem")
        ),
    ),
    "VS-09": (
        "assigned",
        ("kings_corner_notched",),
        lambda t: (
            t.seen("haft_style") == ("stemmed", "notched")
            and t.says("call", "(stemmed or corner-notched, stem expanding, ")
            and t.seen("notch_position") == ("none", "corner")
        ),
    ),
    "VS-10": ("assigned", ("morrow_mountain_ii",), lambda t: t.says("age", "Middle Archaic")),
    "VS-11": ("assigned", ("gary",), lambda t: t.says("age", "Woodland")),
    "VS-12": (
        "untyped",
        (),
        lambda t: (
            ("halifax_side_notched", "haft_grinding") in t.near()
            and t.says("call", "Halifax Side-Notched, whose haft is ground")
        ),
    ),
    "VS-13": (
        "assigned",
        ("yadkin_large_triangular",),
        lambda t: t.says("cautions", "leave the piece unwashed"),
    ),
    "VS-14": (
        "assigned",
        ("palmer_corner_notched",),
        lambda t: (
            t.says("disagreement", "By eye the size is small")
            and t.says("analyst", "differs from the key's: Kirk Corner-Notched, because")
        ),
    ),
    "VS-15": (
        "either",
        ("washita", "reed"),
        lambda t: (
            t.says("call", "To part them, look at the height of the notches")
            and t.seen("size_class") == ("small",)
        ),
    ),
    "VS-16": (
        "cf.",
        ("st_albans",),
        lambda t: (
            t.open() == ["stem_shape"]
            and t.derived("stem_shape")
            and t.seen("stem_shape") == ("straight", "contracting")
        ),
    ),
}


@pytest.mark.parametrize("number", CASES)
def test_purpose(rules: Rules, survey: Survey, number: str) -> None:
    """A specimen gets the call it is there for, and shows what it is there to show."""
    status, types, shows = CASES[number]
    call = survey[number].call
    assert call is not None
    assert call.status == status
    if isinstance(types, int):
        assert len(call.types) == types
    else:
        assert call.types == types
    assert shows(Told(rules, survey[number]))


def test_every_specimen_has_a_purpose(survey: Survey) -> None:
    """The survey holds the specimens of the table above and no others."""
    assert list(survey) == list(CASES)


def test_only_the_region_turns_the_call(survey: Survey) -> None:
    """VS-10 and VS-11 differ in region and size and in no observation, yet are two types."""
    one, other = survey["VS-10"], survey["VS-11"]
    assert one.piece.observations == other.piece.observations
    assert one.region != other.region
    assert one.call is not None
    assert other.call is not None
    assert one.call.types != other.call.types


@pytest.mark.parametrize(
    ("number", "words"),
    [
        ("VS-10", "Gary in the Ozark highland and Arkansas basin (younger: "),
        ("VS-11", "Morrow Mountain II in the Southern Piedmont (older: "),
    ],
)
def test_the_double_of_another_region_goes_first(
    rules: Rules, survey: Survey, number: str, words: str
) -> None:
    """Each of the two names the other's type in the other's region, and which is the older."""
    told = sentences(rules, survey[number])
    (text,) = (s.text for s in told if s.slot == "elsewhere")
    assert text.startswith(f"In other regions the same observations agree with {words}")


def test_a_doubt_need_not_matter(rules: Rules, survey: Survey) -> None:
    """VS-09 is of the same type whichever way the doubt over its haft is settled."""
    found = survey["VS-09"]
    for style, position in (("stemmed", "none"), ("notched", "corner")):
        settled = {
            rules.index["haft_style"]: Observation(rules.mask("haft_style", style), "seen"),
            rules.index["notch_position"]: Observation(
                rules.mask("notch_position", position), "seen"
            ),
        }
        piece = replace(found.piece, observations={**found.piece.observations, **settled})
        called = examined(rules, piece, found.region).call
        assert called is not None
        assert called.types == ("kings_corner_notched",)


@pytest.fixture(scope="module", params=records().items(), ids=lambda item: item[0])
def specimen(request: pytest.FixtureRequest, rules: Rules) -> tuple[str, Specimen]:
    """Return a record with the name of its file."""
    name, text = request.param
    return name, read_text(Lexicon(rules), text, name)


def test_record_is_named_after_its_specimen(specimen: tuple[str, Specimen]) -> None:
    """A record is read without a problem, and its file bears the specimen's number."""
    name, found = specimen
    assert name == f"{found.piece.label}.yaml"


def test_record_gives_no_location(rules: Rules, specimen: tuple[str, Specimen]) -> None:
    """A record names a region of the rules, an invented site, a day of 2026 and no location."""
    _, found = specimen
    details = found.piece.details
    assert found.region in rules.regions
    assert details["site"] in ("Quessary Bench", "Corrivane Flat", "Dunmarrel Rise")
    assert details["date"].startswith("2026-")
    assert details["observer"] in ("Q. V.", "X. T.", "Z. K.")
    assert found.location == ""


def test_widths_and_lengths_agree(specimen: tuple[str, Specimen]) -> None:
    """No part is longer than the whole, no neck wider than the shoulders."""
    readings = specimen[1].piece.readings
    values = {name: r.value for name, r in readings.items() if not r.incomplete}
    for part, whole in (
        ("blade_length", "length"),
        ("haft_length", "length"),
        ("neck_width", "width"),
        ("basal_concavity", "base_width"),
        ("thickness", "width"),
    ):
        if part in values and whole in values:
            assert values[part] < values[whole]
