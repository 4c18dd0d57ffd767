"""The DOCX file: read back by python-docx, held against ECMA-376, opened by LibreOffice."""

from __future__ import annotations

import re
import shutil
import subprocess
from io import BytesIO
from pathlib import Path
from xml.etree import ElementTree as ET
from zipfile import ZipFile

import docx as python_docx
import pytest
from docx.enum.section import WD_ORIENTATION

from keygen.cli.demo import examined, outcomes, records
from keygen.collection.as_docx import STEPS, UPRIGHT, docx
from keygen.collection.document import Bar, Figure, Paragraph, Table, assembled
from keygen.collection.house import House
from keygen.collection.model import Fault
from keygen.collection.report import report, write_report
from keygen.collection.told import references, tell
from keygen.core.examine import AnalystCall
from keygen.core.model import Rules
from tests.collection.reported import TAPERED, row
from tests.prose import pieces

W = "{http://schemas.openxmlformats.org/wordprocessingml/2006/main}"
EVIL = "<w:p/>\"'&amp;\x07\x0b\ud800"
# The order in which ECMA-376 Part 1 (17.3.1.26, 17.4.59, 17.4.69, 17.6.17) wants what we write;
# a reader may refuse a file in any other.
ORDER = {
    "pPr": ("pStyle", "keepNext", "keepLines", "spacing", "ind", "jc", "outlineLvl", "sectPr"),
    "rPr": ("rFonts", "b", "bCs", "sz", "szCs", "bdr", "shd", "lang"),
    "tblPr": (
        *("tblStyle", "tblW", "tblInd", "tblBorders", "tblLayout", "tblCellMar", "tblLook"),
        *("tblCaption", "tblDescription"),
    ),
    "tcPr": ("tcW", "gridSpan", "tcBorders", "shd", "vAlign"),
    "tcBorders": ("top", "left", "bottom", "right"),
    "sectPr": ("footerReference", "type", "pgSz", "pgMar"),
    "style": (
        *("name", "basedOn", "next", "uiPriority", "semiHidden", "qFormat", "pPr", "rPr", "tblPr"),
        "tblStylePr",
    ),
}


@pytest.fixture(scope="module")
def survey(rules: Rules) -> bytes:
    """Return the invented survey of the demo as DOCX, grouped by type."""
    return write_report(rules, outcomes(examined(rules, records())), ".docx", "Survey")


def _xml(data: bytes, part: str = "word/document.xml") -> ET.Element:
    with ZipFile(BytesIO(data)) as archive:
        return ET.fromstring(archive.read(part))


def test_headings_and_contents(rules: Rules, survey: bytes) -> None:
    """Sections, groups and specimens have heading styles, and the contents name the first two."""
    told = [tell(House(rules), o) for o in outcomes(examined(rules, records()))]
    document = report(House(rules), told, "Survey")
    found = python_docx.Document(BytesIO(survey)).paragraphs
    assert (found[0].style.name, found[0].text) == ("Title", "Survey")  # type: ignore[union-attr]
    styled = [(p.style.name, p.text) for p in found if p.style is not None]
    heads = [(f"Heading {b.level}", b.text) for kind, b in document.kinds if kind == "heading"]  # type: ignore[union-attr]
    assert [each for each in styled if str(each[0]).startswith("Heading")] == heads
    contents = [each for each in styled if str(each[0]).startswith("toc")]
    assert contents == [(f"toc {h.level}", h.text) for h in document.listed]
    assert len([each for each in heads if each[0] == "Heading 3"]) == 16


def test_tables_and_references(rules: Rules, survey: bytes) -> None:
    """Every row of every table is there, as are the works."""
    told = [tell(House(rules), o) for o in outcomes(examined(rules, records()))]
    document = report(House(rules), told, "Survey")
    found = python_docx.Document(BytesIO(survey))
    tables = [t for t in found.tables if t.style is not None and t.style.name == "Plain Rules"]
    expected = [b for b in document.blocks if isinstance(b, Table)]
    assert len(tables) == len(expected)
    for table, block in zip(tables, expected, strict=True):
        cells = [tuple(c.text for c in r.cells) for r in table.rows]
        assert cells == [block.head, *block.rows]
    works = [p.text for p in found.paragraphs if p.style and p.style.name == "Bibliography"]
    assert tuple(works) == references(House(rules), told)


