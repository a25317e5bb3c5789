"""Block medians: a point's readings in steps of some hours, one column a point."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from alarmsift.timeline.visits import Visits

# Long enough that a lone visit or a test can't sway the median, short enough to follow the day.
BLOCK_HOURS = 2.0
BLOCK_VISITS = 4


@dataclass(frozen=True)
class Blocks:
    """Medians a block and point.

    Attributes
    ----------
    hours : ndarray, shape (b,)
        Middle of each block [h since origin].
    width : float
        [h]
    median : ndarray, shape (b, P)
        NaN where the point had no value in the block.
    """

    hours: np.ndarray
    width: float
    median: np.ndarray


def block_width(visits: Visits) -> float:
    """Return the block length for this ship's cycle [h]."""
    return max(BLOCK_HOURS, BLOCK_VISITS * visits.cycle_hours)


def block_medians(visits: Visits, series: np.ndarray, mask: np.ndarray) -> Blocks:
    """Return the block medians of a series over visits.

    Parameters
    ----------
    series : ndarray, shape (n,)
        One number a visit; NaN is left out.
    mask : ndarray of bool, shape (n,)
        Visits to use.
    """
    width = block_width(visits)
    last = float(visits.hours[-1]) if len(visits) else 0.0
    n_blocks, n_points = int(last // width) + 1, len(visits.points)
    use = mask & np.isfinite(series)
    use = visits.order[use[visits.order]]  # a point's blocks stand one after another
    block = (visits.hours[use] // width).astype("int64")
    key = block * n_points + visits.point[use]
    out = np.full(n_blocks * max(n_points, 1), np.nan)
    place, median = _run_medians(key, series[use])
    out[place] = median
    centre = (np.arange(n_blocks) + 0.5) * width
    return Blocks(centre, width, out.reshape(n_blocks, max(n_points, 1)))


def _run_medians(key: np.ndarray, values: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return the keys of runs of equal keys (n,), and the median of each run, shape (k,) each."""
    start = np.flatnonzero(np.append(True, key[1:] != key[:-1])) if len(key) else np.zeros(0, int)
    count = np.diff(np.append(start, len(key)))
    out = np.full(len(start), np.nan)
    for size in np.unique(count):  # runs of one length at a time: there are few lengths
        which = np.flatnonzero(count == size)
        table = np.sort(values[start[which][:, None] + np.arange(size)], axis=1)
        out[which] = (table[:, (size - 1) // 2] + table[:, size // 2]) / 2
    return key[start], out


def rolling_median(series: np.ndarray, blocks: int) -> np.ndarray:
    """Return the centred running median over ``blocks`` rows, blanks left out; axis 0."""
    frame = pd.DataFrame(series)
    return np.asarray(frame.rolling(blocks, center=True, min_periods=1).median())


def at_visits(blocks: Blocks, series: np.ndarray, hours: np.ndarray) -> np.ndarray:
    """Return a block series (b,) interpolated at times ``hours`` (n,); NaN when all blank."""
    good = np.isfinite(series)
    if not good.any():
        return np.full(len(hours), np.nan)
    return np.asarray(np.interp(hours, blocks.hours[good], series[good]))
