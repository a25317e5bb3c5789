"""Weigh two stories of a stretch of readings: trend and noise, with or without a step.

Either story has a smooth trend, bent as little as will do, with the swing of the day where the
series has one, and persistent noise (each reading remembers a part of the one before, AR(1)). The
gain of a step is twice the difference of the best log-likelihoods with and without it, each story
choosing its own trend and persistence and paying for every term of the trend (the Bayesian
information criterion). So a plain stretch shows small steps, and a piece of a swing shows none.
A third story is a passage over many rows, a drift: where it tells the stretch better, there is no
step.

The limits were set on simulated series of noise, drift and swing, to stay well under one false
step in ten series, and are checked so in the tests.

References
----------
.. [1] Chakar, S. et al., "A robust approach for estimating change-points in the mean of an AR(1)
   process", *Bernoulli* 23 (2017) 1408-1447.
.. [2] Andrews, D. W. K., "Tests for parameter instability and structural change with unknown
   change point", *Econometrica* 61 (1993) 821-856.
.. [3] Schwarz, G., "Estimating the dimension of a model", *Annals of Statistics* 6 (1978) 461-464.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

LIMIT: Final = 15.0  # [-] gain that is asked for in 100 rows of one channel
LIMIT_MORE: Final = 2.5  # [-] more of it for each factor e of rows and of channels searched
DRIFT_BETTER: Final = 3.0  # [-] gain of a slow passage over every step, to call it a drift
MOST_BENT: Final = 9  # [-] highest degree of the trend
ROWS_A_TERM: Final = 6  # [rows] that a stretch must have for each degree of its trend
SLOW: Final = (24, 48, 96)  # [rows] passages that are a drift
PERSISTENCE: Final = np.array(  # [-] share of a reading's departure that the next one keeps
    [0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.85, 0.9, 0.93, 0.96, 0.98, 0.99, 0.999]
)
_EXACT: Final = 1e-7  # [-] variance under which a fit counts as exact, data being standardised


def gain_over_limit(  # noqa: PLR0913 - what a stretch is like, each in its own word
    values: Floats,
    at: int,
    *,
    passages: tuple[int, ...],
    rounding: float,
    searched: tuple[int, int],
    tails: tuple[float, float] = (0.0, 0.0),
    swing: Floats | None = None,
) -> float:
    """Return the gain of a step in units of the limit; 1 and more is a step.

    Parameters
    ----------
    values : ndarray, shape (n,)
        Readings around the candidate, no gaps, about unit variance [-].
    at : int
        Row of the first reading of the new level.
    passages : tuple of int
        Rows that the level may take from old to new; 0 is sudden [rows].
    rounding : float
        Display step [-, as `values`]; noise under a twelfth of its square is rounding.
    searched : tuple of int
        Rows and channels of the whole search: the wider it was, the more is asked for.
    tails : tuple of float
        Skewness and excess kurtosis of the noise: means of few such readings stray further than
        normal ones, so that more is asked for [-].
    swing : ndarray, shape (n, k), optional
        Waves of the daily swing at these rows (`alarmsift.evidence.swing.waves`).
    """
    rows, channels = searched
    limit = LIMIT + LIMIT_MORE * float(np.log(channels * max(rows, 30) / 100.0))
    skewness, excess = tails
    short = min(at, len(values) - at)
    # the next terms of the exponent of a mean's tail (Edgeworth), at the limit itself
    limit *= 1.0 + skewness * np.sqrt(limit / short) / 3.0 + excess * limit / short / 12.0
    gain = _gain(values, at, passages, swing, floor=_EXACT + rounding**2 / 12.0)
    return gain / limit


def _gain(
    values: Floats,
    at: int,
    passages: tuple[int, ...],
    swing: Floats | None,
    *,
    floor: float,
) -> float:
    """Return the gain of a step over the best story without one; 0 where a drift tells it better.

    `floor` is a variance that no story can explain.
    """
    count = len(values)
    terms = 1 + int(np.clip(count // ROWS_A_TERM - 1, 1, MOST_BENT))
    slow = tuple(rows for rows in SLOW if rows <= count // 2)
    steps = [_passage(count, at, rows) for rows in (*passages, *slow)]
    told = np.column_stack([*steps, values - values.mean()])
    chains = [(_trend(count, terms), 1)]
    if swing is not None:
        bent = _trend(count, min(terms, 6))
        chains.append((np.column_stack([bent[:, :1], swing, bent[:, 1:]]), 1 + swing.shape[1]))
    without, sudden, drifting = np.max(
        [_chain(trend, told, least, len(passages), floor) for trend, least in chains], axis=0
    )
    return 0.0 if drifting > sudden + DRIFT_BETTER else float(sudden - without)


def _chain(trend: Floats, told: Floats, least: int, sudden: int, floor: float) -> Floats:
    """Return the criterion of the best story without a step, with a sudden one, with a slow one.

    The trend's terms are taken in their order, at least so many; the columns told are the steps,
    the sudden ones first, and the readings last.
    """
    count, terms = trend.shape
    moments = _whitened_moments(np.column_stack([trend, told]))
    inner = moments[:, :terms, :terms]
    size = np.trace(inner, axis1=1, axis2=2)[:, None, None] / terms
    root = np.linalg.cholesky(inner + 1e-9 * size * np.eye(terms))
    cross = np.linalg.solve(root, moments[:, :terms, terms:])  # (persistence, terms, told)
    products = moments[:, None, terms:, -1] - np.cumsum(cross * cross[..., -1:], axis=1)
    diagonal = np.diagonal(moments, axis1=1, axis2=2)[:, None, terms:]
    squares = (diagonal - np.cumsum(cross**2, axis=1))[..., :-1]
    left = np.maximum(products[..., -1], 0.0)
    # a step that the trend can tell as well (all but a millionth of it) gains nothing
    usable = squares > 1e-6 * diagonal[..., :-1]
    gained = np.where(usable, products[..., :-1] ** 2 / np.where(usable, squares, 1.0), 0.0)
    every = np.concatenate([left[..., None], np.maximum(left[..., None] - gained, 0.0)], axis=-1)
    used = np.arange(1, terms + 1)
    scores = -(count - 3) * np.log(every / count + floor)
    scores += np.log(1.0 - PERSISTENCE**2)[:, None, None]
    # in short stretches a term fits more than its share, as in Akaike's corrected criterion
    scores -= (used * np.log(count) * count / (count - used - 2.0))[:, None]
    best = scores[:, least - 1 :].max(axis=(0, 1))
    slow = best[1 + sudden :].max(initial=-np.inf)
    return np.array([best[0], best[1 : 1 + sudden].max(), slow])


@lru_cache(maxsize=512)  # most stretches are of one length
def _trend(count: int, terms: int) -> Floats:
    """Return Legendre polynomials over a stretch, shape (count, terms)."""
    trend = np.polynomial.legendre.legvander(np.linspace(-1.0, 1.0, count), terms - 1)
    trend.flags.writeable = False
    return np.asarray(trend)


def _passage(count: int, at: int, rows: int) -> Floats:
    """Return a step from 0 to 1 that takes some rows around its middle, about its mean."""
    row = np.arange(count, dtype=float)
    rise = (row >= at).astype(float) if rows == 0 else np.clip((row - at + 0.5) / rows + 0.5, 0, 1)
    return np.asarray(rise - rise.mean())


def _whitened_moments(columns: Floats) -> Floats:
    """Return the cross products of columns, shape (n, k), freed of each persistence: (p, k, k)."""
    lagged = columns[1:].T @ columns[:-1]
    phi = PERSISTENCE[:, None, None]
    moments = columns[1:].T @ columns[1:] - phi * (lagged + lagged.T)
    moments = moments + phi**2 * (columns[:-1].T @ columns[:-1])
    return np.asarray(moments + (1.0 - phi**2) * np.outer(columns[0], columns[0]))
