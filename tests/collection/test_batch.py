"""The batch as one function from rows to rows."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

import keygen
from keygen.collection import as_csv, columns
from keygen.collection.batch import WITHHELD, outcomes, without_locations
from keygen.collection.delimited import Record, checked
from keygen.collection.entries import Reader
from keygen.collection.model import Fault, Row
from keygen.collection.result import OWN, Results, told
from keygen.core.model import Rules
from keygen.errors import KeygenError
from keygen.prose import describe
from tests.collection import finds


def described(rules: Rules, **wanted: object) -> list[dict[str, str]]:
    """Return the sample table described."""
    return [*keygen.describe_rows(finds.rows(), "hills", rules=rules, **wanted)]  # type: ignore[arg-type]


def test_input_comes_first_and_as_it_was(small_rules: Rules) -> None:
    """An output row begins with the input's cells, locations left out, and goes on with ours."""
    given, found = finds.rows(), described(small_rules)
    kept = [name for name in given[0] if not name.startswith("UTM")]
    assert [*found[0]] == [*kept, *OWN]
    assert [{name: row[name] for name in kept} for row in found] == [
        {name: row[name] for name in kept} for row in given
    ]


def test_what_the_key_makes_of_a_row(small_rules: Rules) -> None:
    """Call, types, age and the analyst's agreement stand in columns of their own."""
    first, bad, doubtful, clash = described(small_rules)
    assert first["key call"] == "assigned"
    assert first["key types"] == "Alder Stemmed"
    assert first["standing"] == "consistent"
    assert first["near misses"] == "Birch Stemmed (stem shape)"
    assert first["period"] == "Middle Archaic"
    assert first["age"] == "5500-5000 BC"
    assert first["age scale"] == "bc/ad, not certain"
    assert first["age basis"].startswith("memory: ")
    agreement = [row["own call agrees"] for row in (first, bad, doubtful, clash)]
    assert agreement == ["yes", "no", "open", ""]
    assert bad["key call"] == "assigned"
    assert bad["faults"].startswith("Base shape: 'strait' is not a state of base")
    assert doubtful["key types"].split("; ") == ["Alder Stemmed", "Birch Stemmed"]
    assert doubtful["period"].split("; ") == ["Middle Archaic", "Late Archaic"]
    assert (clash["key call"], clash["description"]) == ("contradictory", "")
    assert clash["faults"].startswith("Haft style, Stem shape: no piece can show these together")
    assert {row["rules"] for row in (first, clash)} == {f"0.1 ({small_rules.digest})"}


@pytest.mark.parametrize("register", ["note", "report", "catalogue", "account"])
def test_descriptions_are_those_of_describe(small_rules: Rules, register: str) -> None:
    """The text of a row is what `describe` says of the piece in that register."""
    found = described(small_rules, register=register)
    outcome = finds.outcomes(small_rules)[0]
    assert outcome.examination
    assert found[0]["description"] == describe(small_rules, outcome.examination, register)


def test_without_a_region_there_is_no_call(small_rules: Rules) -> None:
    """Rows that name no region, in a run that names none, are described and not called."""
    (first, *_) = keygen.describe_rows(finds.rows(), rules=small_rules)
    assert (first["key call"], first["key types"]) == ("no region", "")
    assert first["own call agrees"] == ""
    assert first["elsewhere"] == "Alder Stemmed (The Hills)"
    assert first["description"]


def test_a_table_without_rows_gives_none(small_rules: Rules) -> None:
    """No rows in, no rows out."""
    assert [*keygen.describe_rows([], "hills", rules=small_rules)] == []


def test_a_column_of_ours_in_the_input_is_kept(small_rules: Rules) -> None:
    """What has the name of one of our columns stays; ours gets a number."""
    rows = [{**row, "faults": "chipped"} for row in finds.rows()]
    (first, *_) = keygen.describe_rows(rows, "hills", rules=small_rules)
    assert (first["faults"], first["faults (2)"]) == ("chipped", "")


def test_parts_of_a_table_give_the_same_as_the_whole(small_rules: Rules) -> None:
    """Wherever a table is cut, its parts put together are the same to the byte."""
    rows = finds.rows(finds.many(30))

    def done(part: list[dict[str, str]]) -> bytes:
        found = keygen.describe_rows(part, "hills", rules=small_rules)
        return as_csv.encode([*row.values()] for row in found)

    assert b"".join(done(rows[i : i + 7]) for i in range(0, 30, 7)) == done(rows)


def test_objects_have_the_keys_of_describe(small_rules: Rules) -> None:
    """An object of JSON Lines is what `to_json` gives, with the row, its cells and its faults."""
    plan = finds.plan(small_rules)
    results = Results(plan)
    first, bad, _, clash = finds.outcomes(small_rules)
    assert first.examination
    entry = results.entry(first)
    own = {key: entry.pop(key) for key in ("row", "columns", "faults")}
    assert entry == keygen.to_json(small_rules, first.examination)
    assert own["row"] == 2
    assert isinstance(own["columns"], dict)
    assert own["columns"]["Notes"] == "=1+1"
    assert "UTM E" not in own["columns"]
    assert json.loads(json.dumps(results.entry(bad)))["faults"][0]["found"] == "strait"
    told = results.entry(clash)
    assert told["call"] is None
    assert told["specimen"] == "T-4"
    assert entry.keys() - told.keys() <= {"analyst", "history", "gone", "disagreements", "indices"}


