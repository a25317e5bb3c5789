"""Coverage: the spans in which a point went unwatched longer than the cycle limit, and why."""

from __future__ import annotations

import numpy as np
import pandas as pd

from alarmsift.tables.logs import Logs
from alarmsift.timeline.dead_detector import unread
from alarmsift.timeline.kin import kin_of
from alarmsift.timeline.lost_rows import turn_was_kept
from alarmsift.timeline.operations import CALIBRATION_ACTIONS, Operations
from alarmsift.timeline.visits import NOT_SAMPLED, TEST, Visits

# Scan clocks and log clocks are rounded: a gap must pass the limit by this much (CP).
LIMIT_SLACK = 1.02
# An analyser that draws nothing for this many of its usual turns, and at least this long, stands
# still (CP).
STILL_STEPS = 4.0
STILL_HOURS = 0.15
# And longer than any turn in the rounds beside it by this factor (CP).
LONGER = 1.5
# People write down what they did with the lines within this (CP).
LATE_ROW_HOURS = 3.0
# Lines come off for ballast for longer than this, and all of a port's within so many hours (CP).
TOGETHER_HOURS = 4.0
PORT_HOURS = 36.0
# A line with this share of its visits drew air, whatever came of it (CP).
VISITED = 0.3


def explained_gaps(
    logs: Logs, visits: Visits, operations: Operations, limit_hours: float
) -> pd.DataFrame:
    """Return the gaps longer than the limit with their ``reason``: `raw_gaps`, cut and explained.

    Pieces of one gap that have the same reason are one again.
    """
    gaps = split_gaps(raw_gaps(visits, limit_hours, unread(logs, visits)), visits, operations)
    gaps = gaps.assign(reason=explain_gaps(gaps, logs, visits, operations))
    before = gaps.shift()
    same = (gaps["point"] == before["point"]) & (gaps["start"] == before["end"])
    same &= gaps["reason"] == before["reason"]
    same &= gaps["reason"].isin(["not_sampled", "disconnected"])
    return gaps.groupby((~same).cumsum(), sort=False).agg(
        point=("point", "first"),
        start=("start", "first"),
        end=("end", "last"),
        reason=("reason", "first"),
    )


def raw_gaps(visits: Visits, limit_hours: float, unread: np.ndarray | None = None) -> pd.DataFrame:
    """Return the spans without a valid reading longer than the limit.

    Parameters
    ----------
    unread : ndarray of bool, shape (n,), optional
        Visits whose number is none (`alarmsift.timeline.dead_detector`).

    Returns
    -------
    DataFrame
        ``point`` (index), ``start``, ``end`` [h since origin]; from the first to the last row of
        the point's analyser.
    """
    parts = []
    valid, seen = visits.valid, visits.drawn | visits.valid
    if unread is not None:
        valid = valid & ~unread
    for p in range(len(visits.points)):
        mine = visits.of(p)
        if not len(mine):
            continue
        span = visits.hours[(visits.analyser == visits.analyser[mine[0]]) & seen]
        if not len(span):
            continue
        times = np.concatenate([[span[0]], visits.hours[mine[valid[mine]]], [span[-1]]])
        gap = np.diff(times)
        at = np.flatnonzero(gap > limit_hours * LIMIT_SLACK)
        parts.append(pd.DataFrame({"point": p, "start": times[at], "end": times[at + 1]}))
    if not parts:
        return pd.DataFrame({"point": [], "start": [], "end": []}).astype({"point": "int64"})
    return pd.concat(parts, ignore_index=True)


