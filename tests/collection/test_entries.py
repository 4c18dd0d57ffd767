"""Rows into pieces, and what is wrong with them."""

from __future__ import annotations

from math import inf
from pathlib import Path

import pytest

from keygen.collection.batch import outcomes
from keygen.collection.columns import plan
from keygen.collection.entries import Reader, contradicted, repeated
from keygen.collection.mapping import read
from keygen.collection.model import Entry, Fault, Row
from keygen.collection.repeats import Repeats
from keygen.collection.result import status
from keygen.collection.sources import open_table
from keygen.core.examine import AnalystCall, examine
from keygen.core.infer import Contradiction
from keygen.core.model import Rules
from keygen.specimens.record import Specimen, to_text
from tests.collection.corrupted import EVERY, SPOILERS, corrupted


def entry(rules: Rules, mapping: str = "", **cells: str) -> Entry:
    """Return one row, given by its columns (an underscore stands for a space), as read."""
    header = [name.replace("_", " ") for name in cells]
    found = plan(rules, header, read(rules, mapping, "m") if mapping else None)[0]
    return Reader(found).read(Row(2, tuple(cells.values())))


def states(rules: Rules, found: Entry) -> dict[str, str]:
    """Return what was observed as text, by attribute."""
    return {
        rules.attributes[i].id: "/".join(rules.attributes[i].ids(o.mask))
        for i, o in found.piece.observations.items()
    }


def test_a_whole_row(rules: Rules) -> None:
    """Every kind of column ends in its place in the piece."""
    found = entry(
        rules,
        Specimen="T-1",
        Region="ozarks",
        Haft_style="stemmed",
        Length="34.2+",
        Material="grey  chert",
        Level="3",
        Analyst="A. B.",
        Type="Gary",
        Call_reason="compared",
        Call_date="2026-05-03",
        Notes="two words",
    )
    piece = found.piece
    assert (piece.label, found.region, piece.notes) == ("T-1", "ozarks", "two words")
    assert states(rules, found) == {"haft_style": "stemmed"}
    assert piece.readings["length"].high == inf
    assert piece.details == {"material": "grey chert", "level": "3", "observer": "A. B."}
    assert piece.analyst == AnalystCall("Gary", "compared", "A. B.", "2026-05-03")
    assert found.faults == ()


def test_good_cells_of_a_bad_row(rules: Rules) -> None:
    """A cell that cannot be read is named; what stands beside it is kept."""
    found = entry(rules, Haft_style="stemed", Stem_shape="straight", Length="x")
    assert states(rules, found) == {"stem_shape": "straight"}
    assert [(f.row, f.column, f.found, f.grade) for f in found.faults] == [
        (2, "Haft style", "stemed", "error"),
        (2, "Length", "x", "error"),
    ]


def test_two_columns_of_one_attribute(rules: Rules) -> None:
    """Columns that speak of one attribute narrow each other; those that share nothing are told."""
    shared = entry(rules, Haft_style="square-stemmed", Stem_shape="straight/expanding")
    assert states(rules, shared)["stem_shape"] == "straight"
    assert not shared.faults
    parted = entry(rules, Haft_style="square-stemmed", Stem_shape="expanding")
    [fault] = parted.faults
    assert (fault.column, fault.grade) == ("Stem shape", "error")
    assert "'Haft style'" in fault.what
    assert "straight" in fault.remedy


def test_always_holds(rules: Rules) -> None:
    """What the mapping says of every row holds, and a cell against it is told."""
    always = "always: {haft_style: [stemmed, notched]}"
    assert states(rules, entry(rules, always, Tip="acute"))["haft_style"] == "stemmed/notched"
    against = entry(rules, always, Haft_style="lanceolate")
    assert "what the mapping says of every row" in against.faults[0].what


def test_codes_of_several_attributes(rules: Rules) -> None:
    """A code speaks of every attribute that the mapping names for it."""
    mapping = "columns: {S: {codes: {X: {shoulder_shape: none, base_shape: [straight, rounded]}}}}"
    found = entry(rules, mapping, S="x")
    assert states(rules, found) == {"shoulder_shape": "none", "base_shape": "straight/rounded"}


