"""The comparison of observers, as text and as plain data."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from keygen.assemblage.agreement import Estimate, band
from keygen.assemblage.observers import (
    Compared,
    Described,
    Parting,
    compare_attribute,
    compare_calls,
    most_parted,
    partings,
    recorded,
)
from keygen.core.model import Rules
from keygen.prose.grammar import counted, listed, plain
from keygen.prose.words import GRADES

MOST_NAMED = 10
WARNING = (
    "The words after kappa and alpha are those of Landis and Koch 1977; their bounds are arbitrary "
    "by the authors' own account. Kappa is low where one state is rare, however well observers "
    "agree, so read it beside the per cent. Agreement is no proof of being right."
)
KEY = (
    "n: specimens that two observers recorded. agree: per cent of pairs with the same states. "
    "meet: per cent of pairs with a state in common."
)
COLUMNS = ("", "n", "agree", "meet", "kappa (95 %)", "alpha (95 %)", "as grades (95 %)")


@dataclass(frozen=True)
class Agreed:
    """All that follows from several observers' descriptions."""

    observers: tuple[str, ...]
    shared: tuple[str, ...]
    attributes: tuple[Compared, ...]
    calls: Compared | None
    partings: tuple[Parting, ...]


def agreed(
    rules: Rules, described: Sequence[Described], observers: Sequence[str], resamples: int = 1000
) -> Agreed:
    """Compare observers on every attribute that at least two of them recorded, and on the call.

    Args:
        rules: the rules.
        described: for each observer, the specimens by number.
        observers: their names, at least two.
        resamples: how often specimens are drawn anew for each interval; 0 for none.
    """
    units = [unit for one in described for unit in one]
    shared = tuple(sorted({unit for unit in units if units.count(unit) > 1}))
    compared = []
    for i in range(len(rules.attributes)):
        told = [
            sum(recorded(rules, e.piece, i) is not None for e in one.values()) for one in described
        ]
        if sum(n > 0 for n in told) > 1:
            terms = grades(rules, i)
            found = compare_attribute(rules, i, described, observers, terms, resamples)
            if found.ratings.rated:
                compared.append(found)
    calls = compare_calls(rules, described, observers, resamples)
    return Agreed(
        tuple(observers),
        shared,
        tuple(compared),
        calls if calls.ratings.rated else None,
        partings(rules, described, observers),
    )


def grades(rules: Rules, attribute: int) -> tuple[str, ...]:
    """Return the terms of an attribute's states in the order of their grade, if they have one."""
    of = rules.attributes[attribute]
    chains = [
        chain for chain in GRADES.get(of.id, ()) if len(chain) > 2 and of.bits.keys() >= set(chain)
    ]
    if of.lessens:
        chains.append(tuple(state.id for state in of.states))
    longest = max(chains, key=len, default=())
    return tuple(plain(of.within(of.bits[state])[0].term) for state in longest)


def text(rules: Rules, found: Agreed) -> str:
    """Return the comparison as plain text."""
    names = listed(found.observers)
    lines = [
        f"Agreement of {names}: {counted(len(found.shared), 'specimen')} described by two or more",
        f"Rules edition {rules.edition}, digest {rules.digest}",
        "",
        *_table(rules, found),
        "",
        KEY,
        WARNING,
    ]
    for title, part in (
        ("Where they differ", _differences(rules, found)),
        ("Specimens that differ most", _most(found)),
        ("What the differences do to the calls", _calls(rules, found)),
    ):
        entries = list(part)
        if entries:
            lines += ["", title, *entries]
    return "\n".join(lines)


def subject(rules: Rules, compared: Compared) -> str:
    """Return what was compared: an attribute's label, or the call."""
    return plain(rules.attributes[compared.subject].label) if compared.subject >= 0 else "call"


def _table(rules: Rules, found: Agreed) -> list[str]:
    compared = [*found.attributes, *([found.calls] if found.calls else [])]
    rows = [COLUMNS]
    rows += [
        (
            subject(rules, c),
            str(c.ratings.rated),
            _number(c.percent.value, 0),
            _number(c.compatible, 0),
            _figure(c.kappa),
            _figure(c.alpha),
            _figure(c.ordinal) if c.ordinal else "",
        )
        for c in compared
    ]
    widths = [max(len(row[i]) for row in rows) for i in range(len(COLUMNS))]
    return [
        "  ".join(
            cell.ljust(width) if i in (0, 4, 5, 6) else cell.rjust(width)
            for i, (cell, width) in enumerate(zip(row, widths, strict=True))
        ).rstrip()
        for row in rows
    ]


