"""Outlines in reports: beside each piece of which something was seen, at one scale, said once."""

from __future__ import annotations

import re
import shutil
import subprocess
from io import BytesIO
from math import isclose
from pathlib import Path
from xml.etree import ElementTree as ET
from zipfile import ZipFile

import pytest
from typer.testing import CliRunner

from keygen.cli import app
from keygen.collection.model import Outcome
from keygen.collection.report import write_report
from tests.collection.reported import NOTCHED, TAPERED, contradicting, row
from tests.prose import pieces

W = "{http://schemas.openxmlformats.org/wordprocessingml/2006/main}"
WP = "{http://schemas.openxmlformats.org/drawingml/2006/wordprocessingDrawing}"
SIZES = {"length": "40", "width": "20"}
EVIL = "<b>&\"'"
# The order in which ECMA-376 Part 1 (20.4.2.3) wants the parts of an anchor.
ANCHOR = (
    *("simplePos", "positionH", "positionV", "extent", "effectExtent", "wrapSquare", "docPr"),
    *("cNvGraphicFramePr", "graphic"),
)


@pytest.fixture(scope="module")
def several() -> list[Outcome]:
    """Return four pieces that can be drawn, two of them alike, and two that cannot."""
    return [
        row("east", label=f"a{EVIL}", **TAPERED),
        row("east", 3, label="b", **TAPERED),
        row("east", 4, label="c", measures=SIZES, **NOTCHED),
        row("east", 5, label="d", portion="distal", blade_shape="straight"),
        row("east", 6, label="e", flaking="random"),
        contradicting("east", 7, label="f", haft_style="stemmed", notch_position="side"),
    ]


def html(rows: list[Outcome], **more: bool) -> str:
    """Return the HTML report of some rows."""
    return write_report(pieces.rules(), rows, ".html", "T", "", **more).decode()  # type: ignore[arg-type]


def shown(page: str) -> list[str]:
    """Return the outlines of a page, as they are written."""
    return re.findall(r'<svg class="outline".*?</svg>', page, re.DOTALL)


def anchors(data: bytes) -> list[ET.Element]:
    """Return the anchored drawings of a DOCX file."""
    with ZipFile(BytesIO(data)) as archive:
        return list(ET.fromstring(archive.read("word/document.xml")).iter(f"{WP}anchor"))


def file_text(file: Path) -> str:
    """Return the text of a DOCX file, as XML."""
    with ZipFile(file) as archive:
        return archive.read("word/document.xml").decode()


def test_each_piece_has_its_outline(several: list[Outcome]) -> None:
    """HTML and DOCX draw every piece of which the outline was seen, named for who cannot see it."""
    pictures = shown(html(several))
    names = [re.findall(r"<title>(.*?)</title>", picture)[0] for picture in pictures]
    escaped = "a&lt;b&gt;&amp;&quot;&#x27;"
    assert names == [f"Outline of {label}" for label in (escaped, "b", "c", "d")]
    drawn = anchors(write_report(pieces.rules(), several, ".docx", "T", ""))
    told = [a.find(f"{WP}docPr").get("title") for a in drawn]  # type: ignore[union-attr]
    assert told == [f"Outline of {label}" for label in (f"a{EVIL}", "b", "c", "d")]


def test_the_same_lines_stand_once(several: list[Outcome]) -> None:
    """A second piece that looks the same is shown by reference."""
    one, other, *_ = shown(html(several))
    assert re.findall(r'<g id="(outline-\d+)">', one) == ["outline-1"]
    assert '<use href="#outline-1"/>' in other
    assert "<path" not in other


def test_one_scale_holds(several: list[Outcome]) -> None:
    """In both formats paper is half the size of the piece."""
    sizes = []
    for picture in shown(html(several)):
        view = [float(v) for v in re.findall(r'viewBox="([^"]+)"', picture)[0].split()]
        wide, high = (float(v) for v in re.findall(r'(?:width|height)="([\d.]+)mm"', picture))
        assert isclose(wide * 2, view[2], abs_tol=0.02)
        assert isclose(high * 2, view[3], abs_tol=0.02)
        sizes.append((wide, high))
    for anchor, (wide, high) in zip(
        anchors(write_report(pieces.rules(), several, ".docx", "T", "")), sizes, strict=True
    ):
        extent = anchor.find(f"{WP}extent")
        assert extent is not None
        assert isclose(int(str(extent.get("cx"))) / 36_000, wide, abs_tol=0.01)
        assert isclose(int(str(extent.get("cy"))) / 36_000, high, abs_tol=0.01)


