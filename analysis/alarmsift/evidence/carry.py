"""Carry-over: what share of the previous sample is still there when the next point is read.

It is a property of the analyser and its dwell, so the share is one number for the whole ship:
high readings and what the next point in the round showed right after them tell it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from alarmsift.timeline.visits import Visits

# A previous sample counts as high from this many noise widths, so that the ratio means something.
HIGH_NOISE = 12.0
# More than this is not a rest in the pipework but a line that delivers no own air.
LARGEST_SHARE = 0.3
FEWEST_PAIRS = 6
# High samples this far apart are separate events; so many must agree on a point's own share.
EVENT_HOURS = 6.0
FEWEST_EVENTS = 3


@dataclass(frozen=True)
class Carry:
    """Carry-over of one gas.

    Attributes
    ----------
    share : float
        Share of the previous reading that the next one shows; NaN when too few high readings.
    spread : float
        Spread of that share from pair to pair.
    pairs : int
        High readings that it rests on.
    by_point : ndarray, shape (P,)
        The share at each point: its own where enough separate high samples came before it (a line
        too long for its dwell keeps more), else the ship's; NaN where neither is known.
    """

    share: float
    spread: float
    pairs: int
    by_point: np.ndarray


def fit_carry(
    visits: Visits,
    excess: np.ndarray,
    shown: np.ndarray,
    *,
    noise: np.ndarray,
    healthy: np.ndarray,
    crowded: np.ndarray,
) -> Carry:
    """Return the carry-over share of one gas.

    Parameters
    ----------
    excess : ndarray, shape (n,)
        Reading less shared zero and own background; blank during tests.
    shown : ndarray, shape (n,)
        The same, with readings during tests kept: what was in the pipework.
    noise : ndarray, shape (P,)
    healthy : ndarray of bool, shape (n,)
        Lines that deliver their own air.
    crowded : ndarray of bool, shape (n,)
        Visits while many points were high at once, or near a calibration.
    """
    previous = visits.previous
    has = previous >= 0
    before = np.where(has, shown[previous], np.nan)
    elsewhere = has & (visits.point[previous] != visits.point)
    high = before > HIGH_NOISE * noise[visits.point[previous]]
    use = elsewhere & high & healthy & np.isfinite(excess) & ~crowded
    n_points = len(visits.points)
    if use.sum() < FEWEST_PAIRS:
        unknown = np.full(n_points, np.nan)
        return Carry(float("nan"), float("nan"), int(use.sum()), unknown)
    ratio = np.clip(excess[use] / before[use], -0.2, 1.5)
    pair = visits.point[use] * n_points + visits.point[previous[use]]
    by_pair = pd.Series(ratio).groupby(pair).median()
    share = float(np.median(by_pair)) if len(by_pair) >= 3 else float(np.median(ratio))
    spread = 1.4826 * float(np.median(np.abs(ratio - share)))
    if share > LARGEST_SHARE:
        share = float("nan")
    usual = max(share, 0.0) if np.isfinite(share) else np.nan
    # Test gas and deck vapour stand at several points in turn: no carry-over can be told there.
    # The sample before that one must have been low: else the high air stood there for long.
    second = np.where(has, previous[previous], -1)
    earlier = np.where(second >= 0, shown[second], np.nan)
    alone = use & ~(earlier > 0.6 * before)
    rate = np.clip(excess[alone] / before[alone], -0.2, 1.5)
    own = _by_point(visits.point[alone], visits.hours[alone], rate, n_points)
    return Carry(usual, max(spread, 0.01), int(use.sum()), np.where(np.isfinite(own), own, usual))


def _by_point(point: np.ndarray, hours: np.ndarray, ratio: np.ndarray, n: int) -> np.ndarray:
    """Return each point's own share where separate high samples agree on it, shape (n,)."""
    event = point * 1_000_000 + (hours // EVENT_HOURS).astype("int64")
    by_event = pd.Series(ratio).groupby(event).median()
    of_point = (by_event.index.to_numpy() // 1_000_000).astype(int)
    out = np.full(n, np.nan)
    for p in np.unique(of_point):
        values = by_event.to_numpy()[of_point == p]
        middle = float(np.median(values))
        spread = 1.4826 * float(np.median(np.abs(values - middle)))
        if len(values) >= FEWEST_EVENTS and spread < max(0.3 * abs(middle), 0.02):
            out[p] = min(max(middle, 0.0), 0.95)
    return out