def test_not_recorded(rules: Rules) -> None:
    """What the house writes for nothing is nothing in every kind of column."""
    mapping = 'not_recorded: ["-9"]'
    found = entry(rules, mapping, Tip="-9", Length="-9", Material="-9", Region="-9", Notes="-9")
    assert found.faults == ()
    assert not found.piece.observations
    assert not found.piece.readings
    assert not found.piece.details
    assert not found.piece.notes


def test_codes_of_text(rules: Rules) -> None:
    """A code of a text column stands for its word."""
    mapping = """
columns:
  M: {field: material, codes: {"1": chert}}
  R: {field: region, codes: {O: ozarks}}
"""
    found = entry(rules, mapping, M="1", R="O", Tip="?")
    assert (found.piece.details, found.region) == ({"material": "chert"}, "ozarks")


def test_regions(rules: Rules) -> None:
    """A row without a region has that of the table; one with an unknown region has none."""
    found = plan(rules, ["region", "tip"], None, "florida")[0]
    reader = Reader(found)
    regions = [reader.read(Row(2, (text, ""))).region for text in ("", "ozarks", "ozrks")]
    assert regions == ["florida", "ozarks", ""]


def test_figures_across_a_break(rules: Rules) -> None:
    """A whole figure of a part that is gone is kept as at least that, as in a walk, and told."""
    found = entry(rules, Portion="proximal", Length="34.2", Neck_width="12.0")
    assert found.piece.readings["length"].entered == "34.2+"
    assert found.piece.readings["length"].high == inf
    assert found.piece.readings["neck_width"].high < inf
    [fault] = found.faults
    assert (fault.column, fault.grade) == ("Length", "warning")
    assert fault.what.endswith("the tip and blade did not survive")
    assert entry(rules, Portion="proximal", Length="34.2+").faults == ()


def test_states_of_a_part_that_is_gone(rules: Rules) -> None:
    """A state of a part that did not survive is kept and doubted; `missing` is not."""
    found = entry(rules, Portion="distal", Stem_shape="straight", Base_shape="missing")
    assert states(rules, found)["stem_shape"] == "straight"
    assert [(f.column, f.grade) for f in found.faults] == [("Stem shape", "warning")]


def test_contradiction(rules: Rules) -> None:
    """Observations that no piece shows together are an error that names their columns only."""
    found = plan(rules, ["Specimen", "Haft", "Stem shape", "Tip", "Haft style"])[0]
    read_row = Reader(found).read(Row(9, ("T-1", "", "contracting", "acute", "triangular")))
    with pytest.raises(Contradiction):
        examine(rules, read_row.piece, "ozarks")
    [fault] = contradicted(found, read_row).faults
    assert (fault.row, fault.grade) == (9, "error")
    assert set(fault.column.split(", ")) == {"Stem shape", "Haft style"}
    assert "haft_style=triangular" in fault.what


def test_repeated_numbers(rules: Rules) -> None:
    """A number met before is told with its first row; rows without one are not."""
    found = plan(rules, ["Specimen", "Tip"])[0]
    labels = ["a", "b", "", " a", "", "c", "a"]
    rows = [Row(n, (label, "")) for n, label in enumerate(labels, 2)]
    told = {row.number: row.faults[0].what for row in repeated(found, rows) if row.faults}
    assert list(told) == [5, 8]
    assert all("is also in row 2" in what for what in told.values())


def test_repeats_among_very_many() -> None:
    """Among 200,000 different numbers none is taken for another, and each is known again."""
    repeats = Repeats()
    assert not any(repeats.first(f"T-{n}", n) for n in range(2, 200_002))
    assert all(repeats.first(f"T-{n}", 9) == n for n in range(2, 200_002, 1000))


def test_faults_of_the_row_itself_come_first(rules: Rules) -> None:
    """What was wrong with a row before its cells were read is among its faults."""
    found = plan(rules, ["Tip"])[0]
    before = Fault(2, "", "", "too many cells")
    faults = Reader(found).read(Row(2, ("zzz",), 2, (before,))).faults
    assert faults[0] is before
    assert len(faults) == 2


