"""A tally as text, CSV, JSON, HTML and SVG, and how specimens come to be counted in it."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Mapping, Sequence

from markupsafe import Markup

from keygen.assemblage.plots import centred_bars
from keygen.assemblage.tally import Sharing, Tally, wilson
from keygen.collection.safety import marked
from keygen.core.examine import Examination
from keygen.core.model import Rules
from keygen.errors import KeygenError, nearest
from keygen.prose.grammar import plain
from keygen.prose.render import render

CELLS = "Count, per cent of the group, and in brackets the 95 % interval of the per cent (Wilson)"
UNTYPED = "untyped"
MOST_ACROSS = 6  # categories; a table of more has a row for each on a page
MOST_DRAWN = 12
WIDEST = 120  # characters; a wider table is printed as a list
SUBJECTS = ("type", "period", "status")
HOW_SHARED: dict[Sharing, str] = {
    "apart": "specimens that can be one of several are counted apart, under all their names",
    "fraction": (
        "specimens that can be one of several are shared out in equal parts, a cf. as its type"
    ),
}


def check_subject(rules: Rules, of: str) -> None:
    """Refuse what cannot be counted.

    Raises:
        KeygenError: `of` is neither type, period or status, nor the id of an attribute.
    """
    if of not in SUBJECTS and of not in rules.index:
        known = (*SUBJECTS, *rules.index)
        raise KeygenError(
            f"{of!r} cannot be counted. {nearest(of, known)} "
            "Give type, period, status or an attribute.".replace("  ", " ")
        )


def categories(
    rules: Rules, examination: Examination, of: str, sharing: Sharing = "apart"
) -> tuple[str, ...]:
    """Return the categories that a specimen can belong to; none if nothing was recorded.

    Args:
        rules: the rules.
        examination: the specimen.
        of: type, period or status of the call, or the id of an attribute.
        sharing: a `cf.` is a category of its own where the doubtful are counted apart.
    """
    if of in rules.index:
        i = rules.index[of]
        found = examination.observations[i]
        attribute = rules.attributes[i]
        if found.mask == attribute.full or found.how == "missing":
            return ()
        return tuple(plain(state.term) for state in attribute.within(found.mask))
    call = examination.call
    if call is None:
        return ()
    if of == "status":
        return (call.status,)
    if not call.types:
        return (UNTYPED,)
    if of == "type":
        cf = "cf. " if call.status == "cf." and sharing == "apart" else ""
        return tuple(f"{cf}{rules.types[name].name}" for name in call.types)
    records = (rules.types[name].record(call.region) for name in call.types)
    return tuple(dict.fromkeys(r.period for r in records if r is not None))


def label(rules: Rules, of: str) -> str:
    """Return what is counted, in words."""
    return plain(rules.attributes[rules.index[of]].label) if of in rules.index else of


def title(rules: Rules, of: str, by: str) -> str:
    """Return the title of a table."""
    return f"{label(rules, of)[:1].upper()}{label(rules, of)[1:]} by {by}"


def text(table: Tally, name: str, of: str) -> str:
    """Return a table as plain text: counts, per cent and the 95 % interval of each share."""
    body = rows(table)
    widths = [max(len(row[i]) for row in body) for i in range(len(body[0]))]
    if sum(widths) + 2 * len(widths) > WIDEST:
        return "\n".join([name, "", *_listed(table), "", *notes(table, of)])
    lines = [
        "  ".join(
            cell.rjust(width) if i else cell.ljust(width)
            for i, (cell, width) in enumerate(zip(row, widths, strict=True))
        ).rstrip()
        for row in body
    ]
    return "\n".join([name, "", *lines, "", *notes(table, of)])


def _listed(table: Tally) -> list[str]:
    """Return a table that is too wide for a screen, group by group."""
    lines = []
    for g, group in enumerate(table.groups):
        more = f", {table.unrecorded[g]} not recorded" if table.unrecorded[g] else ""
        lines.append(f"{group} (n {_figure(table.totals[g])}{more})")
        lines += [
            f"  {_cell(table, g, c)}  {category}"
            for c, category in enumerate(table.categories)
            if table.counts[g][c]
        ]
    return lines


def notes(table: Tally, of: str) -> list[str]:
    """Return what has to be said beside a table."""
    told = [
        f"{CELLS}; {HOW_SHARED[table.sharing]}.",
    ]
    if table.sharing == "fraction":
        told.append("For counts in fractions the interval is a rough guide only.")
    if of in ("type", "period"):
        told.append(
            "A type is an analyst's construct; its period is that of the type, not of each piece."
        )
    return told


def _cell(table: Tally, group: int, category: int) -> str:
    count, total = table.counts[group][category], table.totals[group]
    if not count:
        return "-"
    low, high = wilson(count, total)
    return f"{_figure(count)} {100 * count / total:.0f}% ({100 * low:.0f}-{100 * high:.0f})"


def _figure(count: float) -> str:
    return f"{count:.2f}".rstrip("0").rstrip(".")


def entries(table: Tally) -> Iterator[dict[str, object]]:
    """Yield every group and category with count, share (0 to 1) and its 95 % interval."""
    for g, group in enumerate(table.groups):
        for c, category in enumerate(table.categories):
            count, total = table.counts[g][c], table.totals[g]
            low, high = wilson(count, total) if total else (None, None)
            yield {
                "group": group,
                "category": category,
                "count": count,
                "total": total,
                "share": table.share(g, c),
                "low": low,
                "high": high,
                "not_recorded": table.unrecorded[g],
            }


def as_csv(table: Tally) -> str:
    """Return a table in long form, a line for each group and category."""
    out = io.StringIO()
    names = ("group", "category", "count", "total", "share", "low", "high", "not_recorded")
    writer = csv.DictWriter(out, names, lineterminator="\r\n")
    writer.writeheader()
    for row in entries(table):
        told = {k: "" if v is None else _csv(v) for k, v in row.items()}
        writer.writerow(
            {k: marked(v) if k in ("group", "category") else v for k, v in told.items()}
        )
    return out.getvalue()


def _csv(value: object) -> str:
    return f"{value:.4f}".rstrip("0").rstrip(".") if isinstance(value, float) else str(value)


def data(rules: Rules, table: Tally, of: str, by: str) -> dict[str, object]:
    """Return a table as mappings, lists, text and numbers."""
    return {
        "format_version": 1,
        "rules": {"edition": rules.edition, "digest": rules.digest},
        "of": of,
        "by": by,
        "sharing": table.sharing,
        "groups": list(table.groups),
        "categories": list(table.categories),
        "cells": list(entries(table)),
        "notes": notes(table, of),
    }


def rows(table: Tally) -> list[tuple[str, ...]]:
    """Return a table as text cells, its head first: a column a category, then n, then the rest."""
    more = any(table.unrecorded)
    found = [("", *table.categories, "n", *(("not recorded",) if more else ()))]
    for g, group in enumerate(table.groups):
        cells = [_cell(table, g, c) for c in range(len(table.categories))]
        last = (str(table.unrecorded[g]),) if more else ()
        found.append((group, *cells, _figure(table.totals[g]), *last))
    return found


def part(table: Tally, name: str, of: str) -> dict[str, object]:
    """Return a table with its plot as a part of a page; one of many categories is turned over."""
    body = rows(table)
    if len(table.categories) > MOST_ACROSS:
        body = list(zip(*body, strict=True))
    return {
        "head": "",
        "columns": body[0],
        "rows": body[1:],
        "drawing": Markup(centred_bars(drawn(table), name)),  # noqa: S704  # texts are escaped there
        "notes": notes(table, of),
    }


def drawn(table: Tally) -> Tally:
    """Return a table as it is drawn: beyond a dozen categories the rarer ones are one column."""
    if len(table.categories) <= MOST_DRAWN:
        return table
    sums = [sum(row[c] for row in table.counts) for c in range(len(table.categories))]
    ranked = sorted(range(len(sums)), key=lambda c: (-sums[c], c))
    kept, rest = sorted(ranked[: MOST_DRAWN - 1]), ranked[MOST_DRAWN - 1 :]
    return Tally(
        groups=table.groups,
        categories=(*(table.categories[c] for c in kept), f"the {len(rest)} others"),
        counts=tuple((*(row[c] for c in kept), sum(row[c] for c in rest)) for row in table.counts),
        unrecorded=table.unrecorded,
        sharing=table.sharing,
    )


def page(name: str, parts: Sequence[Mapping[str, object]]) -> str:
    """Return a page of its own with tables and drawings.

    Args:
        name: its title.
        parts: what stands on it, each with head, columns, rows, drawing and notes.
    """
    return render("assemblage/page.html.j2", {"title": name, "parts": parts})
