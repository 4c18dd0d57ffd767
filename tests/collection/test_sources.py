"""Tables as they come: encodings, delimiters, odd rows, workbooks, records."""

from __future__ import annotations

import csv
import datetime
import gc
import io
import sys
from collections.abc import Generator, Iterator
from itertools import islice
from pathlib import Path

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from keygen.collection import columns, delimited
from keygen.collection.decoding import decide
from keygen.collection.delimited import delimiter_of, records
from keygen.collection.entries import Reader
from keygen.collection.model import Row, Table
from keygen.collection.recordrows import cells_of_record, header_of
from keygen.collection.sources import open_table
from keygen.core.model import Rules
from keygen.errors import KeygenError
from keygen.specimens import record
from keygen.specimens.record import Specimen
from keygen.specimens.terms import Lexicon

PLAIN = [["specimen", "material", "length"], ["T-1", "chert", "34.2"], ["T-2", "rhyolite", "41"]]
ACCENTED = [
    *PLAIN,
    ["T-3", "silex d\u00e9bit\u00e9", "40"],
    ["T-4", "\u201cflint\u201d 10\u00b0", "1"],
]


def write(rows: list[list[str]], delimiter: str = ",", end: str = "\r\n") -> str:
    """Return rows as the text of a CSV."""
    out = io.StringIO(newline="")
    csv.writer(out, delimiter=delimiter, lineterminator=end).writerows(rows)
    return out.getvalue()


def opened(folder: Path, data: bytes, rules: Rules, name: str = "t.csv") -> Table:
    """Open a table of these bytes."""
    file = folder / name
    file.write_bytes(data)
    return open_table(str(file), rules)


def cells(table: Table) -> list[list[str]]:
    """Return header and rows of a table as lists."""
    return [list(table.header), *(list(row.cells) for row in table.rows)]


ENCODINGS = ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252", "mac-roman"]


@pytest.mark.parametrize("encoding", ENCODINGS)
@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
def test_encodings_and_delimiters(
    encoding: str, delimiter: str, tmp_path: Path, rules: Rules
) -> None:
    """Every usual encoding and delimiter is found out."""
    table = opened(tmp_path, write(ACCENTED, delimiter).encode(encoding), rules)
    assert cells(table) == ACCENTED
    assert bool(table.remarks) == (encoding in ("cp1252", "mac-roman"))


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_line_ends(end: str, tmp_path: Path, rules: Rules) -> None:
    """All three line ends are read."""
    assert cells(opened(tmp_path, write(PLAIN, end=end).encode(), rules)) == PLAIN


def test_encoding_that_is_given(tmp_path: Path, rules: Rules) -> None:
    """A given encoding goes before what would be found out; an unknown one is refused."""
    file = tmp_path / "t.csv"
    file.write_bytes(write(ACCENTED[:4]).encode("cp850"))
    assert cells(open_table(str(file), rules, encoding="cp850")) == ACCENTED[:4]
    with pytest.raises(KeygenError, match="the encoding 'cp9999' is not known"):
        open_table(str(file), rules, encoding="cp9999")


