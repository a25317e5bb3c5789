"""Coverage: the spans in which a point went unwatched longer than the cycle limit, and why."""

from __future__ import annotations

import numpy as np
import pandas as pd

from alarmsift.tables.logs import Logs
from alarmsift.timeline.operations import CALIBRATION_ACTIONS, Operations
from alarmsift.timeline.visits import NOT_SAMPLED, TEST, Visits

# Scan clocks and log clocks are rounded: a gap must pass the limit by this much (CP).
LIMIT_SLACK = 1.02


def raw_gaps(visits: Visits, limit_hours: float) -> pd.DataFrame:
    """Return the spans without a valid reading longer than the limit.

    Returns
    -------
    DataFrame
        ``point`` (index), ``start``, ``end`` [h since origin]; from the first to the last row of
        the point's analyser.
    """
    parts = []
    valid, drawn = visits.valid, visits.drawn
    for p in range(len(visits.points)):
        mine = visits.of(p)
        if not len(mine):
            continue
        owner = visits.analyser == visits.analyser[mine[0]]
        span = visits.hours[owner & (drawn | valid)]
        if not len(span):
            continue
        times = np.concatenate([[span[0]], visits.hours[mine[valid[mine]]], [span[-1]]])
        gap = np.diff(times)
        at = np.flatnonzero(gap > limit_hours * LIMIT_SLACK)
        parts.append(pd.DataFrame({"point": p, "start": times[at], "end": times[at + 1]}))
    if not parts:
        return pd.DataFrame({"point": [], "start": [], "end": []}).astype({"point": "int64"})
    return pd.concat(parts, ignore_index=True)


def explain_gaps(
    gaps: pd.DataFrame, logs: Logs, visits: Visits, operations: Operations
) -> np.ndarray:
    """Return the reason of each gap, shape (n,); ``no_log`` where nothing was recorded at all."""
    reason = np.full(len(gaps), "not_sampled", dtype=object)
    if not len(gaps):
        return reason
    point, start, end = (gaps[c].to_numpy() for c in ("point", "start", "end"))
    length = np.maximum(end - start, 1e-9)
    busy = _share_with_visits(visits, start, end)
    limit = logs.site.cycle_limit_min / 60.0
    slow = (busy > 0.5) & (length < 2.2 * visits.cycle_hours) & (visits.cycle_hours > 0.85 * limit)
    reason[slow] = "slow_cycle"
    silent = busy < 0.2
    reason[silent] = "no_log"
    middle = (start + end) / 2.0
    events = np.sort(visits.since(logs.events["time"]))
    alive = np.searchsorted(events, end - 0.01) > np.searchsorted(events, start + 0.01, "right")
    stops = operations.of("restart", "maintenance")
    near_stop = _any_within(stops["hours"].to_numpy(float), start - 0.2, end + 0.6)
    reason[silent & (alive | near_stop)] = "stopped"
    tests = operations.of(*CALIBRATION_ACTIONS)["hours"].to_numpy(float)
    tested = _any_within(tests, start - 0.3, end + 0.3) & (length < 6.0)
    marked = _marked_share(visits, point, start, end, TEST) > 0.5
    reason[(silent & tested) | marked] = "test"
    off = operations.disconnected.active(point, middle)
    off |= operations.disconnected.active(point, start + 0.3 * length)
    reason[off & ~(silent & tested & (length < 3.0))] = "disconnected"
    return reason


def _any_within(times: np.ndarray, start: np.ndarray, end: np.ndarray) -> np.ndarray:
    ordered = np.sort(times)
    return np.searchsorted(ordered, end, "right") > np.searchsorted(ordered, start, "left")


def _share_with_visits(visits: Visits, start: np.ndarray, end: np.ndarray) -> np.ndarray:
    """Return how many of the usual visits of the whole system stand in each span, as a share."""
    hours = visits.hours[visits.drawn]
    total = np.searchsorted(hours, end, "left") - np.searchsorted(hours, start, "right")
    n_points = max(len(visits.points), 1)
    usual = (end - start) / max(visits.cycle_hours, 1e-6) * n_points
    return total / np.maximum(usual, 1.0)


def _marked_share(
    visits: Visits, point: np.ndarray, start: np.ndarray, end: np.ndarray, status: int
) -> np.ndarray:
    """Return the share of the point's own rows in each span that carry a status."""
    out = np.zeros(len(point))
    flag = np.zeros(len(visits), bool)
    for gas in visits.gases:
        flag |= visits.status[gas] == status
    for p in np.unique(point):
        mine = visits.of(p)
        which = np.flatnonzero(point == p)
        hours = visits.hours[mine]
        total = np.concatenate([[0], np.cumsum(flag[mine])])
        a = np.searchsorted(hours, start[which], "right")
        b = np.searchsorted(hours, end[which], "left")
        out[which] = (total[b] - total[a]) / np.maximum(b - a, 1)
    return out


def skipped(visits: Visits) -> np.ndarray:
    """Tell for each visit whether its row says that the point was not sampled."""
    return np.any([visits.status[g] == NOT_SAMPLED for g in visits.gases], axis=0)
