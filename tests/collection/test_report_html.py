"""The HTML page: well-formed, self-contained, escaped, and readable without seeing the bars."""

from __future__ import annotations

import re
from html.parser import HTMLParser
from itertools import pairwise

import pytest

from keygen.collection.as_html import plot
from keygen.collection.document import Bar, Figure
from keygen.collection.model import Fault
from keygen.collection.report import write_report
from keygen.core.examine import AnalystCall
from tests.collection.reported import NOTCHED, TAPERED, row
from tests.prose import pieces

EVIL = "<script>alert(1)</script>\"'&amp;\x07"
VOID = {"meta", "rect"}


class Page(HTMLParser):
    """A page read by the standard library's parser: tags, attributes and text."""

    def __init__(self, data: bytes) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[str] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.text = ""
        self.feed(data.decode("utf-8"))
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note a tag."""
        self.tags.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note a tag that closes itself."""
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        """Close the innermost tag, which must be this one."""
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        """Keep the text, but for the style sheet's."""
        if self.open and self.open[-1] != "style":
            self.text += data


@pytest.fixture(scope="module")
def page() -> Page:
    """Return the page of some rows, all of whose texts try to be markup."""
    evil = pieces.rules()
    rows = [
        row(
            "east",
            label=f"a{EVIL}",
            faults=(Fault(2, EVIL, EVIL, EVIL, EVIL),),
            details={"material": EVIL, "site": EVIL},
            analyst=AnalystCall(EVIL, EVIL, EVIL),
            **TAPERED,
        ),
        row("east", label="b https://example.org www.example.org", **NOTCHED),
    ]
    return Page(write_report(evil, rows, ".html", EVIL, "provenience", preface=EVIL))


def test_every_tag_is_closed(page: Page) -> None:
    """Each element is closed inside the one that holds it."""
    assert page.open == []
    assert page.tags[0] == ("html", {"lang": "en-GB"})


def test_nothing_is_run_or_fetched(page: Page) -> None:
    """No script, no handler, and no address but places on the page itself."""
    tags = {tag for tag, _ in page.tags}
    assert not tags & {"script", "link", "iframe", "img", "object", "embed", "form", "base"}
    names = {name for _, attrs in page.tags for name in attrs}
    assert not any(name.startswith("on") for name in names)
    assert not names & {"src", "srcset", "action", "style", "xlink:href"}
    targets = [attrs["href"] for _, attrs in page.tags if "href" in attrs]
    assert targets
    assert all(str(target).startswith("#") for target in targets)


def test_links_lead_somewhere(page: Page) -> None:
    """Every link and label names an element of the page, and no name is given twice."""
    ids = [attrs["id"] for _, attrs in page.tags if "id" in attrs]
    assert len(ids) == len(set(ids))
    named = {str(a["href"])[1:] for _, a in page.tags if "href" in a}
    named |= {str(a["aria-labelledby"]) for _, a in page.tags if "aria-labelledby" in a}
    assert named <= set(ids)


def test_texts_are_shown_as_written(page: Page) -> None:
    """What looks like markup is text, and a control character is shown as U+FFFD."""
    shown = EVIL.replace("\x07", "\ufffd")
    assert page.text.count(shown) >= 8
    assert "\x07" not in page.text


def test_headings_skip_no_level(page: Page) -> None:
    """Headings go down by one level at a time, from a single first one."""
    levels = [int(tag[1]) for tag, _ in page.tags if re.fullmatch("h[1-6]", tag)]
    assert levels.count(1) == 1
    assert all(after <= before + 1 for before, after in pairwise(levels))


def test_tables_name_rows_and_columns(page: Page) -> None:
    """Every table has a caption, heads of columns, and a head in each row."""
    tags = [tag for tag, _ in page.tags]
    scopes = [attrs["scope"] for tag, attrs in page.tags if tag == "th"]
    assert tags.count("caption") == tags.count("table") == tags.count("thead")
    assert scopes.count("row") == tags.count("tr") - tags.count("thead")


def test_bars_are_drawn_to_scale() -> None:
    """The parts of a bar lie end to end, and their widths stand as their counts."""
    drawn = plot(Figure("Figure", "c", "a", ("s", "t"), (Bar("x", (3, 1)), Bar("y", (0, 2)))))
    (whole, half) = drawn.bars
    assert [p.series for p in whole.parts] == [0, 1]
    assert whole.parts[0].width == 3 * whole.parts[1].width
    assert whole.parts[1].x == whole.parts[0].x + whole.parts[0].width
    assert half.parts[0].width * 2 == sum(p.width for p in whole.parts)
    assert half.parts[0].x == whole.parts[0].x == drawn.labels
    assert whole.end < drawn.width
    assert drawn.key[-1].y < drawn.height
