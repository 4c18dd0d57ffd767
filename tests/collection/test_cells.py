"""What the text of one cell says."""

from __future__ import annotations

from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from keygen.collection.cells import cells_of
from keygen.collection.columns import Names
from keygen.collection.model import Column
from keygen.collection.said import Memo, Said
from keygen.core.model import Rules
from keygen.rulebase.load import shipped
from keygen.specimens.terms import Lexicon

RULES = shipped()
LEXICON = Lexicon(RULES)
Shown = dict[str, tuple[str, str]]


def attribute(name: str) -> Memo:
    """Return what the cells of an attribute's column say."""
    return cells_of(LEXICON, Column(name, "attribute", name))


def figures(name: str = "length", unit: str = "") -> Memo:
    """Return what the cells of a measurement's column say."""
    return cells_of(LEXICON, Column(name, "measurement", name, unit))


def shown(said: Said, rules: Rules = RULES) -> Shown:
    """Return observations by the id of their attribute: states and how they came about."""
    assert not [remark for remark in said.remarks if remark.grade == "error"], said.remarks
    return {
        rules.attributes[i].id: ("/".join(rules.attributes[i].ids(o.mask)), o.how)
        for i, o in said.observations
    }


@pytest.mark.parametrize(
    "text",
    [
        "straight/expanding",
        "Straight / Expanding",
        "straight or expanding",
        "straight, expanding",
        "straight to expanding",
        "parallel-sided/flared",
    ],
)
def test_several_terms(text: str) -> None:
    """Several terms, however they are joined, leave each of them possible."""
    assert shown(attribute("stem_shape")[text]) == {"stem_shape": ("straight/expanding", "unsure")}


@pytest.mark.parametrize("text", ["", " ", "not recorded", "N.R.", "Not Observed", "ND", "N.D."])
def test_nothing_recorded(text: str) -> None:
    """An empty cell, and words for one, record nothing."""
    assert attribute("stem_shape")[text] == Said()


@pytest.mark.parametrize("text", ["missing", "n/a", "N.A.", "-", "\u2014", "broken off"])
def test_not_to_be_seen(text: str) -> None:
    """Words for what did not survive say that it cannot be seen."""
    assert attribute("stem_shape")[text].observations[0][1].how == "missing"


@pytest.mark.parametrize("text", ["?", "unsure", "Indet.", "unk.", "unknown"])
def test_undecided(text: str) -> None:
    """Words of doubt leave every state and say that somebody looked."""
    index = RULES.index["stem_shape"]
    [(i, seen)] = attribute("stem_shape")[text].observations
    assert (i, seen.mask, seen.how) == (index, RULES.full[index], "unsure")


def test_own_word_before_words_for_nothing() -> None:
    """A word that is a state here is that state, though elsewhere it says that nothing is there."""
    assert shown(attribute("haft_sides")["n/a"]) == {"haft_sides": ("none", "seen")}


def test_thesaurus_word_says_all_it_means() -> None:
    """A word of the thesaurus with one meaning speaks of every attribute in it."""
    assert shown(attribute("haft_style")["square-stemmed"]) == {
        "haft_style": ("stemmed", "seen"),
        "stem_shape": ("straight", "seen"),
        "base_shape": ("straight", "seen"),
    }


@pytest.mark.parametrize(
    ("text", "state"),
    [
        *((text, "proximal") for text in ("base", "haft", "prox frag", "frag-prox", "stem only")),
        *((text, "proximal") for text in ("base fragment", "Stem", "basal frag", "Prox")),
        *((text, "distal") for text in ("tip", "tip fragment", "blade only", "distal frag")),
        *((text, "medial") for text in ("midsection", "Mid-section", "middle", "mid")),
    ],
)
def test_parts_in_a_column_of_portion(text: str, state: str) -> None:
    """In a column of portion the name of a part says which fragment it is."""
    assert shown(attribute("portion")[text]) == {"portion": (state, "seen")}


def test_part_outside_a_column_of_portion() -> None:
    """In another column `base` is what the vocabulary says: ground at the base."""
    assert shown(attribute("haft_grinding")["base"]) == {"haft_grinding": ("base", "seen")}
    assert attribute("stem_shape")["base"].remarks[0].grade == "error"