def test_header_rows_are_repeated(survey: bytes) -> None:
    """The first row of each table is repeated on every page, and no row is torn apart."""
    for table in _xml(survey).iter(f"{W}tbl"):
        rows = table.findall(f"{W}tr")
        marks = [r.find(f"{W}trPr/{W}tblHeader") is not None for r in rows]
        styled = table.find(f"{W}tblPr/{W}tblStyle") is not None
        assert marks == [styled, *(False for _ in rows[1:])]
        assert all(r.find(f"{W}trPr/{W}cantSplit") is not None for r in rows)


def test_captions_are_numbered(survey: bytes) -> None:
    """Captions hold fields that Word counts by itself, with the right number in them."""
    captions = [
        "".join(t.text or "" for t in p.iter(f"{W}t"))
        for p in _xml(survey).iter(f"{W}p")
        if p.find(f"{W}fldSimple") is not None
    ]
    for kind in ("Table", "Figure"):
        own = [c for c in captions if c.startswith(kind)]
        assert [c.split(".")[0] for c in own] == [f"{kind} {i + 1}" for i in range(len(own))]
        assert own


def test_only_wide_tables_lie_on_their_side(survey: bytes) -> None:
    """A table of many columns has a page section of its own; the rest stands upright."""
    sections = python_docx.Document(BytesIO(survey)).sections
    ways = [s.orientation for s in sections]
    up, side = WD_ORIENTATION.PORTRAIT, WD_ORIENTATION.LANDSCAPE
    assert ways == [up, side, up]
    narrow = write_report(pieces.rules(), [row("east", **TAPERED)], ".docx")
    assert [s.orientation for s in python_docx.Document(BytesIO(narrow)).sections] == [up]


@pytest.mark.parametrize("part", ["word/document.xml", "word/styles.xml"])
def test_elements_stand_in_the_order_of_the_standard(survey: bytes, part: str) -> None:
    """The children of each element are known and come in the order of ECMA-376."""
    checked = 0
    for element in _xml(survey, part).iter():
        order = ORDER.get(element.tag.removeprefix(W), ())
        if order:
            places = [order.index(child.tag.removeprefix(W)) for child in element]
            assert places == sorted(set(places))
            checked += 1
    assert checked > 20


def test_cells_fill_the_grid(survey: bytes) -> None:
    """In each row the cells span all columns of the table's grid, and are as wide as they."""
    for table in _xml(survey).iter(f"{W}tbl"):
        grid = [int(c.attrib[f"{W}w"]) for c in table.findall(f"{W}tblGrid/{W}gridCol")]
        assert sum(grid) <= 12960
        for line in table.findall(f"{W}tr"):
            cells = line.findall(f"{W}tc/{W}tcPr")
            spans = [c.find(f"{W}gridSpan") for c in cells]
            assert sum(1 if s is None else int(s.attrib[f"{W}val"]) for s in spans) == len(grid)
            widths = [c.find(f"{W}tcW") for c in cells]
            assert sum(int(w.attrib[f"{W}w"]) for w in widths if w is not None) == sum(grid)
            assert all(c.find(f"{W}p") is not None for c in line.findall(f"{W}tc"))


@pytest.mark.parametrize("parts", [(999, 1, 0), (1, 1, 998), (1, 0, 0), (0, 0, 7)])
def test_every_part_of_a_bar_is_seen(parts: tuple[int, ...]) -> None:
    """A part of a bar has at least one step, however small, and the longest bar has all."""
    figure = Figure("Figure", "c", "a", ("s", "t", "u"), (Bar("x", (0, 1000, 0)), Bar("y", parts)))
    data = docx(assembled("T", "C", [figure, Paragraph("p")]))
    whole, given = _xml(data).iter(f"{W}tr")
    spans = [int(s.attrib[f"{W}val"]) for s in whole.iter(f"{W}gridSpan")]
    assert spans == [STEPS, 1]
    assert len(given.findall(f"{W}tc")) == 2 + sum(map(bool, parts))


