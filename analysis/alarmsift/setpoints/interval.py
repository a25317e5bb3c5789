"""How sure a rate of alarms is: a block bootstrap of the raises of each day.

Days are drawn in blocks from the raises that the replay gave on the history as it was. The readings
are never drawn anew: joints between blocks would make crossings that never happened.
"""

from __future__ import annotations

import numpy as np
from scipy.stats import chi2

LEVEL = 0.90  # of the interval [-]
DRAWS = 400
_SEED = 20_260  # the same input gives the same bytes


def rate_interval(daily: np.ndarray, watched: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return the lower and upper bound of the raises in 30 watched days, shape (c,) each.

    Parameters
    ----------
    daily : ndarray, shape (c, d)
        Raises of each day for each setting.
    watched : ndarray, shape (d,)
        Share of each day that was watched [d].

    Notes
    -----
    Circular blocks of about d^(1/3) days (Politis and Romano 1992; the order of length is that of
    Politis and White 2004). Few raises make percentiles too narrow, none makes them nought: the
    bounds are never inside the exact ones (Garwood 1936) of the count over its spread.
    """
    days = daily.shape[1]
    rows, back = np.unique(daily, axis=0, return_inverse=True)
    back = back.reshape(-1)
    total = float(watched.sum())
    count = rows.sum(axis=1)
    tail = (1.0 - LEVEL) / 2.0
    weight = _weights(days)
    seen = np.maximum(weight @ watched, 1e-9)
    drawn = np.sort((weight @ rows.T.astype(float)) / seen[:, None], axis=0)
    edge = round(tail * (DRAWS - 1))
    bounds = drawn[[edge, DRAWS - 1 - edge]]
    # Alarms in clusters tell as much as count / spread alarms that come alone.
    spread = np.maximum(drawn.var(axis=0) * total**2 / np.maximum(count, 1), 1.0)
    alone = count / spread
    low = np.where(count > 0, spread * chi2.ppf(tail, 2 * np.maximum(alone, 0.01)) / 2.0, 0.0)
    high = spread * chi2.ppf(1.0 - tail, 2 * (alone + 1)) / 2.0
    scale = 30.0 / max(total, 1e-9)
    lower = np.minimum(low * scale, 30.0 * bounds[0])
    upper = np.maximum(high * scale, 30.0 * bounds[1])
    return lower[back], upper[back]


def _weights(days: int) -> np.ndarray:
    """Return how often each day is drawn, shape (DRAWS, days)."""
    rng = np.random.default_rng(_SEED)
    length = max(1, round(days ** (1.0 / 3.0)))
    blocks = -(-days // length)
    first = rng.integers(0, days, size=(DRAWS, blocks))
    drawn = (first[:, :, None] + np.arange(length)) % days
    drawn = drawn.reshape(DRAWS, -1)[:, :days] + days * np.arange(DRAWS)[:, None]
    return np.bincount(drawn.ravel(), minlength=DRAWS * days).reshape(DRAWS, days).astype(float)