def test_triangular_blade() -> None:
    """A blade outline called triangular has edges that are straight or bulge a little."""
    assert shown(attribute("blade_shape")["Triangular"]) == {
        "blade_shape": ("straight/excurvate", "unsure")
    }
    assert shown(attribute("haft_style")["triangular"])["haft_style"] == ("triangular", "seen")


@pytest.mark.parametrize(
    ("text", "style", "stem"),
    [
        ("Contracting stem", "stemmed", "contracting"),
        ("contracting stemmed", "stemmed", "contracting"),
        ("straight stem", "stemmed", "straight"),
        ("Expanding stem", "stemmed/notched", "expanding"),
    ],
)
def test_stem_named_as_haft_style(text: str, style: str, stem: str) -> None:
    """A haft style named by its stem says style and shape of the stem."""
    said = shown(attribute("haft_style")[text])
    assert {name: state for name, (state, _) in said.items()} == {
        "haft_style": style,
        "stem_shape": stem,
    }


@pytest.mark.parametrize(
    ("column", "text"),
    [("notch_position", "SN"), ("stem_shape", "contr."), ("haft_style", "Stem-Exp")],
)
def test_short_forms_are_not_read_silently(column: str, text: str) -> None:
    """What may be short for a term is refused, and the draft of a mapping named as the remedy."""
    [remark] = attribute(column)[text].remarks
    assert remark.grade == "error"
    assert "--suggest-mapping` drafts it" in remark.remedy


def test_thesaurus_word_of_two_meanings() -> None:
    """Of a word with several meanings only what each of them says is kept."""
    assert shown(attribute("haft_style")["fish-tailed"]) == {
        "haft_style": ("lanceolate/stemmed/notched", "unsure")
    }


def test_word_of_a_kindred_attribute() -> None:
    """A haft called corner-notched is notched, at the corners."""
    assert shown(attribute("haft_style")["Corner-notched"]) == {
        "haft_style": ("notched", "seen"),
        "notch_position": ("corner", "seen"),
    }


def test_doubted_state() -> None:
    """A state with a question mark is read as unsure, and said to be."""
    said = attribute("stem_shape")["straight?"]
    assert [remark.grade for remark in said.remarks] == ["warning"]
    assert said.observations[0][1].how == "unsure"


@pytest.mark.parametrize(
    ("column", "text", "remedy"),
    [
        ("haft_style", "stemed", "Did you mean 'stemmed'?"),
        ("stem_shape", "zzz", "Allowed: none, straight, expanding, contracting."),
        ("base_shape", "stemmed", "It is a state of haft_style."),
        ("stem_length", "12.4", "needs a unit in its header"),
        ("damage.heat", "-", "Write absent or missing"),
        ("damage", "none; heat", ""),
    ],
)
def test_unknown_words(column: str, text: str, remedy: str) -> None:
    """A word that is not known is an error with what would be."""
    [remark] = attribute(column)[text].remarks
    assert remark.grade == "error"
    assert remedy in remark.remedy
    assert not attribute(column)[text].observations


def test_list_of_damage() -> None:
    """Named items are present, a doubted one open, all others absent."""
    found = shown(attribute("damage")["tip snap; heat damage? and edge nicks"])
    assert found.pop("damage.heat") == ("absent/present", "unsure")
    assert found.pop("damage.tip_snap") == found.pop("damage.edge_nicks") == ("present", "seen")
    assert set(found.values()) == {("absent", "seen")}


def test_open_list_of_damage() -> None:
    """A question mark beside named items leaves the others unsaid."""
    assert shown(attribute("damage")["tip snap, ?"]) == {"damage.tip_snap": ("present", "seen")}


@pytest.mark.parametrize(("text", "state"), [("x", "present"), ("No", "absent"), ("1", "present")])
def test_item_of_damage_as_column(text: str, state: str) -> None:
    """A column for one item takes marks of presence and absence."""
    assert shown(attribute("damage.heat")[text]) == {"damage.heat": (state, "seen")}


def test_yes_where_none_is_a_state() -> None:
    """Yes rules out `none` and says no more."""
    assert shown(attribute("fluting")["yes"]) == {"fluting": ("one_face/both_faces", "unsure")}
    assert shown(attribute("fluting")["no"]) == {"fluting": ("none", "seen")}


