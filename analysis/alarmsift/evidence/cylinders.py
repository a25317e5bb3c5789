"""The usual test gas: what the checks say, and what the readings themselves show of it.

Test gas stands at the detector while the round goes on, so several spaces in a row show one value
for one turn and are clean at their next. A value that comes back like that on separate days is the
ship's usual cylinder, written down or not.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from alarmsift.timeline.operations import Operations
from alarmsift.timeline.visits import Visits

# Turns in a row within this of each other show one value; days within it one cylinder (CP).
ALIKE = 0.06
CLEAN_AGAIN = 0.4
HIGH_NOISE = 12.0
FEWEST_DAYS = 2


def cylinder_values(
    visits: Visits, operations: Operations, gas: str, shown: np.ndarray, noise: np.ndarray
) -> np.ndarray:
    """Return the concentrations of the usual test gas, sorted, shape (k,).

    Parameters
    ----------
    shown : ndarray, shape (n,)
        Readings less zero and background, readings in tests kept.
    noise : ndarray, shape (P,)
    """
    rows = operations.of("span_check", "span_adjust")
    mine = rows[(rows["gas"] == gas) | (rows["gas"] == "")]
    # What the detector showed of it counts too: an insensitive one shows less.
    written = np.concatenate([mine["reference"].dropna(), mine["value"].dropna()]).astype(float)
    return np.unique(np.concatenate([written[written > 0], _seen(visits, gas, shown, noise)]))


def _seen(visits: Visits, gas: str, shown: np.ndarray, noise: np.ndarray) -> np.ndarray:
    if gas == "O2" or not len(visits):
        return np.zeros(0)
    one = visits.previous
    two = np.where(one >= 0, one[one], -1)
    have = two >= 0
    a, b = np.where(have, shown[one], np.nan), np.where(have, shown[two], np.nan)
    p, q, r = visits.point, visits.point[one], visits.point[two]
    apart = (p != q) & (q != r) & (p != r)
    high = shown > HIGH_NOISE * noise[p]
    same = (np.abs(a - shown) < ALIKE * shown) & (np.abs(b - shown) < ALIKE * shown)
    following = np.full(len(visits), np.nan)
    ordered = visits.order
    again = visits.point[ordered][1:] == visits.point[ordered][:-1]
    following[ordered[:-1][again]] = shown[ordered[1:][again]]
    hit = have & apart & high & same & (following < CLEAN_AGAIN * shown)
    if not hit.any():
        return np.zeros(0)
    day = (visits.hours[hit] // 24.0).astype("int64")
    value = pd.Series(visits.raw[gas][hit]).groupby(day).median().sort_values().to_numpy(float)
    new = np.concatenate([[True], value[1:] > value[:-1] * (1.0 + ALIKE)])
    group = np.cumsum(new)
    summary = pd.Series(value).groupby(group).agg(["median", "size"])
    return np.asarray(summary.loc[summary["size"] >= FEWEST_DAYS, "median"], float)