def split_gaps(gaps: pd.DataFrame, visits: Visits, operations: Operations) -> pd.DataFrame:
    """Cut gaps where the line was taken off or put back, by the log or by the visits themselves.

    A line whose water or fault shows as invalid rows for hours and which is then unplugged has two
    gaps: the first one nobody wanted. Pieces under the limit are not cut off; nor is a piece that a
    row written late explains.
    """
    limit = max(2.5 * visits.cycle_hours, 0.5) * LIMIT_SLACK
    off = operations.disconnected
    pieces: list[tuple[int, float, float]] = []
    for point, rows in gaps.groupby("point", sort=True):
        p = int(str(point))
        mine = visits.of(p)
        drawn = visits.hours[mine[visits.drawn[mine]]]
        own = (off.point == p) | (off.point < 0)
        edges = np.concatenate([off.start[own], off.end[own], *_stops(drawn, limit)])
        edges = np.sort(edges)
        start, end = rows["start"].to_numpy(float), rows["end"].to_numpy(float)
        low = np.searchsorted(edges, start, "right")
        high = np.searchsorted(edges, end, "left")
        for i in range(len(start)):
            last = float(start[i])
            for cut in edges[low[i] : high[i]].tolist():
                rows_between = np.searchsorted(drawn, cut) - np.searchsorted(drawn, last, "right")
                least = limit if rows_between > 0 else LATE_ROW_HOURS
                if cut - last > least and end[i] - cut > least:
                    pieces.append((p, last, cut))
                    last = cut
            pieces.append((p, last, float(end[i])))
    frame = pd.DataFrame(pieces, columns=["point", "start", "end"])
    return frame.astype({"point": "int64", "start": float, "end": float})


def _stops(drawn: np.ndarray, limit: float) -> tuple[np.ndarray, np.ndarray]:
    """Return when the visits of a point stopped and when they came again."""
    wide = np.diff(drawn) > limit
    return drawn[:-1][wide], drawn[1:][wide]


def explain_gaps(
    gaps: pd.DataFrame, logs: Logs, visits: Visits, operations: Operations
) -> np.ndarray:
    """Return the reason of each gap, shape (n,); ``no_log`` where nothing was recorded at all."""
    reason = np.full(len(gaps), "not_sampled", dtype=object)
    if not len(gaps):
        return reason
    point, start, end = (gaps[c].to_numpy() for c in ("point", "start", "end"))
    length = np.maximum(end - start, 1e-9)
    limit = logs.site.cycle_limit_min / 60.0
    still = still_hours(visits, point, start, end)
    rest = length - still
    slow = (length < 2.2 * visits.cycle_hours) & (visits.cycle_hours > 0.85 * limit)
    slow |= rest < max(2.5 * visits.cycle_hours, limit)
    reason[slow] = "slow_cycle"
    reason[(reason == "not_sampled") & turn_was_kept(visits, point, start, end)] = "no_log"
    silent = (still > 0.8 * length) | ((still > 0.3 * length) & (rest <= limit * LIMIT_SLACK))
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
    off |= (reason == "not_sampled") & taken_off_together(point, start, end, visits, logs)
    reason[off & ~(silent & tested & (length < 3.0))] = "disconnected"
    return reason


def taken_off_together(
    point: np.ndarray, start: np.ndarray, end: np.ndarray, visits: Visits, logs: Logs
) -> np.ndarray:
    """Tell which long gaps look like ballast: points of several spaces went off in one port.

    For logs that lack the rows. Points that are known to be no ballast tank never do, and a line
    whose visits went on, with a fault for a reading, was not off. The log may begin or end in port.
    """
    kind = logs.points.drop_duplicates("point").set_index("point")["kind"].astype(object)
    kinds = kind.reindex(list(visits.points)).to_numpy(object)
    tank = np.array([bool(pd.isna(k)) or k == "ballast" for k in kinds])
    kin = kin_of(visits.points, logs.points)
    edge = (start <= visits.hours[0] + visits.cycle_hours) if len(visits) else start < 0
    edge |= end >= visits.hours[-1] - visits.cycle_hours if len(visits) else False
    long = ((end - start > TOGETHER_HOURS) | edge) & tank[point]
    long[long] &= visited_share(visits, point[long], start[long], end[long]) < VISITED
    out = np.zeros(len(point), bool)
    for i in np.flatnonzero(long):  # a few a voyage
        near = long & (np.abs(start - start[i]) < PORT_HOURS)
        near &= (start < end[i]) & (end > start[i])
        others = np.unique(point[near & (point != point[i]) & ~kin[point[i]][point]])
        out[i] = len(others) >= 2
    return out


