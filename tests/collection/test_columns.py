"""What columns hold, by their names."""

from __future__ import annotations

import pytest

from keygen.collection.columns import letters, plan
from keygen.collection.mapping import House, read
from keygen.collection.model import Plan
from keygen.core.model import Rules
from keygen.errors import KeygenError

FOUND = [
    ("haft_style", "attribute", "haft_style", ""),
    ("Stem Shape", "attribute", "stem_shape", ""),
    ("StemShape", "attribute", "stem_shape", ""),
    ("Basal form", "attribute", "base_shape", ""),
    ("blade outline", "attribute", "blade_shape", ""),
    ("Serration", "attribute", "blade_edge", ""),
    ("Notch location", "attribute", "notch_position", ""),
    ("Breakage", "attribute", "damage", ""),
    ("damage.heat", "attribute", "damage.heat", ""),
    ("Impact fracture", "attribute", "damage.impact", ""),
    ("Max. length (cm)", "measurement", "length", "cm"),
    ("Length mm", "measurement", "length", "mm"),
    ("Blade_Length_mm", "measurement", "blade_length", "mm"),
    ("Stem length (mm)", "measurement", "haft_length", "mm"),
    ("Stem length", "attribute", "stem_length", ""),
    ("Wt. (g)", "measurement", "weight", "g"),
    ("Weight, oz.", "measurement", "weight", "oz"),
    ("thickness [in]", "measurement", "thickness", "in"),
    ("Neck W.", "measurement", "neck_width", ""),
    ("Juncture width", "measurement", "neck_width", ""),
    ("Basal Grinding", "attribute", "haft_grinding", ""),
    ("Date Anal.", "detail", "date", ""),
    ("Lvl (cmbs)", "detail", "level", ""),
    ("PPK Type", "call", "call", ""),
    ("PSA", "measurement", "psa", ""),
    ("Cat. No.", "number", "number", ""),
    ("Specimen #", "number", "number", ""),
    ("FS", "number", "number", ""),
    ("Raw material", "detail", "material", ""),
    ("Color (Munsell)", "detail", "colour", ""),
    ("Site No.", "detail", "site", ""),
    ("Level (cm)", "detail", "level", ""),
    ("Analyst", "detail", "observer", ""),
    ("Point type", "call", "call", ""),
    ("Reason for type", "call", "reason", ""),
    ("Typed by", "call", "by", ""),
    ("Region", "region", "region", ""),
    ("Remarks", "notes", "notes", ""),
    ("UTM Easting", "location", "location", ""),
    ("Northing", "location", "location", ""),
    ("lat", "location", "location", ""),
    ("GPS coordinates", "location", "location", ""),
    ("Legal description", "location", "location", ""),
    ("Twp.", "location", "location", ""),
    ("Map reference", "location", "location", ""),
    ("Parcel", "location", "location", ""),
    ("geometry", "location", "location", ""),
    ("Weight (mm)", "unread", "", ""),
    ("Shelf", "unread", "", ""),
]


def one(rules: Rules, *names: str, house: House | None = None) -> Plan:
    """Return the plan for a header that also has a column that is known."""
    return plan(rules, ["flaking", *names], house)[0]


@pytest.mark.parametrize(("name", "kind", "target", "unit"), FOUND)
def test_names(rules: Rules, name: str, kind: str, target: str, unit: str) -> None:
    """A column is found by id, label or the trade's name, with the unit in its header."""
    column = one(rules, name).columns[1]
    assert (column.kind, column.target, column.unit) == (kind, target, unit)
    assert column.name == name


def test_headers_with_line_breaks(rules: Rules) -> None:
    """A header that is broken into lines is read as one."""
    assert one(rules, "Max.\nlength\n(mm)").columns[1].target == "length"


def test_location_words_together(rules: Rules) -> None:
    """Section and range give a place away beside a township, and not by themselves."""
    alone = one(rules, "Section").columns[1]
    beside = one(rules, "Section", "Township", "Range").columns[1:]
    assert alone.kind == "unread"
    assert {column.kind for column in beside} == {"location"}


