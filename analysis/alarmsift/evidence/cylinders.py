"""The usual test gas: what the checks say, and what the readings themselves show of it.

Test gas stands at the detector while the round goes on, so two or more spaces in a row show one
value for one turn and are clean at their next. A value that comes back like that on separate days
is the usual cylinder, written down or not.
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
# Days on which a value must have come back, with three turns in a row and with two (CP).
FEWEST_DAYS, FEWEST_DAYS_OF_TWO = 2, 3


def cylinder_values(
    visits: Visits,
    operations: Operations,
    gas: str,
    *,
    shown: np.ndarray,
    noise: np.ndarray,
    kin: np.ndarray,
) -> np.ndarray:
    """Return the concentrations of the usual test gas, sorted, shape (k,).

    Parameters
    ----------
    shown : ndarray, shape (n,)
        Readings less zero and background, readings in tests kept.
    noise : ndarray, shape (P,)
    kin : ndarray of bool, shape (P, P)
        Points of one space: gas itself shows one value at both.
    """
    rows = operations.of("span_check", "span_adjust")
    mine = rows[(rows["gas"] == gas) | (rows["gas"] == "")]
    # What the detector showed of it counts too: an insensitive one shows less.
    written = np.concatenate([mine["reference"].dropna(), mine["value"].dropna()]).astype(float)
    return np.unique(np.concatenate([written[written > 0], _seen(visits, gas, shown, noise, kin)]))


def _seen(
    visits: Visits, gas: str, shown: np.ndarray, noise: np.ndarray, kin: np.ndarray
) -> np.ndarray:
    if gas == "O2" or not len(visits):
        return np.zeros(0)
    one = visits.previous
    two = np.where(one >= 0, one[one], -1)
    a, b = (np.where(before >= 0, shown[before], np.nan) for before in (one, two))
    p, q, r = visits.point, visits.point[one], visits.point[two]
    following = np.full(len(visits), np.nan)
    ordered = visits.order
    again = visits.point[ordered][1:] == visits.point[ordered][:-1]
    following[ordered[:-1][again]] = shown[ordered[1:][again]]
    high = (shown > HIGH_NOISE * noise[p]) & (following < CLEAN_AGAIN * shown)
    pair = high & (p != q) & (np.abs(a - shown) < ALIKE * shown)
    three = pair & (q != r) & (p != r) & (np.abs(b - shown) < ALIKE * shown)
    found = [
        _come_back(visits.hours[hit], visits.raw[gas][hit], days)
        for hit, days in ((three, FEWEST_DAYS), (pair & ~kin[p, q], FEWEST_DAYS_OF_TWO))
    ]
    return np.concatenate(found)


def _come_back(hours: np.ndarray, value: np.ndarray, days: int) -> np.ndarray:
    """Return the values that were shown on so many separate days or more."""
    if not len(hours):
        return np.zeros(0)
    day = (hours // 24.0).astype("int64")
    daily = pd.Series(value).groupby(day).median().sort_values().to_numpy(float)
    new = np.concatenate([[True], daily[1:] > daily[:-1] * (1.0 + ALIKE)])
    summary = pd.Series(daily).groupby(np.cumsum(new)).agg(["median", "size"])
    return np.asarray(summary.loc[summary["size"] >= days, "median"], float)