def visited_share(
    visits: Visits, point: np.ndarray, start: np.ndarray, end: np.ndarray
) -> np.ndarray:
    """Return how many of the visits that were due in each span drew air, shape (n,)."""
    out = np.zeros(len(point))
    for p in np.unique(point):
        mine, which = visits.of(p), np.flatnonzero(point == p)
        hours = visits.hours[mine[visits.drawn[mine]]]
        first = np.searchsorted(hours, start[which] + 1e-6, "right")
        count = np.searchsorted(hours, end[which] - 1e-6, "left") - first
        due = np.maximum((end[which] - start[which]) / visits.cycle_hours, 1.0)
        out[which] = count / due
    return out


def still_hours(
    visits: Visits, point: np.ndarray, start: np.ndarray, end: np.ndarray
) -> np.ndarray:
    """Return how long of each span the point's whole analyser did not turn [h], shape (n,).

    It has no rows, or stays at one point, as in a calibration.
    """
    owner = np.zeros(len(visits.points), "int64")
    owner[visits.point] = visits.analyser
    test = np.any([visits.status[g] == TEST for g in visits.gases], axis=0)
    out = np.zeros(len(point))
    for code in np.unique(owner[point]):
        mine = owner[point] == code
        every = np.flatnonzero(visits.analyser == code)
        rows, place = every[~test[every]], np.flatnonzero(~test[every])
        if len(rows) < 2:
            continue
        # A stay at one point counts as standing still; the first and last row of it are kept.
        where, hours = visits.point[rows], visits.hours[rows]
        steps = np.diff(hours)
        usual = float(np.median(steps[steps > 0])) if (steps > 0).any() else 0.0
        beat = max(usual, visits.cycle_hours / max(len(np.unique(where)), 1))
        new = np.append(True, (where[1:] != where[:-1]) | (steps > 2.0 * beat))
        last = np.append(new[1:], True)
        stay = np.cumsum(new)
        long = (np.bincount(stay)[stay] >= STILL_STEPS) & (len(np.unique(where)) > 1)
        kept = new | last | ~long
        hours, step = hours[kept], np.diff(hours[kept])
        # With points off, the few that are left come once a round, and nothing stands still: the
        # rounds just before and after show how long a turn may take.
        hidden = np.diff(place[kept]) > 1
        beside = LONGER * _longest_beside(step, len(np.unique(where)))
        least = np.where(hidden, 0.0, np.minimum(1.2 * visits.cycle_hours, beside))
        least = np.maximum(least, max(STILL_STEPS * usual, STILL_HOURS))
        # A stay was told by its rows already.
        stayed = (stay[kept][1:] == stay[kept][:-1]) & long[kept][1:]
        hole = np.where((step > least) | stayed, step, 0.0)
        total = np.concatenate([[0.0], np.cumsum(hole)])
        out[mine] = np.interp(end[mine], hours, total) - np.interp(start[mine], hours, total)
    return out


def _longest_beside(step: np.ndarray, rows: int) -> np.ndarray:
    """Return the longest of so many steps before and after each, shape (n,)."""
    series = pd.Series(step)
    before = series.rolling(rows, min_periods=1).max().shift(1)
    after = series[::-1].rolling(rows, min_periods=1).max()[::-1].shift(-1)
    return np.fmax(np.nan_to_num(before.to_numpy(), nan=np.inf), after.fillna(np.inf).to_numpy())


def _any_within(times: np.ndarray, start: np.ndarray, end: np.ndarray) -> np.ndarray:
    ordered = np.sort(times)
    return np.searchsorted(ordered, end, "right") > np.searchsorted(ordered, start, "left")


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
