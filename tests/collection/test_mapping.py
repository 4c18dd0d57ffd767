"""Mapping files: what they say, and what is refused."""

from __future__ import annotations

from pathlib import Path

import pytest

from keygen.collection.mapping import load, read
from keygen.core.model import Rules
from keygen.errors import KeygenError

GOOD = """\
region: central_texas
always: {haft_style: [stemmed, notched], portion: complete}
not_recorded: ["-9", "."]
columns:
  Cat: number
  L: {measure: maximum length, unit: cm}
  H: {attribute: stem shape, split: "&", codes: {E: expanding, "9": not recorded, "?": "?"}}
  S: {codes: {X: {shoulder_shape: none, shoulder_strength: [none, weak]}}}
  M: {field: material, codes: {"1": grey chert}}
  D: {field: date, order: month}
  R: call
  Q: location
  N: blade shape
  Z: ignore
"""


def test_good(rules: Rules) -> None:
    """Every key says what it is meant to say."""
    house = read(rules, GOOD, "m.yaml")
    assert house.region == "central_texas"
    assert house.always == {"haft_style": ("stemmed", "notched"), "portion": ("complete",)}
    assert house.not_recorded == ("-9", ".")
    columns = house.columns
    told = {name: (c.kind, c.target, c.unit, c.order) for name, c in columns.items()}
    assert told == {
        "Cat": ("number", "number", "", ""),
        "L": ("measurement", "length", "cm", ""),
        "H": ("attribute", "stem_shape", "", ""),
        "S": ("attribute", "", "", ""),
        "M": ("detail", "material", "", ""),
        "D": ("detail", "date", "", "month"),
        "R": ("call", "call", "", ""),
        "Q": ("location", "location", "", ""),
        "N": ("attribute", "blade_shape", "", ""),
        "Z": ("unread", "", "", ""),
    }
    assert columns["H"].split == "&"
    assert columns["H"].codes == {
        "E": {"stem_shape": ("expanding",)},
        "9": {},
        "?": {"stem_shape": ("?",)},
    }
    assert columns["S"].codes["X"]["shoulder_strength"] == ("none", "weak")
    assert columns["M"].codes == {"1": {"material": ("grey chert",)}}


BAD = [
    ("regions: ozarks", "K002", (1, 10), "Did you mean 'region'?"),
    ("region: ozrks", "K005", (1, 9), "Did you mean 'ozarks'?"),
    ("columns:\n  A: lenght", "K410", (2, 6), "Did you mean 'length'?"),
    ("columns:\n  A: {atribute: tip}", "K002", (2, 17), "Did you mean 'attribute'?"),
    ("columns:\n  A: {attribute: stem_shap}", "K410", (2, 18), "Did you mean 'stem_shape'?"),
    ("columns:\n  A: {measure: lenth}", "K410", (2, 16), "Did you mean 'length'?"),
    ("columns:\n  A: {measure: length, unit: g}", "K410", (2, 30), "One of: mm, cm, in."),
    ("columns:\n  A: {field: materiel}", "K410", (2, 14), "Did you mean 'material'?"),
    (
        "columns:\n  A:\n    attribute: stem_shape\n    codes:\n      E: expandng",
        "K411",
        (5, 10),
        "Did you mean 'expanding'?",
    ),
    ("columns:\n  A: {codes: {E: expanding}}", "K411", (2, 18), "{stem_shape: straight}"),
    ("columns:\n  A: {codes: {E: {stem_shap: x}}}", "K411", (2, 30), "Did you mean 'stem_shape'?"),
    ("columns:\n  A: {measure: length, codes: {E: long}}", "K411", (2, 35), ""),
    ("columns:\n  A: {attribute: tip, measure: length}", "K004", (2, 3), ""),
    ("columns:\n  A: {unit: mm}", "K003", (2, 3), "Give attribute, measure or field."),
    ("columns:\n  A: {field: date, order: year}", "K410", (2, 27), "Give day or month"),
    ("columns:\n  A: [length]", "K004", (2, 3), ""),
    ("columns:\n  A: number\n  A: number", "K001", (3, 3), ""),
    ("always: {stem_shape: wavy}", "K411", (1, 22), "Allowed: none, straight"),
    ("always: {stem_shape: {a: b}}", "K004", (1, 10), ""),
]


@pytest.mark.parametrize(("text", "code", "place", "remedy"), BAD)
def test_refused(rules: Rules, text: str, code: str, place: tuple[int, int], remedy: str) -> None:
    """What is not understood is refused at its line and column, with the nearest valid word."""
    with pytest.raises(KeygenError) as caught:
        read(rules, text, "m.yaml")
    found = [p for p in caught.value.problems if p.code == code]
    assert found, caught.value.problems
    assert found[0].file == "m.yaml"
    assert (found[0].line, found[0].column) == place
    assert remedy in found[0].remedy


def test_all_problems_at_once(rules: Rules) -> None:
    """Every problem of a file is told in one run."""
    with pytest.raises(KeygenError) as caught:
        read(rules, "region: x\ncolumns: {A: y, B: {measure: z}}\nmore: 1", "m.yaml")
    assert len(caught.value.problems) == 4


def test_not_utf8(rules: Rules, tmp_path: Path) -> None:
    """A mapping file in another encoding is refused."""
    file = tmp_path / "m.yaml"
    file.write_bytes(b"region: \xe9")
    with pytest.raises(KeygenError, match="not UTF-8"):
        load(rules, file)


@pytest.mark.parametrize("name", ["fort_hood", "gary_linear"])
def test_worked_examples(rules: Rules, name: str) -> None:
    """The mappings of published tables can be read."""
    file = Path(__file__).parents[1] / "published" / f"{name}.yaml"
    assert load(rules, file).columns