def test_a_fault_in_words() -> None:
    """A fault names its column, what was found, and what to do; a doubt is called one."""
    fault = Fault(3, "Base", "strait", "'strait' is not a state", "Did you mean 'straight'?")
    assert told(fault) == "Base: 'strait' is not a state. Did you mean 'straight'?"
    assert told(Fault(3, "L", "x", "no figure", "", "warning")) == "warning: L: 'x': no figure"
    assert told(Fault(3, "", "", "too many cells")) == "too many cells"


def test_locations_are_emptied_before_anything_is_made_of_a_row(small_rules: Rules) -> None:
    """Neither cells nor faults of a row that is passed on hold what a location column held."""
    plan = finds.plan(small_rules)
    cells = tuple(finds.rows()[0].values())
    fault = Fault(2, "UTM E", finds.EAST, "odd bytes", "", "warning")
    (row,) = without_locations(plan, [Row(2, cells, 2, (fault,))])
    assert finds.EAST not in repr(row)
    assert finds.NORTH not in repr(row)
    assert row.cells[0] == "T-1"


def test_a_row_out_of_step_is_withheld_whole(small_rules: Rules) -> None:
    """Where cells may stand in the wrong columns, a coordinate could be in any of them."""
    plan = finds.plan(small_rules)
    cells = ("T-1", "x", "stemmed", "contracting", "straight", "5", finds.EAST, finds.NORTH, "", "")
    fault = Fault(2, "", f"{finds.NORTH} more", "the row has 11 cells, the header 10")
    (row,) = without_locations(plan, [Row(2, cells, 2, (fault,))])
    assert finds.NORTH not in repr(row)
    assert finds.EAST not in repr(row)
    assert [f.what for f in row.faults] == [fault.what, WITHHELD]
    (outcome,) = outcomes(Reader(plan), [row])
    assert outcome.examination is None
    assert Results(plan).cells(outcome)[8] == "not read"


def test_locations_are_handed_on_when_asked_for(small_rules: Rules) -> None:
    """`locations` keeps the columns where they were, and nothing is made of them."""
    found = described(small_rules, locations=True)[0]
    assert [*found][5:7] == ["UTM E", "UTM N"]
    assert found["UTM E"] == finds.EAST
    assert finds.EAST not in found["description"]


def test_what_cannot_be_used_is_refused(small_rules: Rules, tmp_path: Path) -> None:
    """An unknown region, an unknown register and a broken template end the run with a message."""
    with pytest.raises(KeygenError, match="Did you mean 'hills'"):
        next(keygen.describe_rows(finds.rows(), "hils", rules=small_rules))
    with pytest.raises(KeygenError, match="no register 'poem'"):
        described(small_rules, register="poem")
    (tmp_path / "report").mkdir()
    (tmp_path / "report" / "piece.j2").write_text("{{ nothing_here }}", encoding="utf-8")
    with pytest.raises(KeygenError, match="nothing_here"):
        described(small_rules, templates=tmp_path)


PLACES = (
    "by the creek, UTM 17S 512345 3912345, under a log",
    "35.91234, -79.05678",
    "NW1/4 of the SE1/4 Sec. 12, T. 14 N., R. 3 E.",
)


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("column", ["Notes", "Site", "Own remark of the house"])
def test_places_in_free_text_are_withheld(rules: Rules, place: str, column: str) -> None:
    """A coordinate or legal description in notes, context or an unread column leaves no trace."""
    plan, _ = columns.plan(rules, ["Specimen", "Haft style", column], region="ozarks")
    row = Row(2, ("1", "stemmed", place))
    (found,) = without_locations(plan, [row])
    told = repr(found)
    assert not any(figure in told for figure in ("512345", "35.912", "79.05", "T. 14"))
    assert "[location withheld]" in found.cells[2]
    assert [fault.grade for fault in found.faults] == ["warning"]
    plain = Row(3, ("2", "stemmed", "N102 E97, level 2, 34.2 mm long"))
    assert [*without_locations(plan, [plain])] == [plain]


def test_a_coordinate_that_moved_to_the_left_is_withheld(rules: Rules) -> None:
    """In a row with a cell too few, a bare easting in the column before its own leaves no trace."""
    header = ["Specimen", "Haft style", "Notes", "Easting"]
    plan, _ = columns.plan(rules, header, region="ozarks")
    record = Record(2, 2, ["1", "stemmed", "512345"])
    row = checked(record, tuple(header))
    assert row is not None
    assert row.short
    (found,) = without_locations(plan, [row])
    assert "512345" not in repr(found)
    whole = checked(Record(2, 2, ["1", "stemmed", "512345", ""]), tuple(header))
    assert whole is not None
    assert [r.cells[2] for r in without_locations(plan, [whole])] == ["512345"]