def test_bars_are_told_in_words(survey: bytes) -> None:
    """The table of bars has a title and says in words what it shows."""
    told = [e.attrib[f"{W}val"] for e in _xml(survey).iter(f"{W}tblDescription")]
    assert len(told) == 2
    assert all(text.startswith("Bars of ") for text in told)


def test_language_and_properties(survey: bytes) -> None:
    """Language and title are set; no person and no date is named."""
    assert _xml(survey, "word/styles.xml").find(f".//{W}lang").attrib[f"{W}val"] == "en-GB"  # type: ignore[union-attr]
    found = python_docx.Document(BytesIO(survey)).core_properties
    assert (found.title, found.language) == ("Survey", "en-GB")
    assert (found.author, found.last_modified_by, found.created, found.modified) == (
        *("", "", None, None),
    )
    with ZipFile(BytesIO(survey)) as archive:
        assert {entry.date_time for entry in archive.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        assert archive.namelist()[0] == "[Content_Types].xml"


def test_styles_are_defined(survey: bytes) -> None:
    """Every style that the text uses is in the style sheet."""
    defined = {s.attrib[f"{W}styleId"] for s in _xml(survey, "word/styles.xml").iter(f"{W}style")}
    root = _xml(survey)
    used = {e.attrib[f"{W}val"] for e in (*root.iter(f"{W}pStyle"), *root.iter(f"{W}tblStyle"))}
    assert used <= defined


def test_links_stay_inside(survey: bytes) -> None:
    """Links lead to bookmarks of the document; nothing leads out of it."""
    root = _xml(survey)
    marks = {e.attrib[f"{W}name"] for e in root.iter(f"{W}bookmarkStart")}
    links = [e.attrib[f"{W}anchor"] for e in root.iter(f"{W}hyperlink")]
    assert links
    assert set(links) == marks
    with ZipFile(BytesIO(survey)) as archive:
        assert b"External" not in archive.read("word/_rels/document.xml.rels")


def test_signs_that_xml_cannot_hold() -> None:
    """Markup in the data is text, and control characters are shown as U+FFFD."""
    given = row(
        "east",
        label=f"a{EVIL}",
        faults=(Fault(2, EVIL, EVIL, EVIL, EVIL),),
        details={"material": EVIL},
        analyst=AnalystCall(EVIL, EVIL, EVIL),
        **TAPERED,
    )
    found = python_docx.Document(
        BytesIO(write_report(pieces.rules(), [given], ".docx", EVIL, preface=EVIL))
    )
    shown = re.sub("[\x07\x0b\ud800]", "\ufffd", EVIL)
    assert found.paragraphs[0].text == shown
    # a vertical tab is white space, and white space is one blank in what the prose words
    assert any(cell.text == shown for t in found.tables for r in t.rows for cell in r.cells)


def test_width_of_the_text(survey: bytes) -> None:
    """Upright tables are as wide as the text, to within a step of rounding a column."""
    for table in _xml(survey).iter(f"{W}tbl"):
        columns = table.findall(f"{W}tblGrid/{W}gridCol")
        width = sum(int(c.attrib[f"{W}w"]) for c in columns)
        assert UPRIGHT - len(columns) <= width <= UPRIGHT or width > 12900


@pytest.mark.skipif(not shutil.which("soffice"), reason="LibreOffice is not installed")
def test_libreoffice_opens_it(survey: bytes, tmp_path: Path) -> None:
    """LibreOffice reads the file: every paragraph is there, with the numbers that it counts."""
    (tmp_path / "r.docx").write_bytes(survey)
    profile = f"-env:UserInstallation={(tmp_path / 'profile').as_uri()}"
    command = ["soffice", "--headless", profile, "--convert-to", "txt:Text (encoded):UTF8"]
    subprocess.run([*command, "--outdir", tmp_path, tmp_path / "r.docx"], check=True, timeout=120)
    text = " ".join((tmp_path / "r.txt").read_text(encoding="utf-8").split())
    found = ("".join(t.text or "" for t in p.iter(f"{W}t")) for p in _xml(survey).iter(f"{W}p"))
    assert [told for told in found if " ".join(told.split()) not in text] == []