@pytest.mark.parametrize(
    ("text", "unit", "entered", "value", "high"),
    [
        ("34.2", "", "34.2", 34.2, 34.25),
        ("34,2", "", "34,2", 34.2, 34.25),
        ("34.2+", "", "34.2+", 34.2, inf),
        ("(34.2)", "", "(34.2)", 34.2, inf),
        (">34", "", "34+", 34, inf),
        ("3.4 cm", "", "3.4 cm", 34, 34.5),
        ('1.4"', "", "1.4 in", 35.56, 36.83),
        ("34.2 MM.", "", "34.2 mm", 34.2, 34.25),
        ("3.4", "cm", "3.4 cm", 34, 34.5),
        ("(3,4)", "cm", "(3,4 cm)", 34, inf),
        ("3.4+", "cm", "3.4 cm+", 34, inf),
        ("34 mm", "cm", "34 mm", 34, 34.5),
        ("34.2", "mm", "34.2", 34.2, 34.25),
    ],
)
def test_figures(text: str, unit: str, entered: str, value: float, high: float) -> None:
    """Figures are read in the unit of the cell, else of the column, else of the record."""
    reading = figures(unit=unit)[text].reading
    assert reading is not None
    assert reading.entered == entered
    assert reading.value == pytest.approx(value)
    assert reading.high == pytest.approx(high)


@pytest.mark.parametrize(
    ("text", "remedy"),
    [
        ("1 3/8", "1.375 in"),
        ("0", "Leave the cell empty"),
        ("12 g", "34.2+"),
        ("34.2*", "34.2+"),
        ("1,234.5", "34.2+"),
        ("ca. 34", "34.2+"),
    ],
)
def test_no_figures(text: str, remedy: str) -> None:
    """What is no figure of this measurement is an error that says how to write one."""
    said = figures()[text]
    assert said.reading is None
    assert [remark.grade for remark in said.remarks] == ["error"]
    assert remedy in said.remarks[0].remedy


@pytest.mark.parametrize("text", ["", "?", "n/a", "-", "not measured"])
def test_not_measured(text: str) -> None:
    """An empty cell, and words for one, are no measurement and no fault."""
    assert figures()[text] == Said()


def test_suspicious_unit() -> None:
    """A point 4.3 mm long is doubted, and would be ordinary in cm."""
    said = figures()["4.3"]
    assert said.reading is not None
    assert [r.grade for r in said.remarks] == ["warning"]
    assert said.remarks[0].remedy == "If it is in cm, it is 43 mm."


@pytest.mark.parametrize(
    ("text", "order", "found"),
    [
        ("2026-05-02", "", "2026-05-02"),
        ("2026/5/2", "", "2026-05-02"),
        ("2 May 2026", "", "2026-05-02"),
        ("May 2nd, 2026", "", "2026-05-02"),
        ("May 2026", "", "2026-05"),
        ("13.5.2026", "", "2026-05-13"),
        ("5/2/2026", "month", "2026-05-02"),
        ("5/2/2026", "day", "2026-02-05"),
        ("5/2/2026", "", ""),
        ("2026-02-30", "", ""),
        ("last spring", "", ""),
    ],
)
def test_dates(text: str, order: str, found: str) -> None:
    """Dates become what records keep; one that can be two, or is none, is an error."""
    said = cells_of(LEXICON, Column("date", "detail", "date", order=order))[text]
    assert said.text == found
    assert bool(said.remarks) == (not found)


def test_number_that_looks_like_a_date() -> None:
    """A specimen number that a program may have turned into a date is kept and doubted."""
    said = cells_of(LEXICON, Column("no", "number", "number"))["2026-03-04"]
    assert said.text == "2026-03-04"
    assert said.remarks[0].grade == "warning"


def test_site_and_colour_are_doubted() -> None:
    """A site number and a colour of an odd form are kept and doubted; names are neither."""
    site = cells_of(LEXICON, Column("s", "detail", "site"))
    colour = cells_of(LEXICON, Column("c", "detail", "colour"))
    assert (site["77XX9"].text, colour["10YR 5"].text) == ("77XX9", "10YR 5")
    assert [r.grade for r in (*site["77XX9"].remarks, *colour["10YR 5"].remarks)] == ["warning"] * 2
    assert not site["Mill Field"].remarks
    assert not colour["dark grey"].remarks


