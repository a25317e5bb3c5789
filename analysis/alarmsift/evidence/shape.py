"""Measuring tools for the shape of an excursion in the windows."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from alarmsift.evidence.windows import Windows

# A visit belongs to the excursion while it shows at least this share of the excess at the raise.
RUN_SHARE = 0.4
# The excess must stand out of the noise by this many widths to have a shape at all.
CLEAR_NOISE = 3.0
# A decay is looked for in so many hours after the raise.
DECAY_HOURS = 5.0


@dataclass(frozen=True)
class Run:
    """The unbroken excursion around each raise.

    Attributes
    ----------
    first, last : ndarray of int, shape (E,)
        Columns of the windows.
    visits : ndarray, shape (E,)
        Valid visits in it.
    hours : ndarray, shape (E,)
        From first to last.
    ended : ndarray of bool, shape (E,)
        Whether its end was seen.
    """

    first: np.ndarray
    last: np.ndarray
    visits: np.ndarray
    hours: np.ndarray
    ended: np.ndarray


@lru_cache(maxsize=4)
def run_of(w: Windows, share: float = RUN_SHARE) -> Run:
    """Return the excursion around each raise: two low visits in a row end it."""
    limit = np.maximum(share * w.x0, 2.0 * w.noise)[:, None]
    after, before = w.after(w.x), w.before(w.x)[:, ::-1]
    n_after, ended = _until_two_low(after[:, 1:], limit)
    n_before, _ = _until_two_low(before, limit)
    first, last = w.at - n_before, w.at + n_after
    column = np.arange(w.x.shape[1])[None, :]
    inside = (column >= first[:, None]) & (column <= last[:, None])
    visits = (inside & (w.x >= limit)).sum(axis=1)
    rows = np.arange(len(w))
    hours = w.rel[rows, last] - w.rel[rows, first]
    # Readings in one turn (the round stood still) are one visit.
    turns = hours / w.ship.visits.cycle_hours + 1.3
    return Run(first, last, np.minimum(visits.astype(float), turns), hours, ended)


def _until_two_low(x: np.ndarray, limit: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return how many columns belong to the run, and whether its end was seen."""
    if x.shape[1] == 0:
        return np.zeros(len(x), int), np.zeros(len(x), bool)
    low, high = x < limit, x >= limit
    width = x.shape[1]
    # Next valid visit after each one: is it low too?
    next_low = np.zeros_like(low)
    state = np.zeros(len(x), bool)
    for column in range(width - 1, -1, -1):  # columns, not rows: at most a few hundred
        next_low[:, column] = state
        valid = low[:, column] | high[:, column]
        state = np.where(valid, low[:, column], state)
    stop = low & next_low
    ended = np.asarray(stop.any(axis=1))
    end = np.where(ended, stop.argmax(axis=1), width)
    inside_high = high & (np.arange(width)[None, :] < end[:, None])
    last_high = np.where(inside_high.any(axis=1), width - inside_high[:, ::-1].argmax(axis=1), 0)
    return last_high.astype(int), ended


def nearest_valid(x: np.ndarray, reach: int = 6) -> np.ndarray:
    """Return the first valid value of each row among its first ``reach`` columns, shape (E,)."""
    head = x[:, :reach]
    if not head.shape[1]:
        return np.full(len(x), np.nan)
    good = np.isfinite(head)
    value = head[np.arange(len(head)), good.argmax(axis=1)]
    return np.where(good.any(axis=1), value, np.nan)


def row_nanmedian(x: np.ndarray) -> np.ndarray:
    """Return the median of each row, NaN for rows without a value, shape (E,)."""
    good = np.isfinite(x).any(axis=1) if x.shape[1] else np.zeros(len(x), bool)
    out = np.full(len(x), np.nan)
    if good.any():
        out[good] = np.nanmedian(x[good], axis=1)
    return out


def row_nanmax(x: np.ndarray) -> np.ndarray:
    """Return the largest of each row, NaN for rows without a value, shape (E,)."""
    filled = np.where(np.isfinite(x), x, -np.inf)
    top = filled.max(axis=1) if x.shape[1] else np.full(len(x), -np.inf)
    return np.where(np.isfinite(top), top, np.nan)


