"""Gaps of single points that nothing in the logs explains, while others were sampled."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import pandas as pd

from alarmsift.evidence.ship import Ship
from alarmsift.timeline.coverage import explained_gaps, skipped

# One missed turn is a hiccup; a silent failure misses several (CP).
MISSED_TURNS = 2.5
# An analyser that is off for a watch is more than a restart [h] (CP).
STOPPED_HOURS = 4.0
# People silence a point that alarms by unplugging it, within hours of its raise, at night by the
# next watch, or of its end (CP).
SILENCE_HOURS = 4.0
RAISED_HOURS = 8.0


def single_gaps(ship: Ship, episodes: pd.DataFrame) -> pd.DataFrame:
    """Return the unexplained gaps longer than the cycle limit and than a few turns.

    Returns
    -------
    DataFrame
        ``point`` (index), ``start``, ``end`` [h since origin; inf = still so], ``silenced``: it
        began in or right after a gas alarm of the point itself, and left no row.
    """
    gaps = _unexplained(ship)
    if not len(gaps):
        return gaps.assign(silenced=np.zeros(0, bool))
    last = ship.visits.hours[-1] - 1e-9
    return gaps.assign(
        end=np.where(gaps["end"] >= last, np.inf, gaps["end"]),
        silenced=_silenced(ship, episodes, gaps),
    )


def stopped_gaps(ship: Ship) -> pd.DataFrame:
    """Return the hours in which the whole analyser stood still (``point``, ``start``, ``end``).

    A row a point: none of them was watched. Short stops are rows of the coverage table only.
    """
    gaps = _explained(ship)
    long = gaps["end"] - gaps["start"] >= STOPPED_HOURS
    return gaps[(gaps["reason"] == "stopped") & long].drop(columns="reason")


def _unexplained(ship: Ship) -> pd.DataFrame:
    """Return the gaps (``point``, ``start``, ``end``) that nothing in the logs explains."""
    gaps = _explained(ship)
    gaps = gaps[gaps["reason"] == "not_sampled"].drop(columns="reason")
    return gaps.reset_index(drop=True)


@lru_cache(maxsize=4)
def _explained(ship: Ship) -> pd.DataFrame:
    visits = ship.visits
    limit = max(ship.logs.site.cycle_limit_min / 60.0, MISSED_TURNS * visits.cycle_hours)
    return explained_gaps(ship.logs, visits, ship.operations, limit)


def _silenced(ship: Ship, episodes: pd.DataFrame, gaps: pd.DataFrame) -> np.ndarray:
    visits = ship.visits
    alarms = episodes[episodes["kind"] == "alarm"]
    raised = visits.since(alarms["raised"])
    cleared = np.nan_to_num(visits.since(alarms["cleared"]), nan=np.inf)
    owner = alarms["point"].astype(str).to_numpy(object)
    out = np.zeros(len(gaps), bool)
    keeps_rows = bool(skipped(visits).any())
    for i, (p, start, end) in enumerate(gaps[["point", "start", "end"]].itertuples(index=False)):
        mine = owner == visits.points[int(p)]
        quiet = np.minimum(cleared, raised + 24.0)
        near = mine & (raised <= start + 0.2)
        near &= (quiet >= start - SILENCE_HOURS) | (raised >= start - RAISED_HOURS)
        own = visits.of(int(p))
        inside = visits.drawn[own] & (visits.hours[own] > start) & (visits.hours[own] < end)
        # Where a point that is off leaves its row each round, one without is out of the scan.
        rowless = keeps_rows and not ((visits.hours[own] > start) & (visits.hours[own] < end)).any()
        out[i] = near.any() and not inside.any() and not rowless
    return out
