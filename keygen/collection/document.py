"""A document before it is written: headings, paragraphs, tables, figures and lists.

A writer (`as_markdown`, `as_html`, `as_docx`) turns one `Document` into one kind of file. Texts are
plain text; what a format reads as markup, and signs that it cannot hold, are each writer's care.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from itertools import count

from keygen.pictures.svg import Drawing

LANGUAGE = "en-GB"
# What XML 1.0 cannot hold, with the C1 controls, which it only frowns upon.
_UNPRINTABLE = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x84\x86-\x9f\ud800-\udfff\ufffe\uffff]", re.UNICODE
)
_OVERRIDES = re.compile("[\u202a-\u202e\u2066-\u2069]")  # these make text read as it is not


@dataclass(frozen=True)
class Heading:
    """A heading: level 1 is a section, and `anchor` its name in links, unique in the document.

    Headings of single specimens are not `listed` among the contents.
    """

    text: str
    level: int
    listed: bool = True
    anchor: str = ""


@dataclass(frozen=True)
class Paragraph:
    """A paragraph of running text, or a note in small print.

    Attributes:
        picture: an outline that stands beside it; Markdown has none.
        on_pictures: it speaks of the outlines and is left out where there are none.
    """

    text: str
    note: bool = False
    picture: Drawing | None = None
    on_pictures: bool = False


@dataclass(frozen=True)
class Items:
    """A list of texts: works cited, with a hanging first line."""

    texts: tuple[str, ...]


@dataclass(frozen=True)
class Table:
    """A table with a numbered caption.

    Attributes:
        label: what stands before the number: `Table`.
        shares: the width of each column against the others.
        figures: the columns that hold figures, which stand to the right.
        sums: how many rows at the end sum up and stand apart.
        wide: whether it needs a page lying on its side.
        note: what stands below it in small print.
    """

    label: str
    caption: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    shares: tuple[int, ...]
    figures: frozenset[int] = frozenset()
    sums: int = 0
    wide: bool = False
    note: str = ""
    number: int = 0


@dataclass(frozen=True)
class Bar:
    """One bar of a figure: a count for each series, laid end to end."""

    label: str
    parts: tuple[int, ...]

    @property
    def length(self) -> int:
        """Return the sum of its parts."""
        return sum(self.parts)


@dataclass(frozen=True)
class Figure:
    """Bars with a numbered caption; `alt` says in words what they show."""

    label: str
    caption: str
    alt: str
    series: tuple[str, ...]
    bars: tuple[Bar, ...]
    number: int = 0

    @property
    def longest(self) -> int:
        """Return the length of the longest bar, at least 1."""
        return max((bar.length for bar in self.bars), default=0) or 1


Block = Heading | Paragraph | Items | Table | Figure


@dataclass(frozen=True)
class Document:
    """A whole document; `contents` is the heading of its list of contents."""

    title: str
    contents: str
    blocks: tuple[Block, ...]

    @property
    def kinds(self) -> tuple[tuple[str, Block], ...]:
        """Return each block with its kind, by which a template tells them apart."""
        return tuple((type(block).__name__.lower(), block) for block in self.blocks)

    @property
    def listed(self) -> tuple[Heading, ...]:
        """Return the headings that the list of contents names."""
        return tuple(b for b in self.blocks if isinstance(b, Heading) and b.listed)


def assembled(title: str, contents: str, blocks: Iterable[Block]) -> Document:
    """Return a document whose tables and figures are numbered and whose headings have anchors."""
    tables, figures = count(1), count(1)
    taken = {slug(contents)}
    done: list[Block] = []
    for block in blocks:
        if isinstance(block, Heading):
            anchor = _free(slug(block.text), taken)
            taken.add(anchor)
            done.append(replace(block, anchor=anchor))
        elif isinstance(block, Table):
            done.append(replace(block, number=next(tables)))
        elif isinstance(block, Figure):
            done.append(replace(block, number=next(figures)))
        else:
            done.append(block)
    return Document(title, contents, tuple(done))


def slug(text: str) -> str:
    """Return a text as a name for links: small letters, digits, `-` and `_`."""
    return re.sub(r"[^\w-]", "", re.sub(r"\s+", "-", text.strip().lower())) or "part"


def _free(name: str, taken: set[str]) -> str:
    """Return a name that nothing has yet: the name, or with a number."""
    if name not in taken:
        return name
    return next(other for i in count(1) if (other := f"{name}-{i}") not in taken)


def printable(text: str) -> str:
    """Return a text without control characters: each is shown as U+FFFD.

    Signs that turn the direction of reading are left out, so that a text reads as it is.
    """
    return _OVERRIDES.sub("", _UNPRINTABLE.sub("\ufffd", text))


def line(text: str) -> str:
    """Return a text on one line, printable."""
    return printable(" ".join(text.split()))
