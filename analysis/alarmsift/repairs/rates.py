"""Alarms a day after a repair against before, with an interval that holds for few alarms too.

Given the sum of two Poisson counts, each is binomial [1]_: the share that came after has Jeffreys'
interval, which holds the truth as often as it says and not far oftener, as the exact one does for
few alarms [2]_; the ratio of the rates follows from it. Alarms come in clusters, and a cluster of
five says no more than one alarm: counts are first divided by their dispersion (mean square over
mean of the cluster's size, the variance of a compound Poisson count over its mean).

References
----------
.. [1] Przyborowski, J., Wilenski, H., "Homogeneity of results in testing samples from Poisson
   series", *Biometrika* 31 (1940) 313-323.
.. [2] Brown, L. D., Cai, T. T., DasGupta, A., "Interval estimation for a binomial proportion",
   *Statistical Science* 16 (2001) 101-133.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy import stats

CONFIDENCE: Final = 0.90
# Alarms nearer together than this are one cluster [h] (common practice, no source).
CLUSTER_HOURS: Final = 1.5
_NAN: Final = float("nan")


@dataclass(frozen=True)
class RateRatio:
    """Rate after over rate before [-], with the ends of its interval; NaN where neither has any."""

    ratio: float
    low: float
    high: float


def rate_ratio(
    before: float,
    after: float,
    *,
    days: tuple[float, float],
    dispersion: float = 1.0,
    confidence: float = CONFIDENCE,
) -> RateRatio:
    """Return the ratio of two alarm rates with its interval.

    Parameters
    ----------
    before, after : float
        Alarms [-].
    days : pair of float
        Watched before and after [d].
    dispersion : float
        Variance of such counts over their mean [-], 1 for alarms that come one by one.
    confidence : float
        Of the interval [-].

    Examples
    --------
    Eight alarms in ten days, then two in twenty:

    >>> found = rate_ratio(8, 2, days=(10.0, 20.0))
    >>> round(found.ratio, 3), round(found.low, 3), round(found.high, 3)
    (0.125, 0.032, 0.413)
    """
    if min(days) <= 0.0 or before + after <= 0.0:
        return RateRatio(_NAN, _NAN, _NAN)
    exposure = days[0] / days[1]
    tail = (1.0 - confidence) / 2.0
    a, b = after / dispersion, before / dispersion
    low = float(stats.beta.ppf(tail, a + 0.5, b + 0.5)) if a > 0.0 else 0.0
    high = float(stats.beta.ppf(1.0 - tail, a + 0.5, b + 0.5)) if b > 0.0 else 1.0
    return RateRatio(
        ratio=after / before * exposure if before > 0.0 else float("inf"),
        low=low / (1.0 - low) * exposure,
        high=high / (1.0 - high) * exposure if high < 1.0 else float("inf"),
    )


def clusters(hours: np.ndarray) -> np.ndarray:
    """Return the cluster of each alarm, numbered from 0; ``hours`` in order, shape (n,)."""
    return np.cumsum(np.diff(hours, prepend=hours[:1]) > CLUSTER_HOURS)


def dispersion_of(*sizes: np.ndarray) -> float:
    """Return variance over mean of counts that are made of clusters of such sizes [-].

    Examples
    --------
    >>> dispersion_of(np.array([1, 1, 4]))
    3.0
    """
    every = np.concatenate(sizes).astype(float)
    return float((every**2).sum() / every.sum()) if len(every) else 1.0