def clear_excess(w: Windows) -> np.ndarray:
    """Tell where the excess at the raise stands clear of the noise, shape (E,)."""
    return w.x0 > CLEAR_NOISE * w.noise


def jump_share(w: Windows) -> np.ndarray:
    """Return the largest part of the excess that came within one visit, shape (E,).

    Looked for from just before the excursion to the visit that raised (an alarm may need several
    visits in a row). 1 = from rest to full height in one visit; near 0 = it crept up. NaN where
    the excursion is older than the window: nobody saw it come.
    """
    run = run_of(w)
    column = np.arange(w.at + 1)[None, :]
    climbing = (column >= run.first[:, None]) & (column <= w.at)
    last = _last_valid(w.x[:, : w.at + 1])
    step = w.x[:, : w.at + 1] - np.maximum(last, 0.0)
    largest = row_nanmax(np.where(climbing, step, np.nan))
    top = row_nanmax(np.where(climbing, w.x[:, : w.at + 1], np.nan))
    seen = np.isfinite(last[np.arange(len(w)), run.first]) & (run.first > 2)
    known = clear_excess(w) & seen
    return np.where(known, np.clip(largest / np.where(top > 0, top, np.nan), 0.0, 1.0), np.nan)


def _last_valid(x: np.ndarray) -> np.ndarray:
    """Return, for each column, the last valid value before it; NaN where none is near."""
    out = np.full_like(x, np.nan)
    for back in range(1, 5):
        shifted = np.full_like(x, np.nan)
        shifted[:, back:] = x[:, :-back] if back else x
        out = np.where(np.isfinite(out), out, shifted)
    return out


@dataclass(frozen=True)
class Decay:
    """A log-linear fit to what follows the top of an excursion.

    Attributes
    ----------
    tau : ndarray, shape (E,)
        Time constant [h]; NaN where it does not fall.
    fit : ndarray, shape (E,)
        Share of the variance of the logarithm that the line explains.
    visits : ndarray, shape (E,)
    fallen : ndarray, shape (E,)
        Share that it fell by over the visits fitted.
    """

    tau: np.ndarray
    fit: np.ndarray
    visits: np.ndarray
    fallen: np.ndarray


def decay_of(w: Windows, run: Run) -> Decay:
    """Return the exponential decay from the raise to the end of the excursion.

    Log-linear, on visits well above the noise only (the logarithm of noise means nothing).
    """
    column = np.arange(w.x.shape[1])[None, :]
    use = (column >= np.maximum(run.first, w.at - 3)[:, None]) & (
        column <= np.minimum(run.last + 3, w.x.shape[1] - 1)[:, None]
    )
    use &= w.x > np.maximum(2.0 * w.noise, 0.05 * w.x0)[:, None]
    # What dries out does so from the first hour; a plateau that ends at last is another story.
    use &= w.rel <= DECAY_HOURS
    count = use.sum(axis=1)
    y = np.log(np.where(use, w.x, 1.0))
    t = np.where(use, np.nan_to_num(w.rel), 0.0)
    n = np.maximum(count, 1)
    mean_t, mean_y = t.sum(axis=1) / n, np.where(use, y, 0.0).sum(axis=1) / n
    dt, dy = np.where(use, t - mean_t[:, None], 0.0), np.where(use, y - mean_y[:, None], 0.0)
    tt, ty, yy = (dt * dt).sum(axis=1), (dt * dy).sum(axis=1), (dy * dy).sum(axis=1)
    slope = ty / np.where(tt > 0, tt, np.nan)
    fit = ty**2 / np.where(tt * yy > 0, tt * yy, np.nan)
    tau = np.where(slope < 0, -1.0 / np.where(slope < 0, slope, np.nan), np.nan)
    span = np.where(use, t, -np.inf).max(axis=1) - np.where(use, t, np.inf).min(axis=1)
    fallen = 1.0 - np.exp(np.minimum(slope * np.where(count > 0, span, 0.0), 0.0))
    return Decay(tau, np.where(count >= 3, fit, np.nan), count.astype(float), fallen)