@pytest.mark.parametrize("seed", [1, 2])
def test_every_fault_is_found(seed: int, rules: Rules, tmp_path: Path) -> None:
    """Of a table with one row in fifty broken every fault is found, and no other is invented."""
    count = EVERY * len(SPOILERS) * 2
    text, expected = corrupted(count, seed)
    assert len(expected) == count // EVERY
    file = tmp_path / "t.csv"
    file.write_text(text, encoding="utf-8", newline="")
    table = open_table(str(file), rules)
    found, remarks = plan(rules, table.header, None, "ozarks")
    assert remarks == ()
    reader = Reader(found)
    entries: dict[int, Entry] = {}
    for row in repeated(found, table.rows):
        read_row = reader.read(row)
        try:
            examine(rules, read_row.piece, read_row.region)
        except Contradiction:
            read_row = contradicted(found, read_row)
        entries[row.number] = read_row
    assert len(entries) == count
    broken = {spoiled.row: spoiled for spoiled in expected}
    assert {number for number, one in entries.items() if one.faults} == set(broken)
    for number, spoiled in broken.items():
        told = entries[number].faults
        matching = [f for f in told if f.column == spoiled.column and f.grade == spoiled.grade]
        assert matching, (spoiled, told)
        assert any(spoiled.word in f"{f.what}. {f.remedy}" for f in matching), (spoiled, told)
        assert entries[number].piece.readings, "the good cells of a broken row are kept"
    for number, one in entries.items():
        if number not in broken:
            assert one.piece.label == f"T-{number}"
            assert states(rules, one)["haft_style"] == "stemmed"
            assert len(one.piece.readings) == 4


def test_table_to_records_to_table(rules: Rules, tmp_path: Path) -> None:
    """Rows made into records, and these read as a table, are the same pieces."""
    text, _ = corrupted(EVERY - 10, 3)
    source = tmp_path / "t.csv"
    source.write_text(text, encoding="utf-8", newline="")
    table = open_table(str(source), rules)
    found = plan(rules, table.header, None, "ozarks")[0]
    before = [Reader(found).read(row) for row in table.rows]
    folder = tmp_path / "records"
    folder.mkdir()
    for one in before:
        specimen = Specimen(one.piece, one.region)
        file = folder / f"{one.row.number:04}.yaml"
        file.write_text(to_text(rules, specimen), encoding="utf-8")
    again = open_table(str(folder), rules)
    reader = Reader(plan(rules, again.header)[0])
    after = [reader.read(row) for row in again.rows]
    assert [one.piece for one in after] == [one.piece for one in before]
    assert [one.region for one in after] == [one.region for one in before]
    assert not any(one.faults for one in after if one.row.number != 7)


@pytest.mark.parametrize("name", ["TOTAL", "Totals:", "Mean", "average", "Sum"])
def test_a_row_that_sums_up_is_no_specimen(rules: Rules, name: str) -> None:
    """A row named Total or the like, with figures only, is left out with a warning."""
    found = entry(rules, Specimen=name, Haft_style="", Length="269", Notes="")
    assert not found.specimen
    assert (found.piece.readings, found.region) == ({}, "")
    [fault] = found.faults
    assert fault.grade == "warning"
    assert "sums up others" in fault.what


def test_a_specimen_named_like_a_sum_is_read(rules: Rules) -> None:
    """A row with words in it is a specimen whatever its number, and so is one without figures."""
    assert entry(rules, Specimen="Total", Haft_style="stemmed", Length="26").specimen
    assert entry(rules, Specimen="Total", Haft_style="", Length="").specimen
    assert entry(rules, Specimen="T-1", Haft_style="", Length="26").specimen


def test_a_sum_stays_in_the_output_without_a_call(rules: Rules) -> None:
    """The row is handed on, with `no specimen` where the call would be."""
    found = plan(rules, ["Specimen", "Length"])[0]
    [outcome] = outcomes(Reader(found), [Row(9, ("TOTAL", "269"))])
    assert outcome.examination is None
    assert status(outcome) == "no specimen"
