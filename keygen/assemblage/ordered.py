"""Seriation and timeline of an assemblage, as text and as plain data, with their warnings."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from keygen.assemblage.seriation import (
    Axis,
    Order,
    Peaks,
    by_similarity,
    first_axis,
    permutation_test,
    similarity,
    single_peaks,
)
from keygen.assemblage.tally import Tally
from keygen.assemblage.timeline import Span
from keygen.core.model import Rules
from keygen.prose.ages import age
from keygen.prose.grammar import counted, listed

FEW = 30  # specimens; shares of fewer are mostly chance
LEAST = 3  # assemblages; fewer have no order to find
NO_DIRECTION = "The order has no direction: it does not say which end is the older."
CONDITIONS = (
    "An order of this kind can be one of time only if every assemblage was formed in a brief span, "
    "within one local tradition and one area; nothing here can test that."
)


@dataclass(frozen=True)
class Seriated:
    """Assemblages in their orders; `left_out` had nothing to count."""

    labels: tuple[str, ...]
    table: Tally
    left_out: tuple[str, ...]
    matrix: tuple[tuple[float, ...], ...]
    order: Order
    axis: Axis
    peaks: Peaks
    chance: float | None
    fixed: bool
    warnings: tuple[str, ...]


def seriate(
    table: Tally, regions: Sequence[str] = (), fixed: Sequence[str] = (), draws: int = 999
) -> Seriated:
    """Order the groups of a tally.

    Args:
        table: counts of types by assemblage.
        regions: the regions that the specimens were called in.
        fixed: groups in stratigraphic order, as far as it is known; the order found respects it.
        draws: how many tables of chance the order is held against.

    Raises:
        ValueError: fewer than three assemblages have anything to count.
    """
    kept = [g for g in range(len(table.groups)) if table.totals[g] > 0]
    labels = tuple(table.groups[g] for g in kept)
    if len(labels) < LEAST:
        raise ValueError(f"an order needs {LEAST} assemblages with counts; here are {len(labels)}")
    counts = np.array([table.counts[g] for g in kept], dtype=np.float64)
    whole = bool((counts == np.rint(counts)).all())
    return Seriated(
        labels=labels,
        table=table,
        left_out=tuple(g for g in table.groups if g not in labels),
        matrix=tuple(tuple(row) for row in similarity(counts).tolist()),
        order=by_similarity(counts, labels, _below(labels, fixed)),
        axis=first_axis(counts, labels),
        peaks=single_peaks(counts, labels) if whole else Peaks((), {}),
        chance=permutation_test(counts, labels, draws) if whole and draws else None,
        fixed=bool(fixed),
        warnings=tuple(_warnings(table, kept, regions, whole)),
    )


def _below(labels: Sequence[str], fixed: Sequence[str]) -> Mapping[int, frozenset[int]]:
    known = [labels.index(name) for name in fixed if name in labels]
    return {i: frozenset(known[at + 1 :]) for at, i in enumerate(known[:-1])}


def _warnings(table: Tally, kept: Sequence[int], regions: Sequence[str], whole: bool) -> list[str]:
    small = [f"{table.groups[g]} ({table.totals[g]:g})" for g in kept if table.totals[g] < FEW]
    told = [CONDITIONS]
    if small:
        told.append(
            f"Fewer than {FEW} specimens, so that shares are mostly chance: {listed(small)}."
        )
    if len(set(regions)) > 1:
        told.append("The specimens come from several regions: they are not one local tradition.")
    if not whole:
        told.append(
            "Counts in fractions have no exact order with single peaks and no test against chance; "
            "count the doubtful apart for these."
        )
    return told


def text(found: Seriated) -> str:
    """Return orders and figures as plain text."""
    order, n = found.order, len(found.labels)
    least = "no order has fewer" if order.exact else "not every order was weighed"
    kept = ", the given order respected" if found.fixed else ""
    lines = [
        f"By similarity (Brainerd-Robinson): {_chain(found, order.places)}",
        f"  breaches of the ordering criterion: {order.breaches} ({least}{kept})",
        f"On the first correspondence axis: {_chain(found, found.axis.places)}",
        f"  share of the axis in the inertia: {100 * found.axis.share:.0f} %",
    ]
    if found.chance is not None:
        chance = "by chance alone (permutation test)"
        lines.append(f"  an axis as strong {chance}: p = {found.chance:.3f}")
    if found.peaks.orders:
        sets = sorted({len(o) for o in found.peaks.orders})[-1]
        cut = "" if found.peaks.complete else " (the search was cut off)"
        lines.append(
            f"Largest sets in which every type has one peak: {sets} of {n}, "
            f"{counted(len(found.peaks.orders), 'order')}{cut}"
        )
        lines += [f"  {_chain(found, places)}" for places in found.peaks.orders[:5]]
    lines += ["", "Brainerd-Robinson coefficients (0 to 200), in that order:", *_matrix(found), ""]
    if found.left_out:
        lines.append(f"Without anything to count: {listed(found.left_out)}.")
    return "\n".join([*lines, NO_DIRECTION, *found.warnings])


def _chain(found: Seriated, places: Sequence[int]) -> str:
    return " - ".join(found.labels[i] for i in places)


def matrix_rows(found: Seriated) -> list[tuple[str, ...]]:
    """Return the coefficients in the order found, a head first."""
    places = found.order.places
    rows = [("", *(found.labels[i] for i in places))]
    rows += [
        (found.labels[i], *(f"{found.matrix[i][j]:.1f}" if i != j else "" for j in places))
        for i in places
    ]
    return rows


def _matrix(found: Seriated) -> list[str]:
    rows = matrix_rows(found)
    widths = [max(len(row[i]) for row in rows) for i in range(len(rows))]
    return [
        "  ".join(
            cell.rjust(width) if i else cell.ljust(width)
            for i, (cell, width) in enumerate(zip(row, widths, strict=True))
        ).rstrip()
        for row in rows
    ]


def data(found: Seriated) -> dict[str, object]:
    """Return orders and figures as mappings, lists, text and numbers."""
    return {
        "assemblages": list(found.labels),
        "left_out": list(found.left_out),
        "similarity": [list(row) for row in found.matrix],
        "by_similarity": {
            "order": [found.labels[i] for i in found.order.places],
            "breaches": found.order.breaches,
            "exact": found.order.exact,
            "stratigraphy_respected": found.fixed,
        },
        "first_axis": {
            "order": [found.labels[i] for i in found.axis.places],
            "scores": list(found.axis.scores),
            "inertia_share": found.axis.share,
            "p_by_permutation": found.chance,
        },
        "single_peaks": {
            "sets_by_size": {str(size): n for size, n in found.peaks.counts.items()},
            "largest": [[found.labels[i] for i in order] for order in found.peaks.orders],
            "complete": found.peaks.complete,
        },
        "direction": None,
        "warnings": [NO_DIRECTION, *found.warnings],
    }


def spans_text(rules: Rules, spans: Sequence[Span], sure: Sequence[Span]) -> str:
    """Return the date ranges behind the calls, with what changes if only certain calls count.

    Args:
        rules: the rules.
        spans: ranges of all calls.
        sure: ranges of `assigned` calls alone.
    """
    if not spans:
        return "No call names a type, so there is no range to show."
    names = [rules.types[s.type].name for s in spans]
    width = max(len(name) for name in names)
    lines = []
    for s, name in zip(spans, names, strict=True):
        record = rules.types[s.type].record(s.region)
        printed = f"; {age(rules, record)}" if record else ""
        lines.append(
            f"{name.ljust(width)}  {s.start:,}-{s.end:,} cal BP: "
            f"{s.assigned} assigned, {s.possible} possible{printed}"
        )
    gone = [n for s, n in zip(spans, names, strict=True) if not s.assigned]
    lines += ["", _span_of("All calls", spans), _span_of("Only assigned calls", sure)]
    if gone:
        lines.append(f"Without the other calls these fall out: {listed(dict.fromkeys(gone))}.")
    lines.append(
        "A range is that of a type as the literature places it in the region; it dates no piece, "
        "and the ranges of several types do not add up to an occupation."
    )
    return "\n".join(lines)


def _span_of(label: str, spans: Sequence[Span]) -> str:
    if not spans:
        return f"{label}: no range."
    types = counted(len({s.type for s in spans}), "type")
    return (
        f"{label}: {max(s.start for s in spans):,}-{min(s.end for s in spans):,} cal BP ({types})."
    )


def spans_data(spans: Sequence[Span], sure: Sequence[Span]) -> dict[str, object]:
    """Return the ranges as mappings, lists, text and numbers; years are cal BP."""
    return {"all_calls": [vars(s) for s in spans], "assigned_only": [vars(s) for s in sure]}