def test_what_the_outlines_are_is_said_once(several: list[Outcome]) -> None:
    """One note says that they are schematics, and of unmeasured pieces how long they are drawn."""
    page = html(several)
    assert page.count("schematics drawn from the coded attributes") == 1
    assert "the length is taken as 50 mm" in page
    measured = html([row("east", measures=SIZES, **NOTCHED)])
    assert "the length is taken as" not in measured


def test_pictures_can_be_left_out(several: list[Outcome]) -> None:
    """Without pictures no format draws or speaks of any; Markdown never does."""
    for suffix in (".html", ".docx", ".md"):
        data = write_report(pieces.rules(), several, suffix, "T", "", pictures=False)
        text = data.decode() if suffix != ".docx" else ""
        assert "schematic" not in text
        assert not shown(text)
        if suffix == ".docx":
            assert anchors(data) == []
        if suffix == ".md":
            assert write_report(pieces.rules(), several, suffix, "T", "") == data


def test_a_report_without_outlines_does_not_speak_of_them() -> None:
    """Where nothing can be drawn there is no note."""
    assert "schematic" not in html([row("east", flaking="random")])


def test_anchors_keep_the_order_of_the_standard(several: list[Outcome]) -> None:
    """The parts of an anchor come in the order of ECMA-376, and no number is given twice."""
    found = anchors(write_report(pieces.rules(), several, ".docx", "T", ""))
    for anchor in found:
        assert [child.tag.split("}")[1] for child in anchor] == list(ANCHOR)
    numbers = [a.find(f"{WP}docPr").get("id") for a in found]  # type: ignore[union-attr]
    assert len(numbers) == len(set(numbers)) == 4


def test_the_same_rows_give_the_same_bytes(several: list[Outcome]) -> None:
    """A report with outlines is the same file every time."""
    for suffix in (".html", ".docx"):
        assert write_report(pieces.rules(), several, suffix) == write_report(
            pieces.rules(), several, suffix
        )


def test_a_word_processor_shows_the_lines(several: list[Outcome], tmp_path: Path) -> None:
    """LibreOffice draws every stroke of every outline as a line, and none as a picture in dots."""
    office, reader = shutil.which("soffice"), shutil.which("pdftocairo")
    if office is None or reader is None:
        pytest.skip("needs LibreOffice and poppler-utils")
    file = tmp_path / "r.docx"
    file.write_bytes(write_report(pieces.rules(), several, ".docx", "T", ""))
    profile = f"-env:UserInstallation={(tmp_path / 'profile').as_uri()}"
    order = [office, profile, "--headless", "--convert-to", "pdf", "--outdir", str(tmp_path)]
    subprocess.run([*order, str(file)], check=True, capture_output=True, timeout=180)
    shapes = file_text(file).count("<wps:wsp>")
    lines = 0
    for page in range(1, 9):
        wanted = [reader, "-svg", "-f", str(page), "-l", str(page), str(tmp_path / "r.pdf"), "-"]
        found = subprocess.run(wanted, check=False, capture_output=True, timeout=60).stdout.decode()
        assert "<image" not in found
        lines += found.count("stroke-linecap:round")
    assert lines >= shapes > 8


@pytest.mark.parametrize(("switch", "some"), [((), True), (("--no-pictures",), False)])
def test_the_switch(tmp_path: Path, switch: tuple[str, ...], some: bool) -> None:
    """`keygen table` draws unless it is told not to."""
    table, out = tmp_path / "finds.csv", tmp_path / "report.html"
    table.write_text("No.,Haft style,Stem shape\n1,stemmed,contracting\n", encoding="utf-8")
    found = CliRunner().invoke(app, ["table", str(table), "--out", str(out), *switch])
    assert found.exit_code == 0
    assert bool(shown(out.read_text(encoding="utf-8"))) == some
