"""How sure a rate of alarms is: a block bootstrap of the raises of each day.

Days are drawn in blocks from the raises that the replay gave on the history as it was. The readings
are never drawn anew: joints between blocks would make crossings that never happened.
"""

from __future__ import annotations

from functools import cache

import numpy as np
from scipy.stats import chi2, norm, t

LEVEL = 0.90  # of the interval [-]
DRAWS = 400
LONGER = 2.5  # than the automatic rule: measured, see block_length [-]
_SEED = 20_260  # the same input gives the same bytes


def rate_interval(daily: np.ndarray, watched: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return the lower and upper bound of the raises in 30 watched days, shape (c,) each.

    Parameters
    ----------
    daily : ndarray, shape (c, d)
        Raises of each day for each setting; the first row is today's setting.
    watched : ndarray, shape (d,)
        Share of each day that was watched [d].

    Notes
    -----
    Circular blocks (Politis and Romano 1992), as long as today's raises stay alike
    (``block_length``). Few blocks tell their own spread badly: it is widened as Student's t is
    against the normal law. Few raises make percentiles too narrow, none makes them nought: the
    bounds are never inside the exact ones (Garwood 1936) of the count over its spread.
    """
    days = daily.shape[1]
    # Most settings share their raises with others. Equal rows have equal marks, and unequal ones
    # in 1 of 10^19 pairs.
    mark = daily.astype(np.uint64) @ _marks(days)
    _, first, back = np.unique(mark, return_index=True, return_inverse=True)
    rows = daily[first]
    total = float(watched.sum())
    count = rows.sum(axis=1)
    tail = (1.0 - LEVEL) / 2.0
    length = block_length(daily[0])
    weight = _weights(days, length)
    seen = np.maximum(weight @ watched, 1e-9)
    drawn = np.sort((weight @ rows.T.astype(float)) / seen[:, None], axis=0)
    edge = round(tail * (DRAWS - 1))
    bounds = drawn[[edge, DRAWS - 1 - edge]]
    # Alarms in clusters tell as much as count / spread alarms that come alone.
    blocks = max(days / length, 2.0)
    wider = float((t.ppf(tail, blocks - 1.0) / norm.ppf(tail)) ** 2)
    spread = np.maximum(wider * drawn.var(axis=0) * total**2 / np.maximum(count, 1), 1.0)
    alone = count / spread
    low = np.where(count > 0, spread * chi2.ppf(tail, 2 * np.maximum(alone, 0.01)) / 2.0, 0.0)
    high = spread * chi2.ppf(1.0 - tail, 2 * (alone + 1)) / 2.0
    scale = 30.0 / max(total, 1e-9)
    lower = np.minimum(low * scale, 30.0 * bounds[0])
    upper = np.maximum(high * scale, 30.0 * bounds[1])
    return lower[back], upper[back]


def block_length(daily: np.ndarray) -> int:
    """Return how many days belong together in a block, from the daily raises, shape (d,).

    Notes
    -----
    The automatic rule for circular blocks of Politis and White (Econometric Reviews 23, 2004),
    as corrected by Patton, Politis and White (28, 2009), but never under d^(1/3) days.
    """
    days = len(daily)
    least = max(1, round(days ** (1.0 / 3.0)))
    around = daily - daily.mean()
    power = float((around**2).mean())
    if power <= 0.0 or days < 10:
        return least
    most = int(np.ceil(min(3.0 * np.sqrt(days), days / 3.0)))
    lags = min(2 * most, days - 1)
    whole = np.correlate(around, around, "full")[days - 1 : days + lags] / days
    run = max(5, int(np.ceil(np.sqrt(np.log10(days)))))
    small = np.abs(whole / power) < 2.0 * np.sqrt(np.log10(days) / days)
    calm = [m for m in range(most) if small[m + 1 : m + 1 + run].all()]
    window = 2 * max(calm[0] if calm else most, 1)
    lag = np.arange(1, min(window, lags) + 1)
    flat = np.clip(2.0 * (1.0 - lag / window), 0.0, 1.0)  # flat top: 1 to the half, then to 0
    slope = 2.0 * float((flat * lag * whole[lag]).sum())
    level = power + 2.0 * float((flat * whole[lag]).sum())
    best = (1.5 * slope**2 / max(level, 1e-9) ** 2 * days) ** (1.0 / 3.0)
    return int(np.clip(round(LONGER * best), least, max(most, least)))


@cache
def _marks(days: int) -> np.ndarray:
    """Return a whole number a day, to know equal rows by their weighted sum (modulo 2^64)."""
    return np.random.default_rng(_SEED).integers(0, 2**64, size=days, dtype=np.uint64)


@cache
def _weights(days: int, length: int) -> np.ndarray:
    """Return how often each day is drawn, shape (DRAWS, days)."""
    rng = np.random.default_rng(_SEED)
    blocks = -(-days // length)
    first = rng.integers(0, days, size=(DRAWS, blocks))
    drawn = (first[:, :, None] + np.arange(length)) % days
    drawn = drawn.reshape(DRAWS, -1)[:, :days] + days * np.arange(DRAWS)[:, None]
    return np.bincount(drawn.ravel(), minlength=DRAWS * days).reshape(DRAWS, days).astype(float)
