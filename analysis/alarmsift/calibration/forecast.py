"""On which day a detector reaches its tolerance if it goes on as it does, with an interval.

Between adjustments a detector drifts along a straight line, and wanders about it: today's error is
tomorrow's too, and its rate changes with the weather. So the course is taken as line + random walk
of the level + random walk of the rate + scatter of single values. How much of the scatter is walk
is not known either: the answer is the mean over many shares, each weighed by how well it fits
(restricted likelihood), no walk before it is seen. With no walk at all the interval is Fieller's,
as `drift.crossing_day` gives it; with walk it is wider, the further ahead the more.

Every period between two adjustments has a level of its own and starts its walk anew; the slope is
one. The forecast says when the line with its walk stands beyond the tolerance, not when a single
reading does, and it holds as long as the detector goes on drifting as it did: no formula knows of a
fault that begins tomorrow.

References
----------
.. [1] Fieller, E. C., "Some problems in interval estimation", *JRSS B* 16 (1954) 175-185.
.. [2] Patterson, H. D., Thompson, R., "Recovery of inter-block information when block sizes are
   unequal", *Biometrika* 58 (1971) 545-554 (restricted likelihood).
.. [3] Harvey, A. C., *Forecasting, structural time series models and the Kalman filter*, Cambridge
   (1989), section 2.3 (level and slope that walk, and noise). From memory, not seen again.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy import linalg, special

Floats = NDArray[np.float64]

CONFIDENCE: Final = 0.90
HORIZON: Final = 365.0  # nothing is foreseen beyond a year [d]
FEWEST: Final = 4  # values, one more than level, slope and scatter ask for
# Variance that the level's walk gains in a day over that of a single value [1/d], and that of the
# rate's walk [1/d^3]; nought twice = a line alone.
_LEVEL_WALKS: Final = (0.0, 0.01, 0.05, 0.2, 1.0, 5.0, 25.0)
_RATE_WALKS: Final = (0.0, 3e-5, 3e-4, 3e-3, 3e-2, 0.3)
_AHEAD: Final = np.concatenate([[0.0], np.geomspace(0.02, HORIZON, 500)])
# How much likelier than any one other share no walk is held to be beforehand, each kind, for values
# of every day; those of a check a month can't show a walk, and without more trust in the line the
# interval would be that of the belief alone (common practice, no source; set on simulated ships).
STEADY_DAILY: Final = 4.0
STEADY_MONTHLY: Final = 60.0
_NAN: Final = float("nan")


@dataclass(frozen=True)
class Forecast:
    """When the tolerance is reached.

    Attributes
    ----------
    crosses, low, high : float
        Median and ends of the interval [d, as the times given]; NaN where it is not reached within
        a year with that chance.
    level, slope : float
        Where the course stands at the last value [unit], and how it goes [unit/day].
    passed : bool
        Whether it stands beyond the tolerance already.
    used : int
        Values that the answer rests on.
    """

    crosses: float
    low: float
    high: float
    level: float
    slope: float
    passed: bool
    used: int


NO_FORECAST: Final = Forecast(_NAN, _NAN, _NAN, _NAN, _NAN, passed=False, used=0)


@dataclass(frozen=True)
class _Fit:
    """The course for one share of walk: mean(t) and variance(t), at the days ahead."""

    weight: float  # ln of the restricted likelihood
    mean: Floats
    spread: Floats
    slope: float


def crossing_forecast(  # noqa: PLR0913  (one question, its data and its terms)
    days: Floats,
    values: Floats,
    *,
    period: NDArray[np.intp],
    limit: float,
    now: float,
    level_error: float = 0.0,
    steady: float = STEADY_DAILY,
) -> Forecast:
    """Return when the course reaches a limit on either side of nought.

    Parameters
    ----------
    days, values : ndarray, shape (n,)
        Times in order [d] and the error of the detector [unit].
    period : ndarray of int, shape (n,)
        The period between adjustments that each value belongs to; the course goes on from the last.
    limit : float
        Tolerance either way [unit].
    now : float
        From which day on to look [d].
    level_error : float
        How far all values may be off together, one standard deviation [unit].
    steady : float
        How much likelier than any one other share no walk is held to be beforehand [-].

    Returns
    -------
    Forecast
        With the CONFIDENCE interval. Nothing with fewer than FEWEST values beyond one a period.

    Examples
    --------
    >>> days = np.arange(10.0)
    >>> values = np.array([1.1, 1.2, 1.6, 1.5, 1.9, 2.1, 2.0, 2.4, 2.6, 2.7])
    >>> one = np.zeros(10, dtype=int)
    >>> found = crossing_forecast(days, values, period=one, limit=5.0, now=9.0)
    >>> [round(float(day)) for day in (found.low, found.crosses, found.high)]
    [18, 22, 28]
    """
    _, period = np.unique(period, return_inverse=True)
    levels = int(period.max()) + 1 if len(period) else 0
    free = len(days) - levels - 1
    if free < FEWEST - 2 or not np.isfinite(limit) or _flat(days, period):
        return NO_FORECAST
    ahead = now + _AHEAD
    fits = [
        _fit(days, values, period, ahead=ahead, walks=(level, rate), steady=steady)
        for level in _LEVEL_WALKS
        for rate in _RATE_WALKS
    ]
    weights = special.softmax([fit.weight for fit in fits])
    beyond = np.zeros(len(ahead))
    for weight, fit in zip(weights, fits, strict=True):
        spread = np.hypot(fit.spread, level_error)
        over = special.stdtr(free, (fit.mean - limit) / spread)
        under = special.stdtr(free, (-limit - fit.mean) / spread)
        beyond += weight * (over + under)
    level = float(sum(w * fit.mean[0] for w, fit in zip(weights, fits, strict=True)))
    slope = float(sum(w * fit.slope for w, fit in zip(weights, fits, strict=True)))
    if beyond[0] >= 0.5 and abs(level) >= limit:
        return Forecast(now, now, now, level, slope, passed=True, used=len(days))
    tail = (1.0 - CONFIDENCE) / 2.0
    low, middle, high = (_first(ahead, beyond, share) for share in (tail, 0.5, 1.0 - tail))
    return Forecast(middle, low, high, level, slope, passed=False, used=len(days))


def _flat(days: Floats, period: NDArray[np.intp]) -> bool:
    """Tell whether no period has two moments, so that no slope can be told."""
    return not any(np.ptp(days[period == one]) > 0.0 for one in np.unique(period))


def _fit(
    days: Floats,
    values: Floats,
    period: NDArray[np.intp],
    *,
    ahead: Floats,
    walks: tuple[float, float],
    steady: float,
) -> _Fit:
    """Return the course at the days ahead for one share of walks (generalised least squares)."""
    last = int(period.max())
    start = np.array([days[period == one].min() for one in range(last + 1)])
    run = days - start[period]
    same = period[:, None] == period[None, :]
    cover = np.eye(len(days)) + same * _covariance(run[:, None], run[None, :], walks)
    middle = float(days.mean())
    design = np.zeros((len(days), last + 2))
    design[np.arange(len(days)), period] = 1.0
    design[:, -1] = days - middle
    root = linalg.cholesky(cover, lower=True)
    x = linalg.solve_triangular(root, design, lower=True)
    y = linalg.solve_triangular(root, values, lower=True)
    inner = np.linalg.inv(x.T @ x)
    beta = inner @ x.T @ y
    left = y - x @ beta
    free = len(days) - design.shape[1]
    # No scatter at all would make the line certain; a display has a step.
    noise = max(float(left @ left) / free, 1e-12)
    still = sum(np.log(steady) for size in walks if size == 0.0)
    logs = 2.0 * np.log(np.diag(root)).sum() - np.linalg.slogdet(inner)[1]
    weight = float(still) - 0.5 * (float(logs) + free * np.log(noise))
    gone = ahead - start[last]
    shared = (period == last)[:, None] * _covariance(run[:, None], gone[None, :], walks)
    near = linalg.solve_triangular(root, shared, lower=True)
    target = np.zeros((len(ahead), design.shape[1]))
    target[:, last] = 1.0
    target[:, -1] = ahead - middle
    mean = target @ beta + near.T @ left
    off = target - near.T @ x
    gained = _covariance(gone, gone, walks) - np.einsum("ij,ij->j", near, near)
    variance = noise * (gained + np.einsum("ij,jk,ik->i", off, inner, off))
    return _Fit(weight, mean, np.sqrt(np.maximum(variance, 1e-18)), float(beta[-1]))


def _covariance(one: Floats, other: Floats, walks: tuple[float, float]) -> Floats:
    """Return the covariance of the walks at two moments since their start, as Wiener processes."""
    soon, late = np.minimum(one, other), np.maximum(one, other)
    level, rate = walks
    return np.asarray(level * soon + rate * soon**2 * (3.0 * late - soon) / 6.0)


def _first(ahead: Floats, beyond: Floats, share: float) -> float:
    """Return the first day on which the chance of standing beyond reaches a share, or NaN."""
    rising = np.maximum.accumulate(beyond)
    at = int(np.searchsorted(rising, share))
    if at >= len(ahead):
        return _NAN
    if at == 0 or rising[at] == rising[at - 1]:
        return float(ahead[at])
    part = (share - rising[at - 1]) / (rising[at] - rising[at - 1])
    return float(ahead[at - 1] + part * (ahead[at] - ahead[at - 1]))
