"""Bouts: episodes of one point, gas and level that follow each other closely and share a cause."""

from __future__ import annotations

import numpy as np
import pandas as pd

# Episodes of one cause no further apart than this belong to one bout (CP).
BOUT_GAP_HOURS = 12.0


def bouts(
    episodes: pd.DataFrame, cause: np.ndarray, raised: np.ndarray, cleared: np.ndarray
) -> np.ndarray:
    """Return the bout of each episode (B0001, ... in order of first raise), shape (E,).

    Parameters
    ----------
    episodes : DataFrame, E rows
        ``kind``, ``point``, ``gas``, ``level``.
    cause : ndarray of str, shape (E,)
    raised, cleared : ndarray, shape (E,)
        [h]; cleared may be inf.
    """
    n = len(episodes)
    if n == 0:
        return np.zeros(0, dtype=object)
    key = episodes.groupby(["kind", "point", "gas", "level"], sort=False).ngroup().to_numpy()
    order = np.lexsort((raised, key))
    k, c, r, end = key[order], cause[order], raised[order], cleared[order]
    new = np.ones(n, bool)
    gap = r[1:] - np.where(np.isfinite(end[:-1]), end[:-1], r[:-1])
    new[1:] = (k[1:] != k[:-1]) | (c[1:] != c[:-1]) | (gap > BOUT_GAP_HOURS)
    group = np.empty(n, "int64")
    group[order] = np.cumsum(new) - 1
    first = pd.Series(raised).groupby(group).min()
    rank = first.rank(method="first").astype(int)
    return np.array([f"B{rank[g]:04d}" for g in group], dtype=object)


def counts_around(episodes: pd.DataFrame, raised: np.ndarray, *, hours: float) -> np.ndarray:
    """Return how many episodes of the same key were raised within ``hours`` either way."""
    out = np.ones(len(episodes))
    groups = episodes.groupby(["kind", "point", "gas", "level"], sort=False).indices
    for which in groups.values():
        times = np.sort(raised[which])
        low = np.searchsorted(times, raised[which] - hours, "left")
        out[which] = np.searchsorted(times, raised[which] + hours, "right") - low
    return out


def points_with_faults(episodes: pd.DataFrame, raised: np.ndarray, *, hours: float) -> np.ndarray:
    """Return how many points had a flow fault raised within ``hours`` of each raise."""
    fault = ((episodes["kind"] == "fault") & episodes["level"].str.contains("flow")).to_numpy(bool)
    out = np.zeros(len(episodes))
    for _, which in episodes[fault].groupby("point").indices.items():
        times = np.sort(raised[np.flatnonzero(fault)[which]])
        low = np.searchsorted(times, raised - hours, "left")
        out += np.searchsorted(times, raised + hours, "right") > low
    return out
