"""The document model: numbers, anchors, and what can be printed."""

from __future__ import annotations

import pytest

from keygen.collection.document import (
    Bar,
    Figure,
    Heading,
    Paragraph,
    Table,
    assembled,
    line,
    printable,
)

TABLE = Table("Table", "c", ("a",), (("b",),), (1,))
FIGURE = Figure("Figure", "c", "alt", ("s",), (Bar("b", (2,)),))


def test_numbers_run_apart() -> None:
    """Tables and figures are numbered in order, each kind by itself."""
    done = assembled("T", "Contents", [TABLE, FIGURE, Paragraph("p"), TABLE])
    assert [b.number for b in done.blocks if isinstance(b, Table | Figure)] == [1, 1, 2]


def test_anchors_are_unique() -> None:
    """Headings of one text get anchors of their own, and none takes that of the contents."""
    texts = ("Kirk", "kirk", "Kirk 1", "Kirk", "Contents", "¿?", "St. Albans, var. A")
    done = assembled("T", "Contents", [Heading(text, 1) for text in texts])
    anchors = [h.anchor for h in done.listed]
    assert anchors == [
        *("kirk", "kirk-1", "kirk-1-1", "kirk-2", "contents-1"),
        *("part", "st-albans-var-a"),
    ]


def test_specimens_stay_out_of_the_contents() -> None:
    """Only headings that are listed are named by the contents."""
    done = assembled("T", "C", [Heading("A", 1), Heading("VS-1", 2, listed=False)])
    assert [h.text for h in done.listed] == ["A"]
    assert [kind for kind, _ in done.kinds] == ["heading", "heading"]


@pytest.mark.parametrize("code", [0, 7, 11, 27, 127, 0x9B, 0xD800, 0xFFFE, 0xFFFF])
def test_control_characters(code: int) -> None:
    """A control character or half a pair is shown as U+FFFD."""
    assert printable(f"a{chr(code)}b") == "a\ufffdb"


def test_text_that_can_be_printed() -> None:
    """Letters of any script, tabs and line ends stay; signs that turn the line go."""
    assert printable("Ré\t中\n\U0001f600") == "Ré\t中\n\U0001f600"
    assert printable("a\u202eb\u2066c") == "abc"
    assert line(" a \n b\u2028c\x85d ") == "a b c d"
