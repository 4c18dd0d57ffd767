"""The specimen record: what is written reads back, and faults are placed."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import assume, given
from hypothesis import strategies as st

from keygen.core.examine import AnalystCall, Change, Piece
from keygen.core.measure import read as read_measurement
from keygen.core.model import Rules
from keygen.core.observe import How, Observation
from keygen.core.states import is_single
from keygen.errors import KeygenError
from keygen.rulebase.load import load
from keygen.specimens import record
from keygen.specimens.history import KeyCall
from keygen.specimens.provenience import CONTEXT, is_exact
from keygen.specimens.record import Specimen
from keygen.specimens.terms import Lexicon
from tests.conftest import SMALL_RULES

RULES = load(SMALL_RULES)
HIDDEN = "\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\ufeff"
visible = st.characters(exclude_categories=["Cs", "Cc"], exclude_characters=HIDDEN)
words = st.text(visible).map(lambda text: " ".join(text.split()))
some_words = words.filter(bool)
changes = st.builds(Change, words, words, some_words, words)
key_calls = st.builds(
    KeyCall,
    st.sampled_from(["assigned", "cf.", "either", "untyped"]),
    st.lists(some_words).map(tuple),
    some_words,
    words,
    words,
)
figures = st.decimals(min_value="0.1", max_value=200, places=1).map(str)


@st.composite
def observed(draw: st.DrawFn) -> dict[int, Observation]:
    """Draw observations of some attributes; the items of a `many` share their couplets."""
    found = {}
    places = st.lists(st.sampled_from(sorted(RULES.couplets)), unique=True).map(tuple)
    shared = tuple(sorted(draw(places)))
    for i in draw(st.sets(st.integers(0, len(RULES.attributes) - 1))):
        attribute = RULES.attributes[i]
        mask = draw(st.integers(1, attribute.full))
        how: How = "seen" if is_single(mask) else draw(st.sampled_from(["unsure", "missing"]))
        found[i] = Observation(mask, how, shared if attribute.item_of else draw(places))
    return found


@st.composite
def specimens(draw: st.DrawFn) -> Specimen:
    """Draw a record with anything that an analyst can write."""
    names = ("material", "colour", *CONTEXT, "observer")
    details = draw(st.dictionaries(st.sampled_from(names), some_words))
    date = draw(st.sampled_from(["", "2026-05-02", "2026-05", "2026"]))
    analyst = st.builds(AnalystCall, some_words, some_words, words, st.just(date))
    readings = draw(st.dictionaries(st.sampled_from(["length", "width"]), figures))
    piece = Piece(
        label=draw(words),
        observations=draw(observed()),
        readings={name: read_measurement(text, "mm") for name, text in readings.items()},
        details={**details, **({"date": date} if date else {})},
        analyst=draw(st.none() | analyst),
        notes=draw(words),
        history=tuple(draw(st.lists(changes))),
    )
    region = draw(st.sampled_from(["", "hills"]))
    made = draw(st.none() | key_calls)
    return Specimen(piece, region, draw(words), draw(words), "", draw(words), key_call=made)


@given(specimens())
def test_what_is_written_reads_back(specimen: Specimen) -> None:
    """A record reads back as it was, whatever characters its texts hold, but for remarks."""
    assume(not any(map(is_exact, specimen.piece.details.values())))  # would join the location
    text = record.to_text(RULES, specimen)
    found = record.read_text(Lexicon(RULES), text, "x.yaml")
    assert replace(found, remarks=()) == specimen


@given(specimens())
def test_any_yaml_reader_finds_text(specimen: Specimen) -> None:
    """A reader that guesses at numbers, dates and yes or no still finds only text."""

    def texts(value: Any) -> bool:
        if isinstance(value, dict):
            return all(isinstance(k, str) and texts(v) for k, v in value.items())
        return all(map(texts, value)) if isinstance(value, list) else isinstance(value, str)

    data = yaml.safe_load(record.to_text(RULES, specimen))
    assert data.pop("keygen_record") == 1
    assert texts(data)


HEAD = "keygen_record: 1\nspecimen: T-1\nregion: hills\n"


def read(lexicon: Lexicon, rest: str) -> Specimen:
    """Read a record with a usual head."""
    return record.read_text(lexicon, HEAD + rest, "T-1.yaml")


def test_the_short_form_is_understood(lexicon: Lexicon) -> None:
    """By hand one may write a state, a list of states, `?` or `missing`."""
    piece = read(
        lexicon,
        "observed:\n"
        "  haft style: stemmed\n"
        "  stem_shape: [straight, tapering]\n"
        '  base_shape: "?"\n'
        "  blade_shape: missing\n"
        "  damage: [heat]\n",
    ).piece
    found = {RULES.attributes[i].id: (o.mask, o.how) for i, o in piece.observations.items()}
    assert found == {
        "haft_style": (0b10, "seen"),
        "stem_shape": (0b0110, "unsure"),
        "base_shape": (0b111, "unsure"),
        "blade_shape": (0b11, "missing"),
        "damage.tip_snap": (0b01, "seen"),
        "damage.heat": (0b10, "seen"),
    }


def test_figures_keep_their_last_zero(lexicon: Lexicon) -> None:
    """An unquoted figure keeps the precision that was written."""
    reading = read(lexicon, "measurements: {length: 34.20, width: 27.1 mm}\n").piece.readings
    assert (reading["length"].entered, reading["width"].entered) == ("34.20", "27.1 mm")
    assert reading["length"].high == pytest.approx(34.205)


@pytest.mark.parametrize("words", ["hills", "Hills", "HILLS", "The Hills"])
def test_a_region_is_known_by_id_or_label(lexicon: Lexicon, words: str) -> None:
    """The region of a record is understood as it is in tables and options."""
    label = RULES.regions["hills"].label
    text = HEAD.replace("hills", label if words.startswith("The") else words)
    assert record.read_text(lexicon, text, "T-1.yaml").region == "hills"


def test_a_path_alone_gives_the_observations(lexicon: Lexicon) -> None:
    """A record with a path and nothing observed is read by walking the path."""
    piece = read(lexicon, "path: 1a 3a 6b 9b 10a 11a\n").piece
    found = {RULES.attributes[i].id: o.mask for i, o in piece.observations.items()}
    assert found["haft_style"] == 0b01
    assert found["base_shape"] == 0b100


def test_what_is_observed_stands_over_the_path(lexicon: Lexicon) -> None:
    """A record corrected by hand keeps its correction beside the old path."""
    piece = read(lexicon, "observed: {haft_style: stemmed}\npath: 1a 3a 6b\n").piece
    assert set(piece.observations) == {RULES.index["haft_style"]}


def test_location_is_no_part_of_the_piece(lexicon: Lexicon) -> None:
    """An exact location stays in the file and out of all that is printed from a piece."""
    specimen = read(lexicon, "context: {site: S1, location: 17S 0123456}\n")
    assert specimen.location == "17S 0123456"
    assert "0123456" not in repr(specimen.piece)
    assert "0123456" in record.to_text(RULES, specimen)


@pytest.mark.parametrize(
    ("rest", "place", "message"),
    [
        ("observd: {}\n", "4:1", "Did you mean 'observed'?"),
        ("observed:\n  stem_shap: straight\n", "5:14", "Did you mean 'stem_shape'?"),
        ("observed:\n  stem_shape: contractng\n", "5:15", "Did you mean 'contracting'?"),
        ("observed:\n  stem_shape:\n", "5:14", "no state is given for stem_shape"),
        ("observed: {stem_shape: {how: gone}}\n", "4:30", "'how' is 'gone'. Allowed: "),
        ("observed: {stem_shape: {at: [x]}}\n", "4:12", "no states are given for stem_shape"),
        ("observed: {stem_shape: none, stem shape: none}\n", "4:42", "is recorded twice"),
        ("observed: {damage: {open: [cold]}}\n", "4:28", "the damage state 'cold' is not known"),
        ("measurements:\n  length: 30 kg\n", "5:11", "'30 kg' is not a measurement"),
        ("measurements:\n  lenth: 30\n", "5:10", "Did you mean 'length'?"),
        ("measurements: {length: 34,2}\n", "4:28", '"34,2" in quotes, or 34.2 with a point'),
        ("date: 2026-02-30\n", "4:7", "'2026-02-30' is not a day of the calendar"),
        ("date: May\n", "4:7", "write it as in 2026-05-02"),
        ("context: {place: X}\n", "4:18", "the key 'place' is not used here"),
        ("analyst: {call: Alder}\n", "4:1", "the key 'reason' is missing"),
        ("path: 1a 88b\n", "4:7", "at '88b': there is no couplet 88"),
        ("region: hills\n", "4:1", "the key 'region' is written twice"),
        ("notes: a: b\n", "4:9", "Quote text that holds ':' or '#'."),
    ],
)
def test_a_fault_is_placed(lexicon: Lexicon, rest: str, place: str, message: str) -> None:
    """A fault is reported with file, line, column and the nearest valid word."""
    with pytest.raises(KeygenError) as error:
        read(lexicon, rest)
    assert str(error.value).startswith(f"T-1.yaml:{place}:")
    assert message in str(error.value)


def test_all_faults_are_reported_at_once(lexicon: Lexicon) -> None:
    """One reading shows every fault of a record."""
    with pytest.raises(KeygenError) as error:
        read(lexicon, "date: May\nobserved: {stem_shape: bent}\nmeasurements: {length: x}\n")
    assert [p.line for p in error.value.problems] == [4, 5, 6]


@pytest.mark.parametrize("text", ["", "a: 1\n", "- a\n", "keygen_record: 2\n", "plain text"])
def test_another_file_is_no_record(lexicon: Lexicon, text: str) -> None:
    """A file that is not a record of this format is refused as such."""
    with pytest.raises(KeygenError, match="K301"):
        record.read_text(lexicon, text, "x.yaml")


def test_a_contradiction_names_what_clashes(lexicon: Lexicon) -> None:
    """Observations that no piece can have together are named, and only those."""
    piece = read(
        lexicon, "observed: {haft_style: lanceolate, stem_shape: straight, blade_shape: straight}\n"
    ).piece
    with pytest.raises(KeygenError) as error:
        record.examined(RULES, piece, "hills", "T-1.yaml")
    assert "haft_style=lanceolate, stem_shape=straight" in str(error.value)
    assert "blade_shape" not in str(error.value)


def test_saving_never_replaces_a_file(small_rules: Rules, tmp_path: Path) -> None:
    """A record is not written over a file that is there, and leaves nothing else behind."""
    target = tmp_path / "T-1.yaml"
    target.write_text("mine", encoding="utf-8")
    with pytest.raises(KeygenError, match="exists and is left as it is"):
        record.save(small_rules, Specimen(Piece(label="T-1")), target)
    assert target.read_text(encoding="utf-8") == "mine"
    assert list(tmp_path.iterdir()) == [target]


def test_a_record_that_is_not_utf8_is_refused(lexicon: Lexicon, tmp_path: Path) -> None:
    """A file in another encoding is refused with the byte where it shows."""
    target = tmp_path / "T-1.yaml"
    target.write_bytes(b"keygen_record: 1\nnotes: caf\xe9\n")
    with pytest.raises(KeygenError, match="not UTF-8 at byte 27"):
        record.load(lexicon, target)
