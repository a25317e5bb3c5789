"""Alarms a day after a repair against before, with an interval that holds for few alarms too.

Given the sum of two Poisson counts, each is binomial [1]_: the share that came after has Jeffreys'
interval, which holds the truth as often as it says and not far oftener, as the exact one does for
few alarms [2]_; the ratio of the rates follows from it. Where alarms come in clusters, a cluster of
five says no more than one alarm: counts are first divided by their dispersion (mean square over
mean of the cluster's size, the variance of a compound Poisson count over its mean). Alarms that
come no closer together than chance brings are counted one by one: the gaps of alarms that come by
chance are exponential, and what a gap is longer than any limit is so too [3]_.

References
----------
.. [1] Przyborowski, J., Wilenski, H., "Homogeneity of results in testing samples from Poisson
   series", *Biometrika* 31 (1940) 313-323.
.. [2] Brown, L. D., Cai, T. T., DasGupta, A., "Interval estimation for a binomial proportion",
   *Statistical Science* 16 (2001) 101-133.
.. [3] Cox, D. R., Lewis, P. A. W., *The Statistical Analysis of Series of Events*, Methuen (1966),
   ch. 6 (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy import stats

CONFIDENCE: Final = 0.90
# Alarms nearer together than this can be one cluster [h] (common practice, no source).
CLUSTER_HOURS: Final = 1.5
# Chance at which as many short gaps are no longer put down to chance [-]; rather high, for to take
# one cluster for many alarms misleads more than the reverse (common practice, no source).
LEVEL: Final = 0.2
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


def in_clusters(*hours: np.ndarray) -> bool:
    """Tell whether alarms come closer together than chance alone would bring them.

    Parameters
    ----------
    hours : ndarray, shape (n,)
        Of alarms in order, each stretch of time by itself.

    Examples
    --------
    Gaps of 8.4 hours, 6.9 beyond the limit: 1 - 0.5 ** (1.5 / 6.9) = 14 % of all gaps would be
    short by chance. One of six or more is no wonder (60 %); four of nine or more are (2.7 %).

    >>> apart = 8.4 * np.arange(6)
    >>> bunch = apart[-1] + 0.5 * np.arange(1, 5)
    >>> in_clusters(np.append(apart, bunch[:1])), in_clusters(np.append(apart, bunch))
    (False, True)
    """
    gaps = np.concatenate([np.diff(one) for one in hours])
    gaps = gaps[gaps > 0.0]  # two levels of one visit are one alarm
    beyond = gaps[gaps > CLUSTER_HOURS] - CLUSTER_HOURS
    short = len(gaps) - len(beyond)
    if not short or not len(beyond):
        return bool(short)
    # The median of an exponential law is ln 2 means; a few long rests do not move it.
    chance = 1.0 - 0.5 ** (CLUSTER_HOURS / float(np.median(beyond)))
    return bool(stats.binom.sf(short - 1, len(gaps), chance) <= LEVEL)


def clusters(hours: np.ndarray, *, within: float = CLUSTER_HOURS) -> np.ndarray:
    """Return the cluster of each alarm, numbered from 0; ``hours`` in order, shape (n,)."""
    return np.cumsum(np.diff(hours, prepend=hours[:1]) > within)


def dispersion_of(*sizes: np.ndarray) -> float:
    """Return variance over mean of counts that are made of clusters of such sizes [-].

    Examples
    --------
    >>> dispersion_of(np.array([1, 1, 4]))
    3.0
    """
    every = np.concatenate(sizes).astype(float)
    return float((every**2).sum() / every.sum()) if len(every) else 1.0