def test_grid_coordinates(rules: Rules) -> None:
    """Columns called X and Y give a place away together."""
    assert {c.kind for c in one(rules, "X", "Y").columns[1:]} == {"location"}
    assert one(rules, "X").columns[1].kind == "unread"


def test_several_numbers(rules: Rules) -> None:
    """The best name is the specimen's number; the other column is not read, and that is said."""
    found, remarks = plan(rules, ["FS No.", "Cat. No.", "flaking"])
    assert [column.kind for column in found.columns] == ["unread", "number", "attribute"]
    assert any("'FS No.' is not read" in remark and "'Cat. No.'" in remark for remark in remarks)


def test_remarks(rules: Rules) -> None:
    """Whatever is not read is named, with what it could be where there is something."""
    _, remarks = plan(rules, ["flaking", "haft", "Shelf", "", "Blade Shap", "Type", "Easting"])
    told = "\n".join(remarks)
    shoulders = "\n".join(plan(rules, ["flaking", "Shoulders", "Basal Grinding"])[1])
    assert "it can be shoulder_shape or shoulder_strength" in shoulders
    assert "'Basal Grinding' is read as haft_grinding" in shoulders
    assert "'haft' is not read: it can be haft_style or" in told
    assert "'Shelf' is not read: nothing has this name" in told
    assert "without a name, and not read: column D" in told
    assert "Did you mean 'blade_shape'?" in told
    assert "no column gives the reasons" in told
    assert "'Easting' is taken for an exact location" in told


def test_same_thing_twice(rules: Rules) -> None:
    """Two columns that hold one thing are an error that names both; so is every such pair."""
    with pytest.raises(KeygenError) as caught:
        plan(rules, ["Base shape", "Basal form", "Length", "Max. length (mm)"])
    first, second = caught.value.problems
    assert first.code == second.code == "K402"
    assert "'Base shape' (A) and 'Basal form' (B)" in first.what
    assert "'Length' (C) and 'Max. length (mm)' (D)" in second.what


def test_nothing_known(rules: Rules) -> None:
    """A table of which no column is an attribute or measurement is refused."""
    with pytest.raises(KeygenError) as caught:
        plan(rules, ["Shelf", "Box"])
    assert caught.value.problems[0].code == "K403"
    assert "Shelf, Box" in caught.value.problems[0].remedy
    with pytest.raises(KeygenError) as caught:
        plan(rules, ["Code", "Meaning"], sheets=["PPK data"])
    assert "--sheet 'PPK data'" in caught.value.problems[0].remedy


def test_mapping_goes_before_names(rules: Rules) -> None:
    """What the mapping says of a column holds, whatever its name; case and spaces do not matter."""
    house = read(rules, 'columns: {"Base  FORM": blade_shape, "Easting": ignore}', "m")
    columns = one(rules, "Base form", "Easting", house=house).columns
    assert [column.target for column in columns[1:]] == ["blade_shape", ""]
    assert columns[2].kind == "unread"


def test_mapping_of_a_column_that_is_not_there(rules: Rules) -> None:
    """A column that only the mapping knows is remarked on."""
    house = read(rules, "columns: {Lenght: length}", "m")
    _, remarks = plan(rules, ["flaking", "Length"], house)
    assert any("'Lenght' that the table does not have" in remark for remark in remarks)


def test_region_of_the_command_goes_first(rules: Rules) -> None:
    """A region given goes before that of the mapping."""
    house = read(rules, "region: ozarks", "m")
    assert plan(rules, ["flaking"], house)[0].region == "ozarks"
    assert plan(rules, ["flaking"], house, "florida")[0].region == "florida"


def test_letters() -> None:
    """Columns are lettered as programs for tables do."""
    assert [letters(i) for i in (0, 25, 26, 51, 52, 701, 702)] == [
        *("A", "Z", "AA", "AZ", "BA", "ZZ", "AAA")
    ]
