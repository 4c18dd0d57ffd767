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


def by_figure(rules: Rules, index: Index, spans: Mapping[str, Span]) -> Result:
    """Work out an index that is one figure, and what its zones make of it."""
    first, *rest = (spans[name] for name in index.terms)
    figure: Span | None = first
    if index.figure == "sum":
        figure = weighted(0, ((1, span) for span in (first, *rest)))
    elif index.figure == "difference":
        figure = first - rest[0]
    elif index.figure == "ratio":
        figure = first.over(rest[0])
    if figure is None:  # a lower figure that its precision does not part from nothing
        return Result(index.id, (Lack(index.terms[1], "unreadable", said="too small"),))
    if figure.value <= index.at_most < figure.high:
        figure = Span(figure.value, figure.low, index.at_most)
    if not index.zones:
        return Result(index.id, figure=figure)
    held = [i for i in range(len(index.zones)) if _in_zone(index, i, figure.low, figure.high)]
    at = [i for i in range(len(index.zones)) if _in_zone(index, i, figure.value, figure.value)]
    limits = [zone.high for zone in index.zones[:-1]]
    nearest = min(limits, key=lambda limit: abs(figure.value - limit))
    says = {outcome for i in held for outcome in index.zones[i].says}
    lead = index.zones[at[0]].says
    return Result(
        index.id,
        figure=figure,
        margin=figure - Span(nearest, nearest, nearest),
        says=_ordered(rules, index, says),
        leads=lead[0] if len(lead) == 1 else "",
        undecided=len(lead) > 1,
    )


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
    over = {pair: _score(less, spans) for pair, less in index.differences.items()}
    says = {
        one.outcome
        for one in scores
        if all(over[one.outcome, two.outcome].high >= 0 for two in scores if two is not one)
    }
    margin = over[scores[0].outcome, scores[1].outcome]
    doubt = index.undecided
    undecided = doubt is not None and (
        spans[doubt.term].low <= doubt.high and spans[doubt.term].high >= doubt.low
    )
    if undecided:
        says = {score.outcome for score in scores}
    return Result(
        index.id,
        scores=tuple(scores),
        margin=margin,
        says=_ordered(rules, index, says),
        leads=scores[0].outcome,
        undecided=undecided,
        close=abs(margin.value) < index.close,
    )


def _score(group: Group, spans: Mapping[str, Span]) -> Span:
    return weighted(group.constant, ((w.by, spans[w.term]) for w in group.weights))


def _ordered(rules: Rules, index: Index, says: set[str]) -> tuple[str, ...]:
    outcomes = rules.questions[index.question].outcomes
    return tuple(outcome.id for outcome in outcomes if outcome.id in says)
