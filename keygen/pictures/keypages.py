"""The printed key as one HTML page: no script, no font, no picture from afar; made for paper.

The style sheet lays it out on A5 or half-letter pages with edition and digest at the foot; no
couplet is split over two pages.
"""

from __future__ import annotations

from collections.abc import Mapping

from keygen.core.model import Rules
from keygen.pictures.keybook import Book, paragraphs
from keygen.pictures.keyregion import RegionBook
from keygen.pictures.leads import lead_pictures
from keygen.pictures.outline import outline
from keygen.prose.render import render

# Width and height of the sheet, as a style sheet has them.
PAPERS: Mapping[str, str] = {"a5": "148mm 210mm", "half-letter": "5.5in 8.5in"}
_LEAD, _ICON = "84px", "42px"  # heights of the pictures where no style sheet says otherwise


def book_html(rules: Rules, book: Book, paper: str) -> str:
    """Return the printed key as an HTML page.

    Args:
        paper: a key of `PAPERS`.
    """
    values = {
        "book": book,
        "count": sum(len(section.couplets) for section in book.sections),
        "how": (*book.how, *paragraphs("key/how_pictures.j2", {})),
        "pictures": lead_pictures(rules, _LEAD).leads,
    }
    foot = f"Key to chipped-stone points - edition {book.edition} - digest {book.digest}"
    return _page("key/book.html.j2", values, foot, paper)


def region_html(rules: Rules, book: RegionBook, paper: str) -> str:
    """Return the printed key to a region's types as an HTML page.

    Args:
        paper: a key of `PAPERS`.
    """
    kinds = {row.type: rules.types[row.type] for group in book.groups for row in group.rows}
    values = {
        "book": book,
        "how": book.how,
        "pictures": {
            name: outline(rules, kind, icon=True, height=_ICON) for name, kind in kinds.items()
        },
    }
    foot = f"Key to the types: {book.label} - edition {book.edition} - digest {book.digest}"
    return _page("key/region.html.j2", values, foot, paper)


def _page(template: str, values: dict[str, object], foot: str, paper: str) -> str:
    return render(template, {**values, "paper": PAPERS[paper], "foot": quoted(foot)}) + "\n"


def quoted(text: str) -> str:
    """Return a text as it stands inside a string of a style sheet.

    Whatever is not plain is written as its number, so that no text can end the string or the style.
    """
    return "".join(
        sign if sign.isascii() and (sign.isalnum() or sign in " .,:-") else f"\\{ord(sign):06x}"
        for sign in text
    )
