"""What `keygen types` draws: the atlas, pages and outlines of types, pictures in the terminal."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING

from keygen.errors import KeygenError, Problem

if TYPE_CHECKING:
    from keygen.core.model import Rules, Type

COLUMNS, ROWS = 20, 12  # characters of a picture


class Form(StrEnum):
    """What types are made into."""

    TEXT = "text"
    HTML = "html"
    SVG = "svg"
    ATLAS = "atlas"


_BY_ENDING = {".html": Form.HTML, ".htm": Form.HTML, ".svg": Form.SVG}


def form_of(given: Form | None, out: Path | None) -> Form:
    """Return what is asked for: as given, else by the ending of the file."""
    return given or _BY_ENDING.get(out.suffix.lower() if out else "", Form.TEXT)


def fault(code: str, what: str, remedy: str = "") -> KeygenError:
    """Return an error of the command line."""
    return KeygenError(Problem("", 0, 0, code, what, remedy))


def atlas_of(rules: Rules, regions: Sequence[str], folder: Path | None = None) -> str:
    """Return the atlas of some regions, or of all, as an HTML page.

    Args:
        folder: a folder of the user's own templates, if any.

    Raises:
        KeygenError: no type is known in a region, or a template cannot be used.
    """
    from keygen.pictures.atlas import atlas
    from keygen.pictures.atlaspage import atlas_html

    for name in regions:
        if not rules.in_region(name):
            raise fault("K723", f"no type is known in {name}", "`keygen types` lists types.")
    known = [name for name in rules.regions if rules.in_region(name)]
    return atlas_html(atlas(rules, regions or known, folder), folder)


def drawn(
    rules: Rules, kinds: Sequence[Type], form: Form, region: str, folder: Path | None = None
) -> str:
    """Return one type, or two side by side, as an HTML page or an SVG picture.

    Args:
        region: the one region whose record is shown; all if empty.
        folder: a folder of the user's own templates, if any.

    Raises:
        KeygenError: the hafts of the vocabulary cannot be drawn, or a template cannot be used.
    """
    from keygen.pictures.typehtml import pair_html, pair_svg, type_html, type_svg

    one, other = kinds[0], kinds[1] if len(kinds) > 1 else None
    if form is Form.HTML:
        if other:
            return pair_html(rules, one, other, folder)
        return type_html(rules, one, region, folder)
    picture = pair_svg(rules, one, other) if other else type_svg(rules, one)
    if not picture:
        raise fault("K724", "no outline: the hafts of this vocabulary cannot be drawn")
    return picture + "\n"


def in_signs(rules: Rules, kinds: Sequence[Type], asked: bool | None) -> str:
    """Return the outlines of types for the terminal, with a blank line below; or nothing.

    Args:
        asked: whether pictures were asked for; None shows them where a terminal can.
    """
    from keygen.cli.sights import has_signs

    if asked is False or not (has_signs(sys.stdout) and (asked or sys.stdout.isatty())):
        return ""
    from keygen.pictures.atlasentry import outlined
    from keygen.pictures.blocks import blocks, side_by_side
    from keygen.pictures.terminal import alike

    found = [picture for kind in kinds if (picture := outlined(rules, kind))]
    if len(found) == 2:
        found = list(alike(*found))
    lines: tuple[str, ...] = ()
    for picture in found:
        shown = blocks(picture, COLUMNS, ROWS)
        lines = side_by_side(lines, shown) if lines else shown
    text = "\n".join(line.replace("\u2800", " ").rstrip() for line in lines)
    said = "schematic from coded attributes" + (", one scale" if len(found) == 2 else "")
    return f"{text}\n({said})\n\n" if found else ""
