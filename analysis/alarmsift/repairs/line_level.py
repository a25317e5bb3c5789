"""How a line drew before a repair and after it: the ratio of two levels with its interval.

Line health is a ratio, so levels are compared in its logarithm (Welch's unequal variances). Visits
follow each other closely and share their errors: a series counts for as many free values as its
correlation from one to the next leaves.

References
----------
.. [1] Welch, B. L., "The generalization of Student's problem when several different population
   variances are involved", *Biometrika* 34 (1947) 28-35.
.. [2] Bayley, G. V., Hammersley, J. M., "The effective number of independent observations in an
   autocorrelated time series", *JRSS Supplement* 8 (1946) 184-197.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy import stats

# Visits that a level needs at least.
FEWEST: Final = 5
_NAN: Final = float("nan")


@dataclass(frozen=True)
class LevelRatio:
    """Levels before and after and their ratio, each over the line's own clean value [-]."""

    before: float
    after: float
    ratio: float
    low: float
    high: float


NO_LEVEL: Final = LevelRatio(_NAN, _NAN, _NAN, _NAN, _NAN)


def level_ratio(before: np.ndarray, after: np.ndarray, *, confidence: float = 0.90) -> LevelRatio:
    """Return the level of a line after a repair over that before it.

    Parameters
    ----------
    before, after : ndarray, shape (n,), (m,)
        ln of line health at the visits in order; NaN is left out.
    confidence : float
        Of the interval [-].
    """
    series = [one[np.isfinite(one)] for one in (before, after)]
    if min(len(one) for one in series) < FEWEST:
        return NO_LEVEL
    middle = [float(one.mean()) for one in series]
    free = [free_values(one) for one in series]
    part = [float(one.var(ddof=1)) / count for one, count in zip(series, free, strict=True)]
    gain, error = middle[1] - middle[0], float(np.sqrt(sum(part)))
    if error == 0.0:
        reach = 0.0
    else:
        degrees = sum(part) ** 2 / sum(
            one**2 / max(count - 1.0, 1.0) for one, count in zip(part, free, strict=True)
        )
        reach = error * float(stats.t.ppf(0.5 + confidence / 2.0, degrees))
    levels = (np.exp(middle[0]), np.exp(middle[1]), np.exp(gain))
    ends = (np.exp(gain - reach), np.exp(gain + reach))
    return LevelRatio(*(float(each) for each in (*levels, *ends)))


def free_values(series: np.ndarray) -> float:
    """Return how many independent values a series is worth, 2 at least."""
    count = len(series)
    off = series - series.mean()
    square = float(off @ off)
    if square == 0.0:
        return float(count)
    # The estimate is low by about (1 + 4 r) / n for short series (Kendall 1954; from memory).
    r = float(off[1:] @ off[:-1]) / square
    r = min(max(r + (1.0 + 4.0 * r) / count, 0.0), 0.97)
    return max(count * (1.0 - r) / (1.0 + r), 2.0)
