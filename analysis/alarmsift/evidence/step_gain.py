"""Weigh two stories of a stretch of readings: trend and noise, with or without a step.

Two stories are fitted to the same stretch: a smooth trend with persistent noise (each reading
remembers a part of the one before, AR(1)), and the same with a step of the level. The gain is
twice the difference of their log-likelihoods, each at its own best persistence. It is asked for
with a straight trend, and again with bent ones: what is only a piece of a daily swing gains
nothing any more once the trend may bend.

The limits were set on simulated series of noise, drift and swing, to stay well under one false
step in ten series, and are checked so in the tests.

References
----------
.. [1] Chakar, S. et al., "A robust approach for estimating change-points in the mean of an AR(1)
   process", *Bernoulli* 23 (2017) 1408-1447.
.. [2] Andrews, D. W. K., "Tests for parameter instability and structural change with unknown
   change point", *Econometrica* 61 (1993) 821-856.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

LIMITS: Final = {1: 16.0, 3: 10.0, 5: 7.0}  # [-] degree of the trend: gain that is asked for
PERSISTENCE: Final = np.array(  # [-] share of a reading's departure that the next one keeps
    [0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.85, 0.9, 0.93, 0.96, 0.98, 0.99, 0.999]
)
_EXACT: Final = 1e-7  # [-] variance under which a fit counts as exact, data being standardised


def gain_over_limit(
    values: Floats,
    at: int,
    *,
    passages: tuple[int, ...],
    rounding: float,
    searched: tuple[int, int],
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
    """
    rows, channels = searched
    wider = 2.0 * np.log(channels) + 2.5 * np.log(max(rows, 30) / 100.0)
    gains = step_gains(values, at, passages=passages, floor=_EXACT + rounding**2 / 12.0)
    return min(gain / (LIMITS[degree] + wider) for degree, gain in gains.items())


def step_gains(
    values: Floats, at: int, *, passages: tuple[int, ...], floor: float
) -> dict[int, float]:
    """Return the gain of a step for each degree of trend that the stretch can carry.

    Parameters
    ----------
    values : ndarray, shape (n,)
        Readings, no gaps [-].
    at : int
        Row of the first reading of the new level.
    passages : tuple of int
        Rows that the level may take from old to new; the best of them counts [rows].
    floor : float
        Variance that no story can explain [-].
    """
    count = len(values)
    degrees = [degree for degree in LIMITS if degree == 1 or count >= 4 * (degree + 3)]
    widest = max(degrees) + 1
    ramps = [_passage(count, at, rows) for rows in passages]
    trend = _trend(count, widest)
    moments = _whitened_moments(np.column_stack([trend, *ramps, values - values.mean()]))
    steps = np.arange(widest, widest + len(passages))
    gains = {}
    for degree in degrees:
        base = np.arange(degree + 1)[None, :]
        with_step = np.column_stack([np.repeat(base, len(steps), axis=0), steps])
        without = _likelihood(moments, base, count, floor)
        best = _likelihood(moments, with_step, count, floor)
        # short stretches fit too well: the usual small-sample factor
        gains[degree] = 2.0 * (best - without) * (count - degree - 3) / count
    return gains


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


def _likelihood(moments: Floats, stories: NDArray[np.intp], count: int, floor: float) -> float:
    """Return the best log-likelihood over persistence and stories, each row of them some terms."""
    inner = moments[:, stories[:, :, None], stories[:, None, :]]  # (persistence, stories, k, k)
    terms = stories.shape[1]
    size = np.trace(inner, axis1=2, axis2=3)[..., None, None] / terms
    inner = inner + 1e-9 * size * np.eye(terms)  # a passage may equal a bent trend
    cross = moments[:, stories, -1]
    told = np.einsum("psi,psi->ps", cross, np.linalg.solve(inner, cross[..., None])[..., 0])
    left = np.maximum(moments[:, -1, -1, None] - told, 0.0) / count + floor
    keeps = 0.5 * np.log(1.0 - PERSISTENCE**2)
    return float(np.max(-0.5 * count * np.log(left) + keeps[:, None]))
