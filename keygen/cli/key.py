"""`keygen key`: the printed key, its graph, the key to a region's types, and the pocket page."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from enum import StrEnum
from typing import TYPE_CHECKING, Annotated

import typer

from keygen.cli.guard import guarded
from keygen.cli.options import OutOption, RulesOption, regions_for
from keygen.cli.put import put
from keygen.errors import KeygenError, Problem

if TYPE_CHECKING:
    from keygen.core.model import Rules


class Form(StrEnum):
    """What the key is made into."""

    HTML = "html"
    TEXT = "text"
    SVG = "svg"
    DOT = "dot"
    PAGE = "page"


class Paper(StrEnum):
    """The sheet that the HTML is laid out for."""

    A5 = "a5"
    HALF_LETTER = "half-letter"


AsOption = Annotated[
    Form,
    typer.Option(
        "--as",
        help="html: pages to print; text: for a terminal or a text printer; svg: a drawing of the "
        "graph; dot: the graph in the DOT language; page: one file to walk the key on a "
        "phone, tablet or laptop, without a network.",
    ),
]
RegionsOption = Annotated[list[str] | None, regions_for("page")]
PaperOption = Annotated[
    Paper | None, typer.Option("--paper", help="The sheet for --as html; a5 if not given.")
]


@guarded
def key(
    form: AsOption = Form.TEXT,
    region: RegionsOption = None,
    paper: PaperOption = None,
    out: OutOption = None,
    rules_folder: RulesOption = None,
) -> None:
    """Print the key or draw it, key out one region's types, or make the page for a phone.

    With --region a key to the types known there is worked out from their definitions.

    Example: keygen key --as html --out key.html

    Example: keygen key --as page -r ozarks --out key-ozarks.html
    """
    from keygen.cli.gather import known_region, rules_from

    rules = rules_from(rules_folder)
    regions = tuple(dict.fromkeys(known_region(rules, name) for name in region or ()))
    where = regions[0] if regions else ""
    if paper and form is not Form.HTML:
        raise _fault("K701", "--paper is for --as html only", "")
    if where and form in (Form.SVG, Form.DOT):
        forms = "The key to a region's types comes as html and text."
        raise _fault("K702", f"--as {form} draws the descriptive key, without --region", forms)
    for name in regions:
        if not rules.in_region(name):
            raise _fault("K703", f"no type is known in {name}", "`keygen types` lists types.")
    if len(regions) > 1 and form is not Form.PAGE:
        several = f"{len(regions)} regions are given, and --as {form} is for one"
        raise _fault("K704", several, "Several go with --as page.")
    if form is Form.PAGE:
        text = _page(rules, regions)
    else:
        text = _MAKERS[form](rules, where, paper or Paper.A5)
    put(text, out)


def _fault(code: str, what: str, remedy: str) -> KeygenError:
    return KeygenError(Problem("", 0, 0, code, what, remedy))


def _html(rules: Rules, region: str, paper: Paper) -> str:
    from keygen.pictures.keybook import book
    from keygen.pictures.keypages import book_html, region_html
    from keygen.pictures.keyregion import region_book

    if region:
        return region_html(rules, region_book(rules, region), paper)
    return book_html(rules, book(rules), paper)


def _text(rules: Rules, region: str, _paper: Paper) -> str:
    from keygen.pictures.keybook import book
    from keygen.pictures.keyregion import region_book
    from keygen.pictures.keytext import book_text, region_text

    return region_text(region_book(rules, region)) if region else book_text(book(rules))


def _svg(rules: Rules, _region: str, _paper: Paper) -> str:
    from keygen.pictures.keygraph import svg

    return svg(rules)


def _dot(rules: Rules, _region: str, _paper: Paper) -> str:
    from keygen.pictures.keygraph import dot

    return dot(rules)


def _page(rules: Rules, regions: Sequence[str]) -> str:
    from keygen.pictures.page import page

    return page(rules, regions)


_MAKERS: dict[Form, Callable[[Rules, str, Paper], str]] = {
    Form.HTML: _html,
    Form.TEXT: _text,
    Form.SVG: _svg,
    Form.DOT: _dot,
}