def test_bad_bytes_after_the_sample(
    tmp_path: Path, rules: Rules, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where the beginning was UTF-8 and a later row is not, that row is read and marked."""
    monkeypatch.setattr("keygen.collection.sources.SAMPLE", 20)
    data = write(PLAIN).encode() + "T-3,d\u00e9bit\u00e9,40\r\nT-4,chert,1".encode("cp1252")
    rows = list(opened(tmp_path, data, rules).rows)
    assert rows[2].cells == ("T-3", "d\u00e9bit\u00e9", "40")
    [fault] = rows[2].faults
    assert (fault.row, fault.column, fault.grade) == (4, "material", "warning")
    assert not rows[3].faults


def test_guess_of_an_older_encoding() -> None:
    """Words with accents tell Windows-1252 from Mac Roman."""
    for word in ("d\u00e9bit\u00e9", "pi\u00e8ce esquill\u00e9e", "45\u00b0", "Ca\u00f1on"):
        for encoding in ("cp1252", "mac_roman"):
            assert decide(f"a,{word},b".encode(encoding), True).name == encoding, word


def test_decimal_commas(tmp_path: Path, rules: Rules) -> None:
    """Decimal commas do not make a semicolon table a comma table."""
    rows = [["specimen", "length", "width"], ["a", "34,2", "12,1"], ["b", "30,0", "11,9"]]
    assert cells(opened(tmp_path, write(rows, ";").encode(), rules)) == rows


def test_line_that_names_the_delimiter(tmp_path: Path, rules: Rules) -> None:
    """A first line `sep=;` is obeyed and is no header."""
    table = opened(tmp_path, b"sep=;\nspecimen;length\na;1,5\n", rules)
    assert table.header == ("specimen", "length")
    assert [row.number for row in table.rows] == [3]


def test_one_column() -> None:
    """A table of one column has no delimiter, and a comma is as good as any."""
    assert delimiter_of("length\n34.2\n41\n") == ","


def test_row_numbers(tmp_path: Path, rules: Rules) -> None:
    """Rows are numbered as a program for tables shows them: empty ones count and are left out."""
    text = '\n\nspecimen,notes\n\na,"two\nlines"\n,\nb,x\n'
    table = opened(tmp_path, text.encode(), rules)
    rows = list(table.rows)
    assert table.header == ("specimen", "notes")
    assert [(row.number, row.line, row.cells[0]) for row in rows] == [(5, 5, "a"), (7, 8, "b")]
    assert rows[0].cells[1] == "two\nlines"


def test_ragged_rows(tmp_path: Path, rules: Rules) -> None:
    """A short row is filled; cells beyond the header are an error, if they hold anything."""
    table = opened(tmp_path, b"a,b,c\n1\n1,2,3,\n1,2,3,4,5\n", rules)
    rows = list(table.rows)
    assert [row.cells for row in rows] == [("1", "", ""), ("1", "2", "3"), ("1", "2", "3")]
    assert not rows[0].faults
    assert not rows[1].faults
    [fault] = rows[2].faults
    assert (fault.row, fault.found, fault.grade) == (4, "4 5", "error")


def test_nul_and_long_cells(tmp_path: Path, rules: Rules) -> None:
    """NUL signs are taken out and said; a cell beyond the limit is not read and is said."""
    long = "x" * (delimited.MOST_SIGNS + 1)
    huge = "y" * 200_000
    text = f"a,b\n1\0,2\n{long},3\n4,{huge}\n5,6\n"
    rows = list(opened(tmp_path, text.encode(), rules).rows)
    assert [row.cells for row in rows] == [("1", "2"), ("", "3"), ("4", ""), ("5", "6")]
    assert [[fault.column for fault in row.faults][:1] for row in rows] == [["a"], ["a"], [""], []]
    assert all(len(fault.found) <= 60 for row in rows for fault in row.faults)


QUOTES = [
    ('a,b\n1,"two\n3,4\n5,6\n', [("1", '"two'), ("3", "4"), ("5", "6")], 3),
    ('a,b\n1,"two\n3,"4"\n5,6\n', [("1", '"two'), ("3", "4"), ("5", "6")], 3),
    ('a,b\n1,"5" point\n3,4\n', [("1", "5 point"), ("3", "4")], 2),
]


@pytest.mark.parametrize(("text", "expected", "count"), QUOTES)
def test_quotation_marks(
    text: str, expected: list[tuple[str, str]], count: int, tmp_path: Path, rules: Rules
) -> None:
    """A quotation mark never closed costs its own row a fault, and no other row anything."""
    rows = list(opened(tmp_path, text.encode(), rules).rows)
    assert len(rows) == count
    assert [tuple(cell.strip('"') for cell in row.cells) for row in rows] == [
        tuple(cell.strip('"') for cell in one) for one in expected
    ]
    assert [bool(row.faults) for row in rows] == [True, *[False] * (count - 1)]
    assert "(line 2)" in rows[0].faults[0].what


def test_open_quote_before_very_many_lines() -> None:
    """After an open quotation mark not more than the longest row is held at once."""
    drawn = 0

    def lines() -> Iterator[str]:
        nonlocal drawn
        yield "a,b\n"
        yield '1,"two\n'
        for n in range(100_000):
            drawn += 1
            yield f"{n},x\n"

    found = list(islice(records(lines(), ","), 3))
    assert [one.line for one in found] == [1, 2, 3]
    assert drawn <= delimited.MOST_LINES


@given(
    st.lists(
        st.lists(
            st.text(st.characters(codec="utf-8", exclude_characters="\0"), max_size=8),
            min_size=2,
            max_size=2,
        ).filter(any),
        min_size=1,
        max_size=6,
    )
)
def test_written_rows_read_back(rows: list[list[str]]) -> None:
    """Whatever a writer of CSV writes is read back cell for cell."""
    text = io.StringIO(write(rows), newline="")
    assert [one.cells for one in records(text, ",")] == rows


@pytest.mark.parametrize("data", [b"", b"\n\n", b"\xef\xbb\xbf", b"\xff\xfe", b" , ,\n"])
def test_empty(data: bytes, tmp_path: Path, rules: Rules) -> None:
    """A table without anything in it is refused."""
    with pytest.raises(KeygenError, match="the table is empty"):
        opened(tmp_path, data, rules)


def test_standard_input(rules: Rules, monkeypatch: pytest.MonkeyPatch) -> None:
    """A table can come from standard input, as text or as a workbook."""
    for data in (write(ACCENTED).encode("cp1252"), workbook(ACCENTED)):
        monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(data)))
        table = open_table("-", rules)
        assert table.name == "standard input"
        assert cells(table) == ACCENTED


def test_unread_table_leaves_nothing_open(tmp_path: Path, rules: Rules) -> None:
    """A table given up after its first row closes its file (a warning would fail this test)."""
    table = opened(tmp_path, write(PLAIN).encode(), rules)
    assert next(table.rows).number == 2
    del table
    gc.collect()


def workbook(rows: list[list[object]] | list[list[str]], name: str = "finds") -> bytes:
    """Return a workbook with an empty sheet before the sheet that has the rows."""
    book = openpyxl.Workbook()
    sheet = book.create_sheet(name)
    for row in rows:
        sheet.append(row)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def test_workbook(tmp_path: Path, rules: Rules) -> None:
    """Cells of a workbook come as one would type them, from the first sheet with rows."""
    day, moment = datetime.date(2026, 5, 2), datetime.datetime(2026, 5, 2, 13, 4)
    rows: list[list[object]] = [
        ["a", "b", "c", "d"],
        [34.0, 34.2, day, True],
        [41, 0.1 + 0.2, moment, "=1+1"],
        [],
        ["041", "34,2", None, "x\ny"],
    ]
    table = opened(tmp_path, workbook(rows), rules, "t.xlsx")
    assert table.remarks == ("sheet 'finds' is read; --sheet takes another: 'Sheet'",)
    found = list(table.rows)
    assert [row.cells for row in found] == [
        ("34", "34.2", "2026-05-02", "TRUE"),
        ("41", "0.3", "2026-05-02 13:04:00", ""),
        ("041", "34,2", "", "x\ny"),
    ]
    assert [row.number for row in found] == [2, 3, 5]


def test_workbook_that_begins_further_down(tmp_path: Path, rules: Rules) -> None:
    """Rows keep their numbers and columns their letters where the table begins further down."""
    rows: list[list[object]] = [[], [], [None, "specimen", "length"], [None, "a", 1]]
    table = opened(tmp_path, workbook(rows), rules, "t.xlsx")
    assert table.header == ("", "specimen", "length")
    assert [(row.number, row.cells) for row in table.rows] == [(4, ("", "a", "1"))]


def test_sheets(tmp_path: Path, rules: Rules) -> None:
    """A sheet can be named; one that is not there is refused with the nearest."""
    file = tmp_path / "t.xlsx"
    file.write_bytes(workbook(PLAIN))
    assert cells(open_table(str(file), rules, sheet="finds")) == PLAIN
    with pytest.raises(KeygenError, match="Did you mean 'finds'"):
        open_table(str(file), rules, sheet="find")
    with pytest.raises(KeygenError, match="the sheet 'Sheet' has no rows"):
        open_table(str(file), rules, sheet="Sheet")
    with pytest.raises(KeygenError, match="only a workbook has sheets"):
        open_table(str(write_csv(tmp_path)), rules, sheet="finds")


def write_csv(folder: Path) -> Path:
    """Write the plain table."""
    file = folder / "plain.csv"
    file.write_text(write(PLAIN), encoding="utf-8", newline="")
    return file


def test_broken_workbook(tmp_path: Path, rules: Rules) -> None:
    """What only begins like a workbook is refused in one sentence."""
    with pytest.raises(KeygenError, match="not a workbook that can be read"):
        opened(tmp_path, b"PK\x03\x04 and no more", rules, "t.xlsx")


def test_workbook_without_its_extra(
    tmp_path: Path, rules: Rules, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Without the package that reads workbooks the message says what to install."""
    monkeypatch.setitem(sys.modules, "python_calamine", None)
    with pytest.raises(KeygenError, match=r"keygen\[tables\]"):
        opened(tmp_path, workbook(PLAIN), rules, "t.xlsx")


RECORD = """\
keygen_record: 1
specimen: T-1
region: ozarks
observer: A. B.
date: "2026-05-02"
observed:
  portion: complete
  damage: {states: [heat], unsure: [impact], missing: [ear_loss], open: [recent]}
  haft_style: stemmed
  stem_shape: [straight, contracting]
  base_shape: missing
  blade_edge: "?"
  flaking: {states: [random], how: measured}
measurements: {length: 34.2+, weight: (5.2)}
material: chert
context: {site: S-1, level: "3", location: somewhere}
analyst: {call: Gary, reason: compared, by: C. D., date: "2026-05-03"}
notes: two words
"""


def test_records_as_rows(tmp_path: Path, rules: Rules) -> None:
    """A record made into a row and read again says all that it said."""
    (tmp_path / "a.yaml").write_text(RECORD, encoding="utf-8")
    before = record.read_text(Lexicon(rules), RECORD, "a")
    table = open_table(str(tmp_path), rules)
    found, remarks = columns.plan(rules, table.header)
    [row] = table.rows
    entry = Reader(found).read(row)
    assert not entry.faults
    assert entry.piece == before.piece
    assert entry.region == "ozarks"
    assert {column.name for column in found.columns if column.kind == "location"} == {"location"}
    assert [remark for remark in remarks if "location" not in remark] == []


def test_record_that_cannot_be_read(tmp_path: Path, rules: Rules) -> None:
    """A folder goes on after a bad record, which is an empty row with its problems."""
    (tmp_path / "a.yaml").write_text("keygen_record: 1\nobserved: {tipp: acute}\n")
    (tmp_path / "b.yaml").write_text(RECORD, encoding="utf-8")
    bad, good = open_table(str(tmp_path), rules).rows
    assert not any(bad.cells)
    assert "a.yaml:2" in bad.faults[0].found
    assert good.cells[0] == "T-1"
    assert not good.faults


def test_folder_without_records(tmp_path: Path, rules: Rules) -> None:
    """A folder that holds no record is refused."""
    with pytest.raises(KeygenError, match="holds no specimen record"):
        open_table(str(tmp_path), rules)


def test_rows_of_records_have_the_width_of_their_header(rules: Rules) -> None:
    """There is a cell for every column, for an empty record too."""
    record_of_nothing = Specimen(Reader(columns.plan(rules, ["tip"])[0]).read(Row(2, ("",))).piece)
    assert len(cells_of_record(rules, record_of_nothing)) == len(header_of(rules))


@pytest.mark.parametrize(
    ("above", "titled"),
    [
        ("Vellamoor points\n\n", True),
        ("Vellamoor points,,\ndug in 2026,,\n,,\n", True),
        ("", False),
        ("Vellamoor points,by A. B.,\n", False),  # two cells can be names of columns
        ("material,,\n", False),  # a column that is known
        ("x\n" * 12, False),  # too far up
    ],
)
def test_a_title_above_the_names(tmp_path: Path, rules: Rules, above: str, titled: bool) -> None:
    """Only single cells that name no column are passed over to reach the names of columns."""
    data = above + write(PLAIN, end="\n")
    table = opened(tmp_path, data.encode(), rules)
    rows = data.splitlines()
    if titled or not above:
        start = rows.index("specimen,material,length") + 1
        assert cells(table) == PLAIN
        row = start + 1
    else:
        assert table.header[0] == rows[0].split(",")[0]
        row = 2
    again = opened(tmp_path, data.encode(), rules)
    numbers = [found.number for found in again.rows]
    assert numbers[0] == row
    assert bool(again.remarks) == titled


def test_rows_read_ahead_are_not_lost(tmp_path: Path, rules: Rules) -> None:
    """A table of one column that names nothing known keeps all its rows."""
    table = opened(tmp_path, b"thing\na\n\nb\nc\n", rules)
    assert cells(table) == [["thing"], ["a"], ["b"], ["c"]]


def test_a_table_that_is_not_read_is_closed(tmp_path: Path, rules: Rules) -> None:
    """Closing the rows closes the file even if none was asked for."""
    rows = opened(tmp_path, write(PLAIN).encode(), rules).rows
    assert isinstance(rows, Generator)
    rows.close()
    gc.collect()  # an open file would be warned of here, which is an error
    assert list(rows) == []