def test_exact_places_in_text() -> None:
    """An exact place is no detail; in notes it is kept, and told."""
    place = "UTM 17 512345 E 4012345 N"
    unit = cells_of(LEXICON, Column("u", "detail", "unit"))[place]
    notes = cells_of(LEXICON, Column("n", "notes", "notes"))[place]
    assert (unit.text, notes.text) == ("", place)
    assert [r.grade for r in (*unit.remarks, *notes.remarks)] == ["warning", "warning"]


def test_regions() -> None:
    """A region is known by its id and label; an unknown one is an error."""
    column = cells_of(LEXICON, Column("region", "region", "region"))
    assert column["Southern Piedmont"].text == column["carolina_piedmont"].text
    assert column["ozrks"].remarks[0].remedy == "Did you mean 'ozarks'?"


def test_codes() -> None:
    """A code stands for what the mapping says, whatever its case, and may say nothing."""
    codes: dict[str, dict[str, tuple[str, ...]]] = {
        "E": {"stem_shape": ("expanding",)},
        "X": {"stem_shape": ("none",), "shoulder_strength": ("none", "weak")},
        "9": {},
        "8": {"stem_shape": ("missing",)},
    }
    column = cells_of(LEXICON, Column("c", "attribute", "stem_shape", codes=codes, split="&"))
    assert shown(column["e"]) == {"stem_shape": ("expanding", "seen")}
    assert shown(column["x"])["shoulder_strength"] == ("none/weak", "unsure")
    assert shown(column["8"])["stem_shape"][1] == "missing"
    assert column["9"] == Said()
    assert shown(column["E & X"]) == {"stem_shape": ("none/expanding", "unsure")}
    assert shown(column["contracting"]) == {"stem_shape": ("contracting", "seen")}
    assert column["Q"].remarks[0].grade == "error"


def test_full_memo_still_reads() -> None:
    """What is forgotten when a memo is full is read again."""
    calls: list[str] = []

    def read(text: str) -> Said:
        calls.append(text)
        return Said(text=text)

    memo = Memo(read, 2)
    assert [memo[text].text for text in "abaca"] == list("abaca")
    assert calls == list("abca")
    assert len(memo) <= 2


NAMES = [a.id for a in RULES.attributes if not a.item_of]


@given(st.sampled_from(NAMES), st.data())
def test_every_set_of_states_reads_back(name: str, data: st.DataObject) -> None:
    """Ids or terms of any states, joined by a slash, leave exactly these states."""
    attribute_of = RULES.attributes[RULES.index[name]]
    states = data.draw(st.lists(st.sampled_from(attribute_of.states), min_size=1, unique=True))
    mask = sum(attribute_of.bits[state.id] for state in states)
    [(index, seen)] = attribute(name)["/".join(state.id for state in states)].observations
    assert (index, seen.mask) == (RULES.index[name], mask)
    one = states[0]
    assert dict(attribute(name)[one.term].observations)[index].mask == attribute_of.bits[one.id]


@given(st.sampled_from([*NAMES, "damage", "damage.heat"]), st.text(max_size=30))
def test_any_text_has_an_answer(name: str, text: str) -> None:
    """Whatever a cell holds, it says something, nothing, or is an error: it never fails."""
    said = attribute(name)[text]
    assert not (said.observations and any(r.grade == "error" for r in said.remarks))


@given(
    st.decimals(min_value="8", max_value="400", places=1),
    st.sampled_from(["{}", "{}+", "({})", "{} mm", " {} "]),
    st.booleans(),
)
def test_any_figure_is_kept_as_entered(number: object, form: str, comma: bool) -> None:
    """The digits of a figure are those of the cell, and the reading holds its value."""
    digits = str(number).replace(".", ",") if comma else str(number)
    reading = figures()[form.format(digits)].reading
    assert reading is not None
    assert digits in reading.entered
    assert reading.low <= float(str(number)) <= reading.high


def test_names_cover_every_attribute_and_measurement() -> None:
    """The id and the label of every attribute, item and measurement place a column."""
    names = Names(RULES)
    for a in RULES.attributes:
        assert names.place(a.id, a.id).column.target == a.id
    for name, label in [(m.id, m.label) for m in RULES.measurements.values()]:
        assert names.place(label, label).column.target == name
