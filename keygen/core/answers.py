"""From the terms of an index to what it says: figures in zones, classification functions.

What an index says is every answer that some figure inside the interval would give, so a wider
interval never says less.
"""

from __future__ import annotations

from collections.abc import Mapping

from keygen.core.indices import Group, Index
from keygen.core.model import Rules
from keygen.core.result import Lack, Result, Score
from keygen.core.span import Span, weighted

Pair = tuple[str, str]  # two groups, by their outcomes


def said(rules: Rules, index: Index, spans: Mapping[str, Span]) -> tuple[str, ...] | None:
    """Return every outcome that an index leaves possible, None if it cannot be worked out.

    It is what `by_figure` or `by_groups` says, without all that goes with it.
    """
    if index.groups:
        return _possible(rules, index, spans, _differences(index, spans))
    figure = _figure(index, spans)
    return None if figure is None else _ordered(rules, index, _reached(index, figure))


def by_figure(rules: Rules, index: Index, spans: Mapping[str, Span]) -> Result:
    """Work out an index that is one figure, and what its zones make of it."""
    figure = _figure(index, spans)
    if figure is None:
        return Result(index.id, (Lack(index.terms[1], "unreadable", said="too small"),))
    if not index.zones:
        return Result(index.id, figure=figure)
    limits = [zone.high for zone in index.zones[:-1]]
    nearest = min(limits, key=lambda limit: abs(figure.value - limit))
    lead = index.zones[_in_zones(index, figure.value, figure.value)[0]].says
    return Result(
        index.id,
        figure=figure,
        margin=figure - Span(nearest, nearest, nearest),
        says=_ordered(rules, index, _reached(index, figure)),
        leads=lead[0] if len(lead) == 1 else "",
        undecided=len(lead) > 1,
    )


def _figure(index: Index, spans: Mapping[str, Span]) -> Span | None:
    """Return the figure; None if a lower one is not parted from nothing by its precision."""
    first, *rest = [spans[name] for name in index.terms]
    figure: Span | None = first
    if index.figure == "sum":
        figure = weighted(0, [(1, span) for span in (first, *rest)])
    elif index.figure == "difference":
        figure = first - rest[0]
    elif index.figure == "ratio":
        figure = first.over(rest[0])
    if figure is not None and figure.value <= index.at_most < figure.high:
        return Span(figure.value, figure.low, index.at_most)
    return figure


def _reached(index: Index, figure: Span) -> set[str]:
    """Return what is said by the zones that a figure reaches into."""
    held = _in_zones(index, figure.low, figure.high)
    return {outcome for i in held for outcome in index.zones[i].says}


def _in_zones(index: Index, low: float, high: float) -> list[int]:
    """Return the numbers of the zones in which an interval has a figure."""
    return [i for i in range(len(index.zones)) if _in_zone(index, i, low, high)]


def _in_zone(index: Index, i: int, low: float, high: float) -> bool:
    """Tell whether an interval has a figure in the zone of this number."""
    zone = index.zones[i]
    before = low < zone.high or (zone.closed and low == zone.high)
    if not i:
        return before
    last = index.zones[i - 1]
    return before and (high > last.high or (not last.closed and high == last.high))


def by_groups(rules: Rules, index: Index, spans: Mapping[str, Span]) -> Result:
    """Work out classification functions.

    Scores share their terms, so their margin is worked out from the differences of the weights; the
    difference of two intervals would be needlessly wide.
    """
    scores = sorted(
        (Score(group.outcome, _score(group, spans)) for group in index.groups),
        key=lambda score: -score.span.value,
    )
    over = _differences(index, spans)
    margin = over[scores[0].outcome, scores[1].outcome]
    return Result(
        index.id,
        scores=tuple(scores),
        margin=margin,
        says=_possible(rules, index, spans, over),
        leads=scores[0].outcome,
        undecided=_undecided(index, spans),
        close=abs(margin.value) < index.close,
    )


def _possible(
    rules: Rules, index: Index, spans: Mapping[str, Span], over: Mapping[Pair, Span]
) -> tuple[str, ...]:
    """Return the groups whose score may be the largest, given by how much each is over another."""
    if _undecided(index, spans):
        return _ordered(rules, index, {group.outcome for group in index.groups})
    less = {one for (one, _), difference in over.items() if difference.high < 0}
    return _ordered(rules, index, {group.outcome for group in index.groups} - less)


def _undecided(index: Index, spans: Mapping[str, Span]) -> bool:
    """Tell whether a term lies where the functions are not trusted to decide."""
    doubt = index.undecided
    return doubt is not None and (
        spans[doubt.term].low <= doubt.high and spans[doubt.term].high >= doubt.low
    )


def _differences(index: Index, spans: Mapping[str, Span]) -> dict[Pair, Span]:
    return {pair: _score(less, spans) for pair, less in index.differences.items()}


def _score(group: Group, spans: Mapping[str, Span]) -> Span:
    return weighted(group.constant, [(w.by, spans[w.term]) for w in group.weights])


def _ordered(rules: Rules, index: Index, says: set[str]) -> tuple[str, ...]:
    outcomes = rules.questions[index.question].outcomes
    return tuple([outcome.id for outcome in outcomes if outcome.id in says])
