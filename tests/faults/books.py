"""Workbooks built by hand, for what no honest program writes."""

from __future__ import annotations

import io
import zipfile

MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
PACKAGE = "http://schemas.openxmlformats.org/package/2006"
OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
KIND = "application/vnd.openxmlformats-officedocument.spreadsheetml"
TYPES = (
    f'<Types xmlns="{PACKAGE}/content-types"><Default Extension="rels" '
    'ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
    '<Default Extension="xml" ContentType="application/xml"/>'
    f'<Override PartName="/xl/workbook.xml" ContentType="{KIND}.sheet.main+xml"/></Types>'
)
ROOT = (
    f'<Relationships xmlns="{PACKAGE}/relationships"><Relationship Id="r1" '
    f'Type="{OFFICE}/officeDocument" Target="xl/workbook.xml"/></Relationships>'
)
BOOK = (
    f'<workbook xmlns="{MAIN}" xmlns:r="{OFFICE}"><sheets>'
    '<sheet name="finds" sheetId="1" r:id="r1"/></sheets></workbook>'
)
PARTS = (
    f'<Relationships xmlns="{PACKAGE}/relationships">'
    f'<Relationship Id="r1" Type="{OFFICE}/worksheet" Target="worksheets/sheet1.xml"/>'
    f'<Relationship Id="r2" Type="{OFFICE}/sharedStrings" Target="sharedStrings.xml"/>'
    "</Relationships>"
)


def cell(place: str, text: str) -> str:
    """Return a cell with its text in it."""
    return f'<c r="{place}" t="inlineStr"><is><t>{text}</t></is></c>'


def sheet(*rows: str, size: str = "A1") -> str:
    """Return a sheet of rows."""
    return (
        f'<worksheet xmlns="{MAIN}"><dimension ref="{size}"/>'
        f"<sheetData>{''.join(rows)}</sheetData></worksheet>"
    )


def book(sheet: str | bytes, *shared: str) -> bytes:
    """Return a workbook of one sheet, and texts that its cells share."""
    texts = "".join(f"<si><t>{text}</t></si>" for text in shared)
    members: dict[str, str | bytes] = {
        "[Content_Types].xml": TYPES,
        "_rels/.rels": ROOT,
        "xl/workbook.xml": BOOK,
        "xl/_rels/workbook.xml.rels": PARTS,
        "xl/worksheets/sheet1.xml": sheet,
        "xl/sharedStrings.xml": f'<sst xmlns="{MAIN}">{texts}</sst>',
    }
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in members.items():
            archive.writestr(name, content)
    return out.getvalue()


HEADER = f'<row r="1">{cell("A1", "specimen")}{cell("B1", "stem_shape")}</row>'
