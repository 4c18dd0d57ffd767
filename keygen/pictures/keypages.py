"""The printed key as one HTML page: no script, no font, no picture from afar; made for paper.

The style sheet lays it out on A5 or half-letter pages with edition and digest at the foot; no
couplet is split over two pages.
"""

from __future__ import annotations

from collections.abc import Mapping

from keygen.core.model import Rules
from keygen.pictures.keybook import Book, paragraphs
from keygen.pictures.keyregion import RegionBook
from keygen.pictures.kindred import drawable
from keygen.pictures.leads import LeadPictures, lead_pictures
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
    made = lead_pictures(rules, _LEAD)
    numbers = {name: str(couplet.number) for name, couplet in rules.couplets.items()}
    values = {
        "book": book,
        "count": sum(len(section.couplets) for section in book.sections),
        "how": (*book.how, *_how_drawn(made, numbers)),
        "pictures": made.leads,
    }
    foot = f"Key to chipped-stone points - edition {book.edition} - digest {book.digest}"
    return _page("key/book.html.j2", values, foot, paper)


def region_html(rules: Rules, book: RegionBook, paper: str) -> str:
    """Return the printed key to a region's types as an HTML page.

    Args:
        paper: a key of `PAPERS`.
    """
    kinds = {row.type: rules.types[row.type] for group in book.groups for row in group.rows}
    made = lead_pictures(rules, _LEAD, [couplet.couplet for couplet in book.couplets])
    icons = {}
    if drawable(rules):
        icons = {
            name: outline(rules, kind, icon=True, height=_ICON) for name, kind in kinds.items()
        }
    values = {
        "book": book,
        "how": (*book.how, *_how_drawn(made, {name: name for name in made.without})),
        "leads": made.leads,
        "pictures": icons,
    }
    foot = f"Key to the types: {book.label} - edition {book.edition} - digest {book.digest}"
    return _page("key/region.html.j2", values, foot, paper)


def _how_drawn(made: LeadPictures, numbers: Mapping[str, str]) -> tuple[str, ...]:
    """Return how to read the pictures, and which couplets have none and why."""
    without: dict[str, list[str]] = {}
    for name, reason in made.without.items():
        without.setdefault(reason, []).append(numbers[name])
    values = {"drawn": bool(made.leads), "without": without}
    return paragraphs("key/how_pictures.j2", values)


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
