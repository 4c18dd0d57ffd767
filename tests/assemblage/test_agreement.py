"""Agreement statistics, held against libraries and what they leave undefined."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from sklearn.metrics import cohen_kappa_score
from statsmodels.stats.inter_rater import aggregate_raters, fleiss_kappa

from keygen.assemblage.agreement import (
    ONE_CATEGORY,
    TOO_FEW,
    alpha,
    band,
    cohen,
    estimate,
    fleiss,
    kappa,
    percent,
)
from keygen.assemblage.ratings import MISSING, Codes, confusion, parted, ratings

TABLES = st.integers(2, 4).flatmap(
    lambda raters: st.lists(
        st.lists(st.integers(0, 3), min_size=raters, max_size=raters), min_size=2, max_size=30
    )
)


def codes(rows: list[list[int]]) -> Codes:
    """Return rows of categories as codes."""
    return np.array(rows, dtype=np.int64)


@given(TABLES)
def test_cohen_is_scikit_learns(rows: list[list[int]]) -> None:
    """Plain, linear and squared kappa equal those of scikit-learn, where they are defined."""
    two = codes(rows)[:, :2]
    labels = list(range(int(two.max()) + 1))
    for ours, theirs in (("none", None), ("linear", "linear"), ("squared", "quadratic")):
        found = cohen(two, ours)  # type: ignore[arg-type]
        if found is None:
            assert len(np.unique(two)) == 1
        else:
            wanted = cohen_kappa_score(two[:, 0], two[:, 1], labels=labels, weights=theirs)
            assert found == pytest.approx(wanted)


@given(TABLES)
def test_fleiss_is_statsmodels(rows: list[list[int]]) -> None:
    """Fleiss' kappa equals that of statsmodels, where it is defined."""
    table = codes(rows)
    found = fleiss(table)
    if found is None:
        assert len(np.unique(table)) == 1
    else:
        assert found == pytest.approx(fleiss_kappa(aggregate_raters(table)[0], method="fleiss"))


@given(TABLES, st.randoms(use_true_random=False))
def test_rows_may_stand_in_any_order(rows: list[list[int]], chance: object) -> None:
    """Shuffled specimens give the same figures and the same intervals."""
    names = [f"P-{i}" for i in range(len(rows))]
    shuffled = list(names)
    chance.shuffle(shuffled)  # type: ignore[attr-defined]
    results = []
    for order in (names, shuffled):
        said = [
            {name: str(rows[names.index(name)][observer]) for name in order}
            for observer in range(len(rows[0]))
        ]
        found = ratings(said, [f"O{i}" for i in range(len(said))])
        results.append([estimate(found, statistic, 20) for statistic in (percent, kappa, alpha)])
    assert results[0] == results[1]


def test_one_category_is_undefined() -> None:
    """If both observers use one word only, kappa and alpha say so instead of giving a number."""
    said = ratings([{"1": "a", "2": "a"}, {"1": "a", "2": "a"}], ["A", "B"])
    for statistic in (cohen, fleiss, alpha):
        assert estimate(said, statistic) == estimate(said, statistic, 0)
        assert (estimate(said, statistic).value, estimate(said, statistic).why) == (
            None,
            ONE_CATEGORY,
        )
    assert estimate(said, percent, 0).value == 100


def test_nothing_shared_is_undefined() -> None:
    """Observers who saw no specimen in common cannot be compared."""
    said = ratings([{"1": "a"}, {"2": "a"}], ["A", "B"])
    assert estimate(said, percent).why == TOO_FEW
    assert said.rated == 0


def test_missing_values_are_left_out() -> None:
    """A specimen that one observer did not rate counts for nothing between the two."""
    two = codes([[0, 0], [1, 0], [1, MISSING], [MISSING, 1]])
    assert percent(two) == 50
    assert cohen(two) == cohen(two[:2])
    assert alpha(two) == alpha(two[:2])


def test_interval_holds_the_figure() -> None:
    """The interval lies about the figure and is within what the statistic can be."""
    said = ratings(
        [{str(i): "ab"[i % 2] for i in range(40)}, {str(i): "ab"[i % 3 > 0] for i in range(40)}],
        ["A", "B"],
    )
    found = estimate(said, percent)
    assert found.value is not None
    assert found.low is not None
    assert found.high is not None
    assert 0 <= found.low < found.value < found.high <= 100


def test_confusion_and_parting() -> None:
    """The confusion table counts pairs of words; specimens are listed by who disagrees."""
    said = ratings(
        [{"1": "a", "2": "b", "3": "b"}, {"1": "a", "2": "a"}, {"2": "a", "3": "b"}],
        ["A", "B", "C"],
    )
    assert confusion(said, 0, 1).tolist() == [[1, 0], [1, 0]]
    assert parted(said) == {"2": 2}


@pytest.mark.parametrize(
    ("value", "word"),
    [
        (-0.01, "poor"), (0.0, "slight"), (0.20, "slight"), (0.204, "slight"), (0.21, "fair"),
        (0.60, "moderate"), (0.61, "substantial"), (0.81, "almost perfect"),
        (1.0, "almost perfect"),
    ],
)  # fmt: skip
def test_words_of_landis_and_koch(value: float, word: str) -> None:
    """The bounds of Landis and Koch 1977, after rounding to two decimals."""
    assert band(value) == word
