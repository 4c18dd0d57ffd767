"""Drafts of mapping files."""

from __future__ import annotations

import csv

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from keygen.collection import mapping
from keygen.collection.columns import plan
from keygen.collection.model import Row
from keygen.collection.suggest import suggest
from keygen.core.model import Rules
from keygen.rulebase.load import shipped
from tests.published.fort_hood import SHARED, TYPED

RULES = shipped()


def draft(rules: Rules, table: list[list[str]]) -> tuple[str, mapping.House]:
    """Return the draft for a table, and what it says when read back."""
    rows = (Row(n, tuple(cells)) for n, cells in enumerate(table[1:], 2))
    text = suggest(rules, table[0], rows)
    return text, mapping.read(rules, text, "draft")


def line(text: str, name: str) -> str:
    """Return the line of one column."""
    return next(one for one in text.splitlines() if one.startswith(f'  "{name}":'))


def test_fort_hood(rules: Rules) -> None:
    """Of the published header most columns are placed, each guess marked as one."""
    text, house = draft(rules, list(csv.reader(TYPED.splitlines())))
    told = {name: (column.kind, column.target) for name, column in house.columns.items()}
    assert told == {
        "Name": ("call", "call"),
        "Length": ("measurement", "length"),
        "Width": ("measurement", "width"),
        "Thickness": ("measurement", "thickness"),
        "B.Width": ("measurement", "base_width"),
        "J.Width": ("measurement", "neck_width"),
        "H.Length": ("measurement", "haft_length"),
        "Weight": ("measurement", "weight"),
        "Blade.Sh": ("attribute", "blade_shape"),
        "Base.Sh": ("attribute", "base_shape"),
        "Should.Or": ("attribute", "shoulder_shape"),
        "Haft.Or": ("unread", ""),
    }
    for name in ("Name", "B.Width", "J.Width", "H.Length", "Blade.Sh", "Base.Sh", "Should.Or"):
        assert "# guessed from its" in line(text, name)
    assert "#" not in line(text, "Length")
    assert "could be those of stem_shape" in line(text, "Haft.Or")
    codes = house.columns["Should.Or"].codes
    assert codes["B"] == {"shoulder_shape": ("barbed",)}
    assert codes["T"] == {"shoulder_shape": ("tapered",)}


@pytest.mark.skipif(not SHARED.is_file(), reason="the shared Fort Hood table is not beside us")
def test_whole_fort_hood_header(rules: Rules) -> None:
    """Catalogue, site and grid square are told apart, and codes without a state are named."""
    with SHARED.open(newline="", encoding="utf-8") as file:
        text, house = draft(rules, list(csv.reader(file)))
    columns = house.columns
    assert (columns["Catalog"].kind, columns["TARL"].target) == ("number", "site")
    assert columns["Quad"].kind == "location"
    assert "# not placed in Should.Or: X (2)" in text


def test_values_alone(rules: Rules) -> None:
    """A column with any name is guessed if its values are states of one attribute only."""
    table = [["thing", "flaking"], ["serrated finely", "random"], ["finely serrated", "oblique"]]
    text, house = draft(rules, [table[0], *[["finely serrated", "random"]] * 3])
    assert house.columns["thing"].target == "blade_edge"
    assert "# guessed from its values" in line(text, "thing")


def test_unit_from_the_size_of_figures(rules: Rules) -> None:
    """Lengths that are absurd in mm and ordinary in cm are guessed to be in cm."""
    text, house = draft(rules, [["Length"], ["4.3"], ["5.1"], ["3.9"]])
    assert house.columns["Length"].unit == "cm"
    assert "cm guessed from the size of its figures" in line(text, "Length")


def test_two_claims_to_one_target(rules: Rules) -> None:
    """Only the better claim is kept; the other column says which that is."""
    text, house = draft(rules, [["Type", "Name"], ["Gary", "Gary"], ["Wells", "Wells"]])
    assert house.columns["Type"].kind == "call"
    assert house.columns["Name"].kind == "unread"
    assert "already taken from 'Type'" in line(text, "Name")


def test_states_from_cut_short_terms(rules: Rules) -> None:
    """Codes are proposed only where one state begins like them."""
    rows = [["exc"], ["str"], ["in"], ["rec"]]
    _, house = draft(rules, [["blade shape"], *rows])
    codes = house.columns["blade shape"].codes
    assert codes["exc"] == {"blade_shape": ("excurvate",)}
    assert codes["in"] == {"blade_shape": ("incurvate",)}


def test_initials_and_beginnings(rules: Rules) -> None:
    """Initials of terms and the beginnings of their words are drafted as codes."""
    header = ["Notching", "Haft Type", "Blade outline", "Grinding"]
    rows = [
        ["SN", "Stem-Exp", "Tri", "Y"],
        ["CN", "Contr. Stem", "excurv", "N"],
        ["BN", "Lanc", "incurv.", "Y"],
    ]
    text, house = draft(rules, [header, *rows])
    codes = {name: column.codes for name, column in house.columns.items()}
    assert codes["Notching"] == {
        "SN": {"notch_position": ("side",)},
        "CN": {"notch_position": ("corner",)},
        "BN": {"notch_position": ("basal",)},
    }
    assert codes["Haft Type"] == {
        "Stem-Exp": {"haft_style": ("stemmed", "notched"), "stem_shape": ("expanding",)},
        "Contr. Stem": {"haft_style": ("stemmed",), "stem_shape": ("contracting",)},
        "Lanc": {"haft_style": ("lanceolate",)},
    }
    assert codes["Blade outline"]["Tri"] == {"blade_shape": ("straight", "excurvate")}
    assert codes["Grinding"]["Y"] == {"haft_grinding": ("base", "sides", "both")}
    assert codes["Grinding"]["N"] == {"haft_grinding": ("none",)}
    assert "# codes guessed by their letters" in line(text, "Notching")


def test_ambiguous_codes_are_not_guessed(rules: Rules) -> None:
    """A code that could be short for two states is named, not placed."""
    text, house = draft(rules, [["base shape"], ["exc"], ["con"], ["straight"], ["rounded"]])
    assert [*house.columns["base shape"].codes] == ["exc"]
    assert "# not placed in base shape: con (1)" in text


def test_column_known_by_name_keeps_its_codes(rules: Rules) -> None:
    """Though most cells fit nothing, what fits is drafted and the rest is named."""
    text, house = draft(rules, [["Notching"], ["SN"], ["zz1"], ["zz2"], ["zz3"]])
    assert [*house.columns["Notching"].codes] == ["SN"]
    assert "many cells do not fit it" in line(text, "Notching")
    assert "# not placed in Notching: zz1 (1), zz2 (1), zz3 (1)" in text


words = st.text(max_size=12) | st.sampled_from(
    ["Length", "Type", "Haft", "Base.Sh", "E", "straight", "34.2", "Gary", "N", "no", "41CV1", "?"]
)


@settings(max_examples=60, deadline=None)
@given(st.lists(words, min_size=1, max_size=5), st.data())
def test_any_draft_reads_back(header: list[str], data: st.DataObject) -> None:
    """Whatever stands in a table, the draft is a mapping file under which no two columns clash."""
    row = st.lists(words, min_size=len(header), max_size=len(header))
    table = [[*header, "flaking"], *([*cells, "random"] for cells in data.draw(st.lists(row)))]
    _, house = draft(RULES, table)
    if len({" ".join(name.split()).casefold() for name in header}) == len(header):
        assert plan(RULES, table[0], house)[0].columns[-1].target == "flaking"