def _number(value: float | None, digits: int = 2) -> str:
    return "-" if value is None else f"{value:.{digits}f}"


def _figure(found: Estimate) -> str:
    if found.value is None:
        return f"not defined: {found.why}"
    within = f" ({found.low:.2f} to {found.high:.2f})" if found.low is not None else ""
    return f"{found.value:.2f}{within} {band(found.value)}"


def _differences(rules: Rules, found: Agreed) -> Iterator[str]:
    """Yield, for each attribute, which states met which others how often."""
    for c in (*found.attributes, *([found.calls] if found.calls else [])):
        met: dict[tuple[str, str], int] = {}
        for table in c.confusion.values():
            for i, row in enumerate(table.tolist()):
                for j, count in enumerate(row):
                    if i != j and count:
                        pair = c.ratings.categories[i], c.ratings.categories[j]
                        met[pair] = met.get(pair, 0) + count
        if met:
            ranked = sorted(met.items(), key=lambda entry: (-entry[1], entry[0]))
            told = "; ".join(f"{a} / {b} {count}" for (a, b), count in ranked)
            yield f"- {subject(rules, c)}: {told}"


def _most(found: Agreed) -> Iterator[str]:
    ranked = most_parted(found.attributes)
    for unit, pairs in ranked[:MOST_NAMED]:
        yield f"- {unit}: {counted(pairs, 'difference')}"
    if len(ranked) > MOST_NAMED:
        yield f"- and {len(ranked) - MOST_NAMED} others with fewer"


def _calls(rules: Rules, found: Agreed) -> Iterator[str]:
    for p in found.partings:
        told = f"- {p.specimen}: {p.calls[0]} ({p.observers[0]}), {p.calls[1]} ({p.observers[1]})"
        if p.decisive:
            which = [_with_couplets(rules, i, numbers) for i, numbers in p.decisive]
            told += f"; taken over alone, {listed(which, 'or')} makes the difference"
        elif p.differ:
            labels = [plain(rules.attributes[i].label) for i in p.differ]
            told += "; no attribute alone makes the difference (several or the measurements do)"
            told += f"; they differ in: {listed(labels)}"
        else:
            told += "; the measurements make the difference"
        yield told


def _with_couplets(rules: Rules, attribute: int, numbers: Sequence[int]) -> str:
    label = f"the {plain(rules.attributes[attribute].label)}"
    if not numbers:
        return label
    word = "couplet" if len(numbers) == 1 else "couplets"
    return f"{label} ({word} {listed([str(n) for n in numbers])})"


def data(rules: Rules, found: Agreed) -> dict[str, object]:
    """Return the comparison as mappings, lists, text and numbers."""
    return {
        "format_version": 1,
        "rules": {"edition": rules.edition, "digest": rules.digest},
        "observers": list(found.observers),
        "specimens": list(found.shared),
        "attributes": {
            rules.attributes[c.subject].id: _compared(found, c) for c in found.attributes
        },
        "call": _compared(found, found.calls) if found.calls else None,
        "most_different": [
            {"specimen": unit, "differences": n} for unit, n in most_parted(found.attributes)
        ],
        "calls_that_differ": [
            {
                "specimen": p.specimen,
                "observers": list(p.observers),
                "calls": list(p.calls),
                "differ": [rules.attributes[i].id for i in p.differ],
                "decisive": [
                    {"attribute": rules.attributes[i].id, "couplets": list(numbers)}
                    for i, numbers in p.decisive
                ],
            }
            for p in found.partings
        ],
        "warning": WARNING,
    }


def _compared(found: Agreed, c: Compared) -> dict[str, object]:
    return {
        "n": c.ratings.rated,
        "percent": _estimate(c.percent),
        "compatible": c.compatible,
        "kappa": _estimate(c.kappa),
        "alpha": _estimate(c.alpha),
        "alpha_ordinal": _estimate(c.ordinal) if c.ordinal else None,
        "categories": list(c.ratings.categories),
        "confusion": [
            {
                "observers": [found.observers[a], found.observers[b]],
                "counts": table.tolist(),
            }
            for (a, b), table in c.confusion.items()
        ],
    }


def _estimate(e: Estimate) -> dict[str, object]:
    if e.value is None:
        return {"value": None, "n": e.n, "why": e.why}
    told: dict[str, object] = {"value": e.value, "low": e.low, "high": e.high, "n": e.n}
    return told | ({"undefined_resamples": e.undefined} if e.undefined else {})
