"""Workbooks of malice: little to send, and all memory gone to read them."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from keygen.collection.sources import open_table
from keygen.collection.unpacking import Extent
from keygen.core.model import Rules
from keygen.errors import KeygenError
from tests.faults.books import HEADER, book, cell, sheet


def refused(tmp_path: Path, rules: Rules, content: bytes) -> str:
    """Return why a workbook is refused."""
    file = tmp_path / "t.xlsx"
    file.write_bytes(content)
    with pytest.raises(KeygenError) as caught:
        open_table(str(file), rules)
    assert str(caught.value).startswith(str(file))
    return str(caught.value)


def test_a_plain_workbook_is_read(tmp_path: Path, rules: Rules) -> None:
    """What is built here without malice is read, whatever size it says it has."""
    file = tmp_path / "t.xlsx"
    row = f'<row r="2">{cell("A2", "T-1")}<c r="B2" t="s"><v>1</v></c></row>'
    file.write_bytes(book(sheet(HEADER, row, size="A1:XFD1048576"), "unused", "straight"))
    table = open_table(str(file), rules)
    assert table.header == ("specimen", "stem_shape")
    assert [one.cells for one in table.rows] == [("T-1", "straight")]


@pytest.mark.parametrize(
    "far",
    [
        f'<row r="1048576">{cell("XFD1048576", "x")}</row>',
        '<row r="1048576"><c\tt="inlineStr"\nr = \'XFD1048576\'><is><t>x</t></is></c></row>',
        '<x:row r="1048576"><x:c r="xfd1048576" t="b"><x:v>1</x:v></x:c></x:row>',
        '<row r="900000"><c t="b"><v>1</v></c></row>'.replace("<c t", "<c/>" * 600 + "<c t"),
    ],
)
def test_two_cells_far_apart(tmp_path: Path, rules: Rules, far: str) -> None:
    """A sheet is read as a box from its first cell to its last, so a huge box is refused."""
    told = refused(tmp_path, rules, book(sheet(HEADER, far)))
    assert "MB of memory" in told
    assert "Save the sheet as CSV" in told


@pytest.mark.parametrize("place", ["H99999999999926", "XFDXFD2", "A" + "9" * 5000])
def test_a_cell_at_no_place(tmp_path: Path, rules: Rules, place: str) -> None:
    """A place with more letters or digits than any has is refused before it is reckoned with."""
    told = refused(tmp_path, rules, book(sheet(HEADER, f'<row r="2">{cell(place, "x")}</row>')))
    assert "a cell stands at no place that a sheet has" in told


@pytest.mark.parametrize("formula", ["", "<f>A1</f>"])
def test_a_text_that_many_cells_share(tmp_path: Path, rules: Rules, formula: str) -> None:
    """One long text that very many cells show is refused before it is copied for each."""
    rows = (f'<row r="{n}"><c r="A{n}" t="s">{formula}<v>0</v></c></row>' for n in range(2, 30_000))
    assert "MB of memory" in refused(tmp_path, rules, book(sheet(HEADER, *rows), "x" * 32_000))


def test_a_zip_bomb(tmp_path: Path, rules: Rules) -> None:
    """A member packed more tightly than any table is refused before it is unpacked whole."""
    content = book(sheet(f'<row r="1">{cell("A1", " " * 20_000_000)}</row>'))
    assert len(content) < 30_000
    assert "packed so tightly" in refused(tmp_path, rules, content)


def test_a_zip_bomb_that_lies(tmp_path: Path, rules: Rules) -> None:
    """What an archive says of the size of its members is not believed."""
    long = sheet(f'<row r="1">{cell("A1", " " * 20_000_000)}</row>')
    content = book(long)
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        size = archive.getinfo("xl/worksheets/sheet1.xml").file_size
    content = content.replace(size.to_bytes(4, "little"), (900).to_bytes(4, "little"))
    assert "packed so tightly" in refused(tmp_path, rules, content)


@pytest.mark.parametrize(
    "sheet_xml",
    [
        '<!DOCTYPE x [<!ENTITY a "aa"><!ENTITY b "&a;&a;">]>' + sheet(HEADER),
        sheet(HEADER).encode("utf-16"),
        '<?xml version="1.0" encoding="cp037"?>' + sheet(HEADER),
    ],
)
def test_xml_that_is_not_plain(tmp_path: Path, rules: Rules, sheet_xml: str | bytes) -> None:
    """Entities, and encodings in which tags could hide, are refused."""
    assert "is not plain XML in UTF-8" in refused(tmp_path, rules, book(sheet_xml))


def test_other_workbooks(tmp_path: Path, rules: Rules) -> None:
    """Kinds of workbook that are not looked through are refused, and what to do is said."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
        archive.writestr("content.xml", "<x/>")
    assert "of another kind than XLSX" in refused(tmp_path, rules, out.getvalue())
    older = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 600
    assert "Save it as XLSX without a password" in refused(tmp_path, rules, older)


ROWS = [
    f'<row r="2">{cell("A2", "x")}{cell("BZ2", "y")}</row>',
    f'<row r="99999">{cell("Z99999", "x")}</row>',
    f'<row r="100000">{cell("A100000", "x")}</row>',
    f'<row r="3">{cell("CA3", "x")}</row>',
    f'<row r="4">{cell("a4", "x")}</row>',
    '<row r="5"><c r="A5" t="s"><v>0</v></c><c t="s"><v>0</v></c><c/></row>',
    '<row><c r="A6"/></row>',
    "<row\tr='7'><c\nr='XFD7'/></row>",
    '<x:row r="8"><x:c r="XFD8"/></x:row>',
    f'<row r="9">{cell("B9", "see http://cell")}</row>',
]


@given(st.lists(st.lists(st.sampled_from(ROWS), max_size=6), max_size=4))
def test_a_quick_look_is_never_too_trusting(pieces: list[list[str]]) -> None:
    """The quick look never takes a sheet for smaller than the thorough one does."""
    quick, thorough = Extent(), Extent()
    for piece in pieces:
        xml = "".join(piece).encode()
        quick.add_roughly(xml)
        thorough.add(xml)
    assert quick.memory([40]) >= thorough.memory([40])


def test_a_quick_look_is_enough_for_plain_rows() -> None:
    """Rows as programs write them are not looked through twice: no place is noted one by one."""
    quick = Extent()
    quick.add_roughly((ROWS[0] + ROWS[1]).encode())
    assert (quick.height, quick.width, quick.cells) == (99_999, 78, 3)
