"""The report as Markdown: tables, bars in signs, and nothing of the data read as markup."""

from __future__ import annotations

import re

import pytest

from keygen.collection.as_markdown import markdown
from keygen.collection.document import (
    Bar,
    Figure,
    Heading,
    Items,
    Paragraph,
    Table,
    assembled,
)
from keygen.collection.report import write_report
from keygen.core.examine import AnalystCall
from tests.collection.reported import TAPERED, row
from tests.prose import pieces


def _told(text: str) -> str:
    """Return a text as a paragraph of Markdown."""
    return (
        markdown(assembled("T", "C", [Paragraph(text), Heading("H", 1)])).decode().splitlines()[2]
    )


@pytest.mark.parametrize(
    ("text", "written"),
    [
        ("a|b*c_d`e`~f~", r"a\|b\*c\_d\`e\`\~f\~"),
        ("<b>[x](y)", r"\<b>\[x\](y)"),
        ("&lt; &#60; A & B", r"\&lt; \&#60; A & B"),
        ("# head", r"\# head"),
        ("- item", r"\- item"),
        ("Cat. #12 and #", r"Cat. #12 and \#"),
        ("$x$", r"\$x\$"),
        ("see https://example.org", r"see https\://example.org"),
        ("see www.example.org", r"see www\.example.org"),
        ("a@example.org @ 4 cm", "a<!---->@example.org @ 4 cm"),
        ("two\nlines\x07", "two lines\ufffd"),
    ],
)
def test_text_stays_text(text: str, written: str) -> None:
    """Signs of Markdown, names of characters and addresses are shown as written."""
    assert _told(text) == written


def test_table() -> None:
    """A table has its caption above, figures to the right, and its note below."""
    table = Table("Table", "Of it", ("a", "b"), (("x|y", "1"),), (1, 1), frozenset({1}), note="N.")
    text = markdown(assembled("T", "C", [table])).decode()
    assert "Table 1. Of it\n\n| a | b |\n|---|---:|\n| x\\|y | 1 |\n\nN.\n" in text


def test_bars() -> None:
    """Bars are drawn in signs to one scale, each with its sum, in a block of plain text."""
    bars = (Bar("one", (80, 20)), Bar("three", (0, 1)), Bar("```", (0, 50)))
    text = markdown(assembled("T", "C", [Figure("Figure", "c", "a", ("s", "t"), bars)])).decode()
    assert f"````text\none    {'#' * 32}{'+' * 8} 100\nthree  + 1\n```    {'+' * 20} 50\n" in text
    assert text.endswith("# s   + t\n````\n")


def test_contents_link_to_headings() -> None:
    """The contents stand before the first heading and lead to each by its text."""
    blocks = (Paragraph("First."), Heading("A b", 1), Heading("C", 2), Items(("w",)))
    text = markdown(assembled("T", "Contents", blocks)).decode()
    assert text == (
        "# T\n\nFirst.\n\n## Contents\n\n- [A b](#a-b)\n  - [C](#c)\n\n## A b\n\n### C\n\n- w\n"
    )


def test_markup_in_a_record() -> None:
    """Signs of Markdown in what an analyst wrote are printed and do not mark anything up."""
    given = row(
        "east",
        label="a|b*",
        details={"material": "chert_<b>"},
        analyst=AnalystCall("own | name", "of `this`"),
        **TAPERED,
    )
    text = write_report(pieces.rules(), [given], ".md", "*T*", "").decode()
    assert text.startswith("# \\*T\\*\n")
    assert "### a\\|b\\*\n" in text
    assert "chert\\_\\<b>" in text
    assert "the analyst: own \\| name |" in text


def test_without_region_and_number() -> None:
    """A piece without region has no call and no counts, and one without number says so."""
    text = write_report(pieces.rules(), [row(**TAPERED)], ".md", "T", "").decode()
    assert "### Without a number (row 2)\n" in text
    assert "| Without a number (row 2) | not given | not recorded | no region, no call |" in text
    assert "research region (" not in text
    assert not re.search("^Figure", text, re.M)
