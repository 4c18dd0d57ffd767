"""rules/measures.yaml into the model, and the proof that its bands leave no value out."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from math import inf
from typing import Any, get_args

from keygen.core.basis import Basis
from keygen.core.model import Band, Derivation, Gauge, Measurement, Rules
from keygen.errors import Problem
from keygen.rulebase.fields import Fields
from keygen.rulebase.vocabulary import Vocabulary, read_limits
from keygen.rulebase.yamlio import Document, Path

TERMS = {"value": 1, "ratio": 2, "sum": 2, "difference": 2}  # measurements that a figure is made of


def read_measures(
    document: Document, vocabulary: Vocabulary, parts: Collection[str], problems: list[Problem]
) -> tuple[dict[str, Measurement], tuple[Derivation, ...]]:
    """Read the measurements and how states are derived from them."""
    top = Fields(document, problems)
    measurements: dict[str, Measurement] = {}
    for name, entry in top.children("measurements"):
        unit: Any = entry.choice("unit", ("mm", "g", "deg"))
        label, needs = entry.text("label"), entry.known("parts", parts, "the part")
        low, high = entry.number("low", 0.0), entry.number("high", inf)
        within = entry.text("within", "")
        if within and within not in top.child("measurements").values:
            entry.fault("K005", f"the measurement {within!r} is not known", "within")
        asked = entry.flag("asked", True)
        measurements[name] = Measurement(name, label, unit, needs, low, high, within, asked)
        entry.done()
    derivations = tuple(
        _derivation(name, entry, vocabulary, measurements)
        for name, entry in top.children("derived")
    )
    top.done()
    return measurements, derivations


def _derivation(
    name: str, entry: Fields, vocabulary: Vocabulary, measurements: Collection[str]
) -> Derivation:
    """Read one rule: a figure of its own, or several under `by`."""
    attribute = entry.choice("attribute", vocabulary.named)
    index, bits = vocabulary.named.get(attribute, (0, {}))
    basis: Any = entry.choice("basis", get_args(Basis))
    several = tuple(entry.items("by"))
    found = Derivation(
        id=name,
        attribute=index,
        by=tuple(_gauge(gauge, attribute, bits, measurements) for gauge in several or (entry,)),
        when=read_limits(entry.child("when"), vocabulary),
        basis=basis,
        sources=entry.texts("sources"),
        note=entry.text("note"),
    )
    for figures in (*several, entry):
        figures.done()
    return found


def _gauge(
    entry: Fields, attribute: str, bits: Mapping[str, int], measurements: Collection[str]
) -> Gauge:
    figure: Any = entry.choice("figure", tuple(TERMS))
    terms = entry.known("of", measurements, "the measurement", required=True)
    wanted = TERMS.get(figure, len(terms))
    if terms and len(terms) != wanted:
        what = f"a {figure} is made of {wanted}, not of {len(terms)}"
        entry.fault("K004", what, "of")
        terms = ()
    bands = []
    for band in entry.items("bands"):
        words = band.known("states", bits, f"the {attribute} state", required=True)
        low, high = band.number("from", -inf), band.number("to", inf)
        if low >= high:
            band.fault("K202", f"the band runs from {low:g} to {high:g}", "from")
        bands.append(Band(sum({bits[word] for word in words}), low, high))
        band.done()
    return Gauge(figure, terms, tuple(bands))


def measure_problems(rules: Rules, document: Document) -> Iterator[Problem]:
    """Prove that every value a figure can have lies in a band, and that its units go together.

    A value that no band holds would leave fewer states than the doubt about it does.
    """
    for rule in rules.derivations:
        for i, gauge in enumerate(rule.by):
            place: Path = ("derived", rule.id, "by", i)
            if len(rule.by) == 1:  # where it is written without `by`, the rule itself is found
                place = ("derived", rule.id)
            units = {rules.measurements[term].unit for term in gauge.terms}
            if len(units) > 1:
                what = f"a {gauge.figure} of {' and '.join(sorted(units))} means nothing"
                yield document.problem((*place, "of"), "K231", what, "Use one unit.")
            for low, high in _gaps(gauge):
                what = f"{rule.id}: no band holds a {gauge.figure} {_between(low, high)}"
                remedy = "Widen a band; what cannot be told leaves all states."
                yield document.problem((*place, "bands"), "K230", what, remedy)


def _gaps(gauge: Gauge) -> Iterator[tuple[float, float]]:
    """Yield the stretches, from zero (of a difference from anywhere) up, that no band holds."""
    reached = -inf if gauge.figure == "difference" else 0.0
    for band in sorted(gauge.bands, key=lambda band: band.low):
        if band.low > reached:
            yield reached, band.low
        reached = max(reached, band.high)
    if reached < inf:
        yield reached, inf


def _between(low: float, high: float) -> str:
    if low == -inf:
        return f"under {high:g}"
    return f"over {low:g}" if high == inf else f"between {low:g} and {high:g}"
