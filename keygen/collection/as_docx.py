"""A document as DOCX: a zip of a few XML parts, each worded and styled by a template.

The parts follow ECMA-376 (WordprocessingML, transitional). Bars are shaded cells of a table, so
that they stay editable and can be read out. Nothing in the file depends on who wrote it and when.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from io import BytesIO
from pathlib import Path
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

from keygen.collection.document import (
    LANGUAGE,
    Bar,
    Block,
    Document,
    Figure,
    Heading,
    Paragraph,
    Table,
    printable,
)
from keygen.pictures.drawingml import Frame, frame
from keygen.pictures.portrait import SCALE
from keygen.prose.render import render

PARTS = {
    "[Content_Types].xml": "content_types",
    "_rels/.rels": "package_rels",
    "docProps/core.xml": "core",
    "word/document.xml": "document",
    "word/_rels/document.xml.rels": "document_rels",
    "word/styles.xml": "styles",
    "word/settings.xml": "settings",
    "word/footer1.xml": "footer",
}
EPOCH = (1980, 1, 1, 0, 0, 0)  # the earliest date that a zip can hold
UPRIGHT, LYING = 9360, 12960  # the width of the text on a page, in twentieths of a point
STEPS = 40  # into which the length of the longest bar is divided


@dataclass(frozen=True)
class Cell:
    """A cell of a bar: of a series, or the rest of the row."""

    span: int
    width: int
    series: int | None


@dataclass(frozen=True)
class DrawnBar:
    """A bar as cells of a row."""

    label: str
    length: int
    cells: tuple[Cell, ...]


@dataclass(frozen=True)
class Part:
    """A block with what its template needs: a bookmark, widths and styles of columns, bars, lines.

    `outline` is the outline beside a paragraph, and `number` tells it from others.
    """

    kind: str
    block: Block
    mark: str = ""
    widths: tuple[int, ...] = ()
    styles: tuple[str, ...] = ()
    bars: tuple[DrawnBar, ...] = ()
    turned: bool = False
    outline: Frame | None = None
    number: int = 0


@dataclass(frozen=True)
class Entry:
    """A line of the contents, with the bookmark that it leads to."""

    text: str
    level: int
    mark: str


def docx(document: Document, folder: Path | None = None) -> bytes:
    """Return a document as DOCX.

    Args:
        folder: a folder of the user's own templates, if any.

    Raises:
        KeygenError: a template cannot be used.
    """
    parts = [_part(kind, block, i) for i, (kind, block) in enumerate(document.kinds)]
    contents = [
        Entry(part.block.text, part.block.level, part.mark)
        for part in parts
        if isinstance(part.block, Heading) and part.mark
    ]
    values = {
        "document": document,
        "language": LANGUAGE,
        "parts": parts,
        "contents": contents,
        "depth": max((entry.level for entry in contents), default=1),
        "opening": next((i for i, p in enumerate(parts) if p.kind == "heading"), 0),
    }
    file = BytesIO()
    with ZipFile(file, "w") as archive:
        for name, template in PARTS.items():
            text = printable(render(f"document/docx/{template}.xml.j2", values, folder))
            archive.writestr(_entry(name), text.encode())
    return file.getvalue()


def _entry(name: str) -> ZipInfo:
    """Return the entry of a part, the same on every machine."""
    entry = ZipInfo(name, EPOCH)
    entry.compress_type = ZIP_DEFLATED
    entry.create_system = 0
    return entry


def _part(kind: str, block: Block, index: int) -> Part:
    part = Part(kind, block)
    if isinstance(block, Paragraph) and block.picture:
        return replace(part, outline=frame(block.picture, SCALE), number=index)
    if isinstance(block, Heading) and block.listed:
        return replace(part, mark=f"_Toc{index:08}")
    if isinstance(block, Table):
        styles = ("CellFigure" if i in block.figures else "Cell" for i in range(len(block.head)))
        widths = _widths(block.shares, LYING if block.wide else UPRIGHT)
        return replace(part, widths=widths, styles=tuple(styles), turned=block.wide)
    if isinstance(block, Figure):
        widths = _widths((34 * STEPS, *(58 for _ in range(STEPS)), 8 * STEPS), UPRIGHT)
        bars = tuple(_bar(bar, block.longest, widths[1:]) for bar in block.bars)
        return replace(part, widths=widths, bars=bars)
    return part


def _widths(shares: tuple[int, ...], whole: int) -> tuple[int, ...]:
    return tuple(whole * share // sum(shares) for share in shares)


def _bar(bar: Bar, longest: int, widths: tuple[int, ...]) -> DrawnBar:
    """Return a bar as cells; the last one is the rest of the row and holds its figure."""
    cells, taken, at = [], 0, 0
    parts = [(series, count) for series, count in enumerate(bar.parts) if count]
    for left, (series, count) in zip(range(len(parts) - 1, -1, -1), parts, strict=True):
        taken += count
        end = min(max(at + 1, round(taken / longest * STEPS)), STEPS - left)
        cells.append(Cell(end - at, sum(widths[at:end]), series))
        at = end
    cells.append(Cell(len(widths) - at, sum(widths[at:]), None))
    return DrawnBar(bar.label, bar.length, tuple(cells))
