"""Agreement between observers: per cent, kappa, alpha, with intervals by resampling specimens.

Cohen 1960 for two observers, Fleiss 1971 for more, Krippendorff 2004 for any number with values
missing (through the library `krippendorff`). An undefined figure is None with the reason, never a
number: where all values are of one category, chance alone explains everything.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import krippendorff
import numpy as np

from keygen.assemblage.ratings import MISSING, Codes, Ratings

Level = Literal["nominal", "ordinal", "interval", "ratio"]
Weights = Literal["none", "linear", "squared"]
RESAMPLES, SEED = 1000, 1971
CONFIDENCE = 95.0
# Landis and Koch 1977, Biometrics 33:159-174: the upper end of each word's range.
BANDS = (
    (0.20, "slight"),
    (0.40, "fair"),
    (0.60, "moderate"),
    (0.80, "substantial"),
    (1.00, "almost perfect"),
)
ONE_CATEGORY = "all values are of one category"
TOO_FEW = "fewer than two values to compare"


@dataclass(frozen=True)
class Estimate:
    """A figure with its interval (95 %, percentiles of resampled specimens), or why there is none.

    `n` is the number of specimens that it rests on, `undefined` the share of the resamples (0 to 1)
    that had no figure and were left out of the interval.
    """

    value: float | None
    low: float | None = None
    high: float | None = None
    n: int = 0
    why: str = ""
    undefined: float = 0.0


def band(value: float) -> str:
    """Return the word of Landis and Koch 1977 for a kappa or alpha, rounded to two decimals.

    The bounds are arbitrary by their own account.
    """
    rounded = round(value, 2)
    if rounded < 0:
        return "poor"
    return next(word for upper, word in BANDS if rounded <= upper)


def percent(codes: Codes) -> float | None:
    """Return the share (0 to 100) of pairs of observers that agree, over all specimens."""
    same = pairs = 0
    for first in range(codes.shape[1]):
        for second in range(first + 1, codes.shape[1]):
            both = (codes[:, first] != MISSING) & (codes[:, second] != MISSING)
            pairs += int(both.sum())
            same += int((codes[both, first] == codes[both, second]).sum())
    return 100 * same / pairs if pairs else None


def cohen(codes: Codes, weights: Weights = "none") -> float | None:
    """Return Cohen's kappa of two observers; None if chance explains everything.

    Args:
        codes: two columns.
        weights: none, or linear or squared by the distance between grades.
    """
    both = codes[(codes != MISSING).all(axis=1)]
    if not len(both):
        return None
    size = int(both.max()) + 1
    table = np.zeros((size, size))
    np.add.at(table, (both[:, 0], both[:, 1]), 1)
    table /= table.sum()
    apart = np.abs(np.subtract.outer(np.arange(size), np.arange(size))).astype(float)
    cost = {"none": (apart > 0).astype(float), "linear": apart, "squared": apart**2}[weights]
    expected = float((cost * np.outer(table.sum(axis=1), table.sum(axis=0))).sum())
    return 1 - float((cost * table).sum()) / expected if expected > 1e-12 else None


def fleiss(codes: Codes) -> float | None:
    """Return Fleiss' kappa over the specimens that every observer rated."""
    rated = codes[(codes != MISSING).all(axis=1)]
    raters = codes.shape[1]
    if not len(rated) or raters < 2:
        return None
    counts = np.stack([(rated == c).sum(axis=1) for c in range(int(rated.max()) + 1)], axis=1)
    observed = float(((counts**2).sum(axis=1) - raters).mean()) / (raters * (raters - 1))
    expected = float(((counts.sum(axis=0) / counts.sum()) ** 2).sum())
    return (observed - expected) / (1 - expected) if expected < 1 - 1e-12 else None


def alpha(codes: Codes, level: Level = "nominal") -> float | None:
    """Return Krippendorff's alpha; values may be missing.

    Args:
        codes: any number of columns.
        level: nominal; ordinal where the categories stand in the order of a grade; interval or
            ratio where the codes are figures themselves.
    """
    paired = codes[(codes != MISSING).sum(axis=1) > 1]
    values = np.unique(paired[paired != MISSING])
    if len(values) < 2:
        return None
    counts = np.stack([(paired == value).sum(axis=1) for value in values], axis=1)
    return float(
        krippendorff.alpha(value_counts=counts, value_domain=values, level_of_measurement=level)
    )


def estimate(
    given: Ratings, statistic: Callable[[Codes], float | None], resamples: int = RESAMPLES
) -> Estimate:
    """Return a figure with its interval over resampled specimens.

    Args:
        given: what the observers said.
        statistic: the figure; None where it is undefined.
        resamples: how often specimens are drawn anew, with replacement; 0 for no interval.
    """
    rated = given.codes[(given.codes != MISSING).sum(axis=1) > 1]
    n = len(rated)
    if not n:
        return Estimate(None, why=TOO_FEW)
    value = statistic(rated)
    if value is None:
        one = len(np.unique(rated[rated != MISSING])) == 1
        return Estimate(None, n=n, why=ONE_CATEGORY if one else TOO_FEW)
    if not resamples:
        return Estimate(value, n=n)
    rng = np.random.default_rng(SEED)
    drawn = [statistic(rated[rng.integers(0, n, n)]) for _ in range(resamples)]
    defined = [v for v in drawn if v is not None]
    share = 1 - len(defined) / resamples
    if not defined:
        return Estimate(value, n=n, undefined=share)
    edge = (100 - CONFIDENCE) / 2
    low, high = np.percentile(defined, [edge, 100 - edge])
    return Estimate(value, float(low), float(high), n, undefined=share)


def kappa(codes: Codes) -> float | None:
    """Return Cohen's kappa of two observers, Fleiss' of more."""
    return cohen(codes) if codes.shape[1] == 2 else fleiss(codes)
