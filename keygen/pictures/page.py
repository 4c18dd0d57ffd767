"""The pocket page: the whole key in one HTML file that needs no network and no program.

The script in `templates/page/` does what the core does, on the same compiled rules; tests hold the
two against each other. Nothing may be loaded from elsewhere: the page's policy allows its own
script and style, by their digests, and nothing else.
"""

from __future__ import annotations

import json
from base64 import b64encode
from collections.abc import Iterator, Sequence
from hashlib import sha256

from markupsafe import Markup

from keygen import data
from keygen.core.model import Rules
from keygen.pictures.kindred import drawable
from keygen.pictures.leads import lead_drawing, why_not
from keygen.pictures.outline import drawing
from keygen.pictures.pagedata import page_data
from keygen.pictures.svg import Drawing, body, number
from keygen.prose.render import render

# In the order in which they build on one another.
SCRIPTS = (
    *("sets", "walk", "seen", "measure", "call", "words", "record", "zip", "store", "engine"),
    *("elements", "view", "form", "page"),
)
LEAD = (112.0, 128.0)  # the room of a picture, across and down, in pixels
ICON = (40.0, 52.0)


def page(rules: Rules, regions: Sequence[str] = ()) -> str:
    """Return the pocket page as HTML.

    Args:
        rules: the rules.
        regions: ids of the regions that a piece can be called for; all of them if none is given.
    """
    regions = tuple(regions) or tuple(rules.regions)
    style = f"\n{_text('page.css')}"
    script = (
        "\n'use strict';\n(() => {\n" + "\n".join(_text(f"{s}.js") for s in SCRIPTS) + "})();\n"
    )
    policy = (
        f"default-src 'none'; script-src {_hash(script)}; style-src {_hash(style)}; "
        "base-uri 'none'; form-action 'none'"
    )
    values = {
        "policy": policy,
        "title": _title(rules, regions),
        "style": Markup(style),  # noqa: S704  # our own file
        "script": Markup(script),  # noqa: S704  # our own files
        "rules": Markup(_json(page_data(rules, regions))),  # noqa: S704  # escaped there
        "pictures": list(_pictures(rules, regions)),
    }
    return render("page/page.html.j2", values)


def _title(rules: Rules, regions: Sequence[str]) -> str:
    if len(regions) == 1:
        return f"Key to points: {rules.regions[regions[0]].label}"
    return f"Key to points: {len(regions)} regions"


def _text(name: str) -> str:
    return data.root("templates").joinpath("page", name).read_text(encoding="utf-8")


def _hash(content: str) -> str:
    """Return what a policy calls a script or style by: the digest of its characters."""
    return f"'sha256-{b64encode(sha256(content.encode()).digest()).decode()}'"


def _json(content: object) -> str:
    """Return data as JSON that can stand inside a script element."""
    text = json.dumps(content, ensure_ascii=False, separators=(",", ":"))
    return text.replace("<", "\\u003c").replace("\u2028", "\\u2028").replace("\u2029", "\\u2029")


def _pictures(rules: Rules, regions: Sequence[str]) -> Iterator[tuple[str, Markup]]:
    """Return the pictures of leads, both of a couplet to one scale, and of the types."""
    for couplet in rules.couplets.values():
        if why_not(rules, couplet):
            continue
        drawn = [lead_drawing(rules, couplet, lead) for lead in couplet.leads]
        scale = min(_fitting(d, LEAD) for d in drawn)
        for lead, d in zip(couplet.leads, drawn, strict=True):
            yield f"{couplet.number}{lead.letter}", _svg(d, scale)
    if not drawable(rules):
        return
    shown = {kind.id: kind for region in regions for kind in rules.in_region(region)}
    for name, kind in sorted(shown.items()):
        icon = drawing(rules, kind, icon=True)
        yield f"type {name}", _svg(icon, _fitting(icon, ICON))


def _fitting(drawn: Drawing, room: tuple[float, float]) -> float:
    """Return how many pixels a millimetre can have so that a drawing fits into some room."""
    left, bottom, right, top = drawn.box
    return min(room[0] / (right - left), room[1] / (top - bottom))


def _svg(drawn: Drawing, scale: float) -> Markup:
    left, bottom, right, top = drawn.box
    wide, high = right - left, top - bottom
    view = " ".join(number(value) for value in (left, -top, wide, high))
    size = f'width="{number(wide * scale)}" height="{number(high * scale)}"'
    text = f'<svg {size} viewBox="{view}" aria-hidden="true">{body(drawn)}</svg>'
    return Markup(text)  # noqa: S704  # its texts are escaped where it is drawn
