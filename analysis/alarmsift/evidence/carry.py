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
    """

    share: float
    spread: float
    pairs: int


def fit_carry(
    visits: Visits, excess: np.ndarray, shown: np.ndarray, noise: np.ndarray, healthy: np.ndarray
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
    """
    previous = visits.previous
    has = previous >= 0
    before = np.where(has, shown[previous], np.nan)
    elsewhere = has & (visits.point[previous] != visits.point)
    high = before > HIGH_NOISE * noise[visits.point[previous]]
    use = elsewhere & high & healthy & np.isfinite(excess)
    if use.sum() < FEWEST_PAIRS:
        return Carry(float("nan"), float("nan"), int(use.sum()))
    ratio = np.clip(excess[use] / before[use], -0.2, 1.5)
    pair = visits.point[use] * len(visits.points) + visits.point[previous[use]]
    by_pair = pd.Series(ratio).groupby(pair).median()
    share = float(np.median(by_pair)) if len(by_pair) >= 3 else float(np.median(ratio))
    if share > LARGEST_SHARE:
        return Carry(float("nan"), float("nan"), int(use.sum()))
    spread = 1.4826 * float(np.median(np.abs(ratio - share)))
    return Carry(max(share, 0.0), max(spread, 0.01), int(use.sum()))
