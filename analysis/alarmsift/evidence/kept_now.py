"""What share of the sample before them do points keep at the time of each alarm?

A passing valve or a dead volume keeps a share of every sample while it lasts, at whatever point
comes next; the ship's usual share does not know of it.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from alarmsift.evidence.shape import row_nanmedian
from alarmsift.evidence.windows import Windows

WITHIN_HOURS = 6.0
MOST = 60  # pairs looked at on either side
HIGH_NOISE = 10.0  # a sample is high from so many noise widths
FEWEST = 3


@dataclass(frozen=True)
class Kept:
    """Shares of the sample before, shape (E,): at the alarm's own point, and at the others then.

    NaN where the sample before was not high, or too few other points came after a high one.
    """

    own: np.ndarray
    others: np.ndarray


@lru_cache(maxsize=2)
def kept_now(w: Windows) -> Kept:
    """Return what share of the sample before them this point and the others kept."""
    visits, before = w.ship.visits, w.ship.visits.previous
    own, others = np.full((2, len(w)), np.nan)
    for gas in visits.gases:
        rows = np.flatnonzero((w.gas == gas) & (w.point >= 0) & np.isfinite(w.x0))
        if not len(rows) or gas == "O2":
            continue
        shown, noise = w.ship.shown[gas], w.ship.noise[gas][visits.point]
        source = np.where(before >= 0, shown[before], np.nan)
        high = (source > HIGH_NOISE * noise) & np.isfinite(shown) & (before >= 0)
        high &= ~w.ship.near[visits.point, visits.point[before]]
        pair = np.flatnonzero(high)
        loud = w.prev[rows, w.at] > HIGH_NOISE * w.noise[rows]
        ratio = w.x0[rows] / np.maximum(w.prev[rows, w.at], 1e-9)
        own[rows] = np.where(loud, ratio, np.nan)
        if not len(pair):
            continue
        kept = np.clip(shown[pair] / source[pair], 0.0, 2.0)
        middle = np.searchsorted(visits.hours[pair], w.raised[rows])
        index = middle[:, None] + np.arange(-MOST, MOST)[None, :]
        inside = (index >= 0) & (index < len(pair))
        index = np.clip(index, 0, len(pair) - 1)
        inside &= np.abs(visits.hours[pair[index]] - w.raised[rows][:, None]) < WITHIN_HOURS
        inside &= visits.point[pair[index]] != w.point[rows][:, None]
        theirs = row_nanmedian(np.where(inside, kept[index], np.nan))
        others[rows] = np.where(inside.sum(axis=1) >= FEWEST, theirs, np.nan)
    return Kept(own, others)
