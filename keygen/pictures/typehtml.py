"""One type, or two side by side, as an HTML page with outlines that needs nothing else."""

from __future__ import annotations

from pathlib import Path

from keygen.core.model import Rules, Type
from keygen.pictures.atlas import end_of_axis
from keygen.pictures.atlasentry import Entry, caveat, entry, outlined
from keygen.pictures.atlaspage import axis, bar_svg
from keygen.pictures.kindred import drawable
from keygen.pictures.outline import outline
from keygen.pictures.scale import row
from keygen.prose.compare import compare, comparison
from keygen.prose.grammar import sentence
from keygen.prose.render import render
from keygen.prose.typepage import cautions, definition, support, usual


def type_html(rules: Rules, kind: Type, region: str = "", folder: Path | None = None) -> str:
    """Return a type as an HTML page: its outline, definition, ranges by region, look-alikes.

    Args:
        region: the one region whose record is shown; all, oldest first, if not given.
        folder: a folder of the user's own templates, if any.

    Raises:
        KeygenError: a template cannot be used.
    """
    entries = [
        (rules.regions[record.region].label, entry(rules, kind, record, None, {}, folder))
        for record in kind.records
        if region in ("", record.region)
    ]
    entries.sort(key=lambda each: _by_age(each[1]))
    oldest = end_of_axis(e.bar for _, e in entries)
    scale = axis(oldest)
    values = {
        "kind": kind,
        "entries": entries,
        "axis": scale,
        "bars": [bar_svg(e.bar, oldest, scale) if e.bar else "" for _, e in entries],
        "picture": type_svg(rules, kind),
        "caveat": caveat(rules, kind),
        "definition": definition(rules, kind, folder),
        "usual": usual(rules, kind, folder),
        "support": support(rules, kind, folder),
        "alike": [(rules.types[a.type].name, sentence(a.tell)) for a in kind.look_alikes],
        "note": sentence(kind.note),
        "caution": cautions(rules),
        "edition": rules.edition,
        "digest": rules.digest,
    }
    return render("types/type.html.j2", values, folder) + "\n"


def pair_html(rules: Rules, one: Type, other: Type, folder: Path | None = None) -> str:
    """Return two types side by side as an HTML page: both outlines at one scale, what parts them.

    Args:
        folder: a folder of the user's own templates, if any.

    Raises:
        KeygenError: a template cannot be used.
    """
    values = {
        "kinds": (one, other),
        "picture": pair_svg(rules, one, other),
        "caveats": [(k.name, caveat(rules, k)) for k in (one, other) if caveat(rules, k)],
        "told": comparison(rules, compare(rules, one, other), folder),
        "caution": cautions(rules),
        "edition": rules.edition,
        "digest": rules.digest,
    }
    return render("types/pair.html.j2", values, folder) + "\n"


def type_svg(rules: Rules, kind: Type) -> str:
    """Return the outline of a type at its true size, with a bar where a size is recorded.

    Empty where the pictures do not know the hafts of the vocabulary.
    """
    return outline(rules, kind, caption=True) if drawable(rules) else ""


def pair_svg(rules: Rules, one: Type, other: Type) -> str:
    """Return two outlines side by side at one scale, with one bar; empty as `type_svg`."""
    drawn = [found for kind in (one, other) if (found := outlined(rules, kind))]
    return row(drawn, title=f"{one.name} and {other.name}") if drawn else ""


def _by_age(found: Entry) -> tuple[int, int]:
    return (-found.bar.start, -found.bar.end) if found.bar else (1, 1)
