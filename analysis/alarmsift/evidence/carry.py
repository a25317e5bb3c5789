"""Carry-over: what share of the previous sample is still there when the next point is read.

It is a property of the analyser and its dwell, so the share is one number for the whole ship:
high readings and what the next point in the round showed right after them tell it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from alarmsift.evidence.shorth import shorth
from alarmsift.timeline.visits import Visits

# A previous sample counts as high from this many noise widths, so that the ratio means something.
HIGH_NOISE = 12.0
# More than this is not a rest in the pipework but a line that delivers no own air.
LARGEST_SHARE = 0.5
FEWEST_PAIRS = 6
# High samples this far apart are separate events; so many must agree on a point's own share.
EVENT_HOURS = 6.0
FEWEST_EVENTS = 4


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
    shown: np.ndarray,
    *,
    rest: np.ndarray,
    noise: np.ndarray,
    usable: np.ndarray,
    kin: np.ndarray,
) -> Carry:
    """Return the carry-over share of one gas.

    Only what came up within the last half day counts, on both sides: a steady sample before a
    point becomes part of that point's own background.

    Parameters
    ----------
    shown : ndarray, shape (n,)
        Readings less zero and background.
    rest : ndarray, shape (n,)
        What the point showed over the half day before.
    noise : ndarray, shape (P,)
    usable : ndarray of bool, shape (n,)
        Clean lines, not while many points were high at once, not near a calibration.
    kin : ndarray of bool, shape (P, P)
        Points that share a space or are neighbours: gas at one may well be gas at the other.
    """
    previous, n_points = visits.previous, len(visits.points)
    has = previous >= 0
    fresh = shown - rest
    before = np.where(has, fresh[previous], np.nan)
    related = np.where(has, kin[visits.point, visits.point[previous]], False)
    elsewhere = has & (visits.point[previous] != visits.point) & ~related
    high = before > HIGH_NOISE * noise[visits.point[previous]]
    # A disturbance leaves nothing behind: the sample must have been high twice in a row.
    again = _beside(visits, fresh)
    use = elsewhere & high & usable & np.isfinite(fresh)
    use &= np.where(has, again[previous], np.nan) > 0.4 * before
    unknown = np.full(n_points, np.nan)
    if use.sum() < FEWEST_PAIRS:
        return Carry(float("nan"), float("nan"), int(use.sum()), unknown)
    ratio = np.clip(fresh[use] / before[use], -0.2, 1.5)
    share = shorth(ratio)
    spread = 1.4826 * float(np.median(np.abs(ratio - share)))
    usual = max(share, 0.0) if share <= LARGEST_SHARE else np.nan
    own = _by_point(visits.point[use], visits.hours[use], ratio, n_points)
    shares = np.where(np.isfinite(own), own, usual)
    return Carry(usual, max(spread, 0.01), int(use.sum()), shares)


def _beside(visits: Visits, series: np.ndarray) -> np.ndarray:
    """Return the larger of a point's values at the visits before and after each, shape (n,)."""
    ordered = series[visits.order]
    point = visits.point[visits.order]
    # Only the first and last visits of a point have another point's beside them.
    border = point[1:] != point[:-1]
    ahead, behind = np.append(ordered[1:], np.nan), np.append(np.nan, ordered[:-1])
    ahead[:-1][border], behind[1:][border] = np.nan, np.nan
    out = np.empty(len(ordered))
    out[visits.order] = np.fmax(ahead, behind)
    return out


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


def rest_of_before(
    visits: Visits, shown: np.ndarray, carry: Carry, excess: np.ndarray, at: np.ndarray
) -> np.ndarray:
    """Return the rest of the previous sample in the readings of the visits ``at``, their shape."""
    previous = visits.previous[at]
    before = np.where(previous >= 0, shown[previous], 0.0)
    share = np.fmax(carry.by_point, 0.0)[visits.point[at]]
    rest = share * np.fmax(before, 0.0)  # fmax: what is not known leaves nothing behind
    return np.minimum(rest, np.fmax(excess[at], 0.0))
