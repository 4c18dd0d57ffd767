"""Atlas pages read back: rows of the chart, outlines and entries, as a reader would take them."""

from __future__ import annotations

import re
from xml.etree import ElementTree as ET

from keygen.core.chronology import cal_bp, curve_of
from keygen.core.model import Dates, Record, Rules, Scale

OTHER: dict[Scale, Scale] = {
    "cal BP": "rcybp",
    "rcybp": "cal BP",
    "BC/AD": "bc/ad",
    "bc/ad": "BC/AD",
}


def body(page: str) -> ET.Element:
    """Return the body of a page, which has to be well-formed."""
    found = re.search(r"<body>.*</body>", page, re.DOTALL)
    assert found
    return ET.fromstring(found[0])


def of_class(element: ET.Element, tag: str, name: str) -> list[ET.Element]:
    """Return the elements of a class below another, in their order."""
    return [e for e in element.iter(tag) if name in e.get("class", "").split()]


def text(element: ET.Element) -> str:
    """Return the text of an element on one line."""
    return " ".join("".join(element.itertext()).split())


def rows(section: ET.Element) -> list[ET.Element]:
    """Return the rows of types in the charts of a section, the axes left out."""
    return [li for li in section.iter("li") if "chartrow" in li.get("class", "")]


def bar(row: ET.Element, oldest: int) -> tuple[float, float, ET.Element]:
    """Return the years before 1950 between which the bar of a row is drawn, and the bar."""
    (drawn,) = (r for r in row.iter("rect"))
    left, wide = (float(str(drawn.get(name)).rstrip("%")) for name in ("x", "width"))
    return oldest * (1 - left / 100), oldest * (1 - (left + wide) / 100), drawn


def ends(rules: Rules, record: Record) -> tuple[int, int]:
    """Return the ends of a record's range in cal BP; both readings count where it is in doubt."""
    given = record.dates
    scales = [given.scale] if given.sure else [given.scale, OTHER[given.scale]]
    read = [cal_bp(Dates(given.start, given.end, scale), curve_of(rules)) for scale in scales]
    return max(r.start for r in read), min(r.end for r in read)
