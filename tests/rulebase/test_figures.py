"""Facts about the length of walks."""

from __future__ import annotations

from keygen.core.model import Rules
from keygen.core.states import narrow
from keygen.rulebase.figures import base_fragment, complete, definition, figures, walk_of


def test_walk_lengths(rules: Rules) -> None:
    """A whole notched point takes at most 30 couplets on average, a base fragment at most 20."""
    counted = figures(rules)
    assert counted.mean_notched <= 30
    assert counted.mean_whole <= 30
    assert counted.mean_base <= 20


def test_walks_end_within_the_definition(rules: Rules) -> None:
    """A walk on a type's definition ends on a piece that meets the definition."""
    for kind in list(rules.types.values())[::10]:
        for condition in (complete(rules), base_fragment(rules)):
            known = walk_of(rules, kind, condition).known
            assert narrow(known, dict(enumerate(definition(rules, kind)))) is not None


def test_rules_without_notches_or_damage(small_rules: Rules) -> None:
    """Figures are given of any vocabulary; where no type is notched the mean of those is none."""
    counted = figures(small_rules)
    assert (counted.types, counted.records, counted.mean_notched) == (4, 5, 0.0)
    assert 0 < counted.mean_whole <= counted.longest == 11
