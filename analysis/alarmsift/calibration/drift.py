"""Tell how fast a detector drifts between its adjustments, and when it reaches a limit.

An adjustment sets the detector back, so a line through readings on both sides of it means
nothing: only pairs of readings between two adjustments are compared. The slope is the median of
all those pairs' slopes (Theil and Sen), its interval comes from Kendall's rank statistic, summed
over the periods as the seasonal test of Hirsch does.

The interval takes the readings as independent. Readings of every visit are not (a warm afternoon
lifts them all): give one value a day, such as the day's median. A single step looks like a trend
too; look for changes first.

References
----------
.. [1] Sen, P. K., "Estimates of the regression coefficient based on Kendall's tau", *JASA* 63
   (1968) 1379-1389.
.. [2] Hirsch, R. M., Slack, J. R., Smith, R. A., "Techniques of trend analysis for monthly water
   quality data", *Water Resources Research* 18 (1982) 107-121.
.. [3] Fieller, E. C., "Some problems in interval estimation", *JRSS B* 16 (1954) 175-185.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final, cast

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray
from scipy import stats

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

MOST_PAIRS: Final = 1_000_000  # more readings are gathered to medians of blocks first
_DAY: Final = 86_400.0  # [s]
_NAN: Final = float("nan")  # no answer


@dataclass(frozen=True)
class Drift:
    """The drift within the periods between adjustments.

    Attributes
    ----------
    slope, low, high : float
        Median slope and the ends of its interval [unit/day]; NaN where no two readings of one
        period can be compared.
    steps : tuple of float
        What each reset did to the level, in order of time [unit]; NaN where a period beside it
        holds no reading.
    score, score_variance : float
        Kendall's S and its variance, summed over the periods [-].
    pairs : int
        Pairs of readings that were compared.
    confidence : float
        Share of intervals that hold the true slope [-].
    """

    slope: float
    low: float
    high: float
    steps: tuple[float, ...]
    score: float
    score_variance: float
    pairs: int
    confidence: float


@dataclass(frozen=True)
class Crossing:
    """When the straight line through the readings reaches a limit.

    Attributes
    ----------
    day, low, high : float
        The crossing and the ends of its interval, in the days of the given times, or days since
        `origin`. Not after the last reading: it lies behind. ``low`` and ``high`` are NaN where
        the slope is too unsure for any finite interval.
    uncertainty : float
        Fieller's g [-]: the interval is finite below 1.
    origin : Timestamp or None
        The first reading's time, where times were given as dates.
    """

    day: float
    low: float
    high: float
    uncertainty: float
    origin: pd.Timestamp | None = None


def drift(
    times: ArrayLike, values: ArrayLike, resets: ArrayLike, *, confidence: float = 0.90
) -> Drift:
    """Return the drift of a detector between its adjustments.

    Parameters
    ----------
    times : array, shape (n,)
        Times of the readings, as dates or as numbers [day]; any order.
    values : array, shape (n,)
        Readings [unit]; NaN is left out.
    resets : array, shape (m,)
        Times of the adjustments, as `times`. A reading at the very moment belongs to the time
        after it.
    confidence : float
        Of the interval [-].

    Returns
    -------
    Drift
        Slope, interval and steps. Above a million pairs the readings are first gathered to
        medians of blocks of equal length, within each period.

    Examples
    --------
    Two units lost at the reset on day 3, and a tenth gained each day on either side:

    >>> found = drift([0, 1, 2, 3, 4, 5], [1.0, 1.1, 1.2, -0.7, -0.6, -0.5], [3])
    >>> round(found.slope, 3), [round(step, 3) for step in found.steps]
    (0.1, [-2.0])
    """
    days, marks, _ = _days(times, resets)
    readings = np.asarray(values, dtype=float)
    days, readings, period = _gathered(*_ordered(days, readings, marks))
    before, after = pairs_within(period)
    run, rise = days[after] - days[before], readings[after] - readings[before]
    run, rise = run[run > 0], rise[run > 0]
    slopes = np.sort(rise / run)
    variance = sum(
        _score_variance(days[period == one], readings[period == one]) for one in np.unique(period)
    )
    slope = float(np.median(slopes)) if len(slopes) else _NAN
    low, high = _rank_interval(slopes, variance, confidence)
    return Drift(
        slope=slope,
        low=low,
        high=high,
        steps=_steps(readings - slope * days, period, len(marks)),
        score=float(np.sign(rise).sum()),
        score_variance=float(variance),
        pairs=len(slopes),
        confidence=confidence,
    )


def pairs_within(period: ArrayLike) -> tuple[Ints, Ints]:
    """Return all pairs of rows that share a period, the earlier row first.

    Parameters
    ----------
    period : array of int, shape (n,)
        The period of each row, never falling.

    Returns
    -------
    before, after : ndarray of int, shape (pairs,)
        Row numbers.

    Examples
    --------
    >>> before, after = pairs_within([0, 0, 0, 1, 1])
    >>> [(int(i), int(j)) for i, j in zip(before, after)]
    [(0, 1), (0, 2), (1, 2), (3, 4)]
    """
    starts = np.flatnonzero(np.diff(np.asarray(period), prepend=-1))
    sizes = np.diff(np.append(starts, len(np.asarray(period))))
    both = [
        np.stack(np.triu_indices(size, 1)) + start
        for start, size in zip(starts, sizes, strict=True)
    ]
    joined = np.concatenate(both, axis=1) if both else np.empty((2, 0), dtype=np.intp)
    return joined[0], joined[1]


def crossing_day(
    times: ArrayLike,
    values: ArrayLike,
    limit: float,
    *,
    resets: ArrayLike = (),
    confidence: float = 0.95,
) -> Crossing:
    """Return when the readings since the last reset will reach a limit if they go on straight.

    Parameters
    ----------
    times, values : array, shape (n,)
        As in `drift` [day], [unit].
    limit : float
        The level asked about [unit].
    resets : array, shape (m,)
        Times of the adjustments; only readings from the last one on are used.
    confidence : float
        Of the interval [-].

    Returns
    -------
    Crossing
        For the line through the readings (least squares) and not for a single reading; all NaN
        with fewer than three readings.

    Examples
    --------
    >>> round(crossing_day([0, 1, 2, 3], [0.0, 1.1, 1.9, 3.0], 5.0).day, 2)
    5.07
    """
    days, marks, origin = _days(times, resets)
    days, readings, period = _ordered(days, np.asarray(values, dtype=float), marks)
    last = period == len(marks)
    days, readings = days[last], readings[last]
    if len(days) < 3 or days[0] == days[-1]:
        return Crossing(_NAN, _NAN, _NAN, _NAN, origin)
    middle, level = days.mean(), readings.mean()
    off = days - middle
    spread = float(off @ off)
    slope = float(off @ readings) / spread
    left = readings - level - slope * off
    noise = float(left @ left) / (len(days) - 2)
    allowed = float(stats.t.ppf(0.5 + confidence / 2.0, len(days) - 2)) ** 2 * noise
    if slope == 0.0:
        return Crossing(_NAN, _NAN, _NAN, float("inf"), origin)
    unsure = allowed / spread / slope**2
    day = middle + (limit - level) / slope
    low, high = _fieller(slope, level - limit, allowed / spread, allowed / len(days))
    return Crossing(float(day), float(middle + low), float(middle + high), unsure, origin)


def _fieller(slope: float, height: float, per_day: float, fixed: float) -> tuple[float, float]:
    """Return the roots of ``(height + slope u)**2 = fixed + per_day u**2``, or NaN twice [day]."""
    square = slope**2 - per_day
    inside = (slope * height) ** 2 - square * (height**2 - fixed)
    if square <= 0.0 or inside < 0.0:
        return _NAN, _NAN
    root = float(np.sqrt(inside))
    return (-slope * height - root) / square, (-slope * height + root) / square


def _days(times: Any, resets: Any) -> tuple[Floats, Floats, pd.Timestamp | None]:
    """Return times and sorted resets in days, and the origin where they were dates."""
    given = np.asarray(times)
    if given.dtype.kind in "fiub":
        return given.astype(float), np.sort(np.asarray(resets, dtype=float)), None
    moments = pd.DatetimeIndex(pd.to_datetime(pd.Series(times), utc=True))
    marks = pd.DatetimeIndex(pd.to_datetime(pd.Series(resets, dtype=object), utc=True))
    origin = cast(pd.Timestamp, moments.min())
    days = np.asarray((moments - origin).total_seconds(), dtype=float) / _DAY
    return days, np.sort(np.asarray((marks - origin).total_seconds(), dtype=float) / _DAY), origin


def _ordered(days: Floats, readings: Floats, marks: Floats) -> tuple[Floats, Floats, Ints]:
    """Return the usable rows in order of time, with the period each one belongs to."""
    usable = np.isfinite(days) & np.isfinite(readings)
    days, readings = days[usable], readings[usable]
    order = np.argsort(days, kind="stable")
    days, readings = days[order], readings[order]
    return days, readings, np.searchsorted(marks, days, side="right")


def _gathered(days: Floats, readings: Floats, period: Ints) -> tuple[Floats, Floats, Ints]:
    """Return medians of blocks of rows, blocks just long enough to keep the pairs in bounds."""
    _, sizes = np.unique(period, return_counts=True)
    block = 1
    while (lots := -(-sizes // block)) @ (lots - 1) / 2 > MOST_PAIRS:
        block += 1
    if block == 1:
        return days, readings, period
    starts = np.cumsum(sizes) - sizes
    within = np.arange(len(days)) - np.repeat(starts, sizes)
    rows = pd.DataFrame({"period": period, "block": within // block, "day": days, "at": readings})
    medians = rows.groupby(["period", "block"], as_index=False).median()
    return (
        medians["day"].to_numpy(dtype=float),
        medians["at"].to_numpy(dtype=float),
        medians["period"].to_numpy(),
    )


def _score_variance(days: Floats, readings: Floats) -> float:
    """Return the variance of Kendall's S of one period without trend, ties taken off."""
    ties = [np.unique(each, return_counts=True)[1] for each in (days, readings)]
    whole = np.array([len(days)])
    terms = [float((size * (size - 1) * (2 * size + 5)).sum()) for size in (whole, *ties)]
    return max(terms[0] - terms[1] - terms[2], 0.0) / 18.0


def _rank_interval(slopes: Floats, variance: float, confidence: float) -> tuple[float, float]:
    """Return the slopes at the two ranks that Sen's equation 2.6 names."""
    if not len(slopes):
        return _NAN, _NAN
    width = float(stats.norm.ppf(0.5 + confidence / 2.0)) * np.sqrt(variance)
    low = max(int(np.round((len(slopes) - width) / 2.0)) - 1, 0)
    high = min(int(np.round((len(slopes) + width) / 2.0)), len(slopes) - 1)
    return float(slopes[low]), float(slopes[high])


def _steps(level: Floats, period: Ints, resets: int) -> tuple[float, ...]:
    """Return the difference of the median level across each reset, drift taken off."""
    medians = pd.Series(level).groupby(period).median().reindex(range(resets + 1))
    return tuple(float(step) for step in medians.diff().to_numpy(dtype=float)[1:])
