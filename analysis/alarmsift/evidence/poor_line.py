"""Poor lines: spans in which one line lost conductance, and whether water or a blockage did it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from alarmsift.evidence.ship import Ship
from alarmsift.evidence.spans import running_median, spans_where

# Water counts from 2 kPa of head, a blockage from twice the clean resistance.
WATER_HEAD_KPA = 2.0
BLOCKED_LOG = float(np.log(0.5))
# A line that lost this much is worth looking at (ln of conductance).
WORTH_LOOKING = -0.2


@dataclass(frozen=True)
class PoorSpan:
    """One span of a poor line.

    ``water`` is the decibans for water against a blockage; ``depth`` the lowest ln conductance;
    ``water_start`` and ``blocked_start`` are when each limit was passed (NaN = never).
    """

    point: int
    start: float
    end: float
    depth: float
    water: float
    water_span: tuple[float, float]
    blocked_span: tuple[float, float]


@lru_cache(maxsize=4)
def poor_spans(ship: Ship) -> tuple[PoorSpan, ...]:
    """Return the spans of all poor lines, in order of point and time."""
    out: list[PoorSpan] = []
    visits, line = ship.visits, ship.line
    if line.columns == "none":
        return ()
    for p in range(len(visits.points)):
        mine = visits.of(p)
        own = line.own[mine]
        good = np.isfinite(own)
        if good.sum() < 5:
            continue
        hours, own = visits.hours[mine[good]], running_median(own[good], 3)
        head = running_median(line.head[mine[good]], 3)
        margin = max(-WORTH_LOOKING, 4.0 * line.noise[p] / np.sqrt(2.0))
        poor = (own < -margin) | (head >= WATER_HEAD_KPA)
        close = max(3.0, 4.0 * visits.cycle_hours)
        for start, end in spans_where(hours, poor, close=close, shortest=visits.cycle_hours):
            out.append(_judge(ship, p, hours, own, head, span=(start, end)))
    return tuple(out)


def _judge(
    ship: Ship,
    p: int,
    hours: np.ndarray,
    own: np.ndarray,
    head: np.ndarray,
    *,
    span: tuple[float, float],
) -> PoorSpan:
    start, end = span
    inside = (hours >= start) & (hours < end)
    h, o, w = hours[inside], own[inside], head[inside]
    depth = float(np.min(o))
    # How fast did it fall? Time from a quarter to three quarters of the loss.
    quarter = h[np.argmax(o <= 0.25 * depth)]
    most = h[np.argmax(o <= 0.75 * depth)]
    fall_hours = float(most - quarter)
    where = np.array([p])
    ops = ship.operations
    at = np.array([float(most)])
    filled = bool(
        ops.filling.active(where, at, lag=6.0)[0] or ops.full.active(where, at, lag=12.0)[0]
    )
    rough = bool(ops.heavy_sea.active(where, at, lag=6.0)[0])
    fresh = ops.of("reconnect")
    back = fresh.loc[fresh["point"] == p, "hours"].to_numpy(float)
    reconnected = bool(((at[0] - back > -1.0) & (at[0] - back < 6.0)).any())
    trap = _trap_fault(ship, p, start, end)
    decibans = 0.0
    decibans += 6.0 if fall_hours < max(3.0, 3 * ship.visits.cycle_hours) else -9.0
    decibans += 8.0 if filled else (-3.0 if len(ops.of("ballast_fill_start")) else 0.0)
    decibans += 4.0 * rough + 3.0 * reconnected + 15.0 * trap
    length = (min(end, hours[-1])) - start
    decibans += -4.0 if length > 120.0 else 0.0
    wet = _holds(h, w >= WATER_HEAD_KPA, end)
    choked = _holds(h, o <= BLOCKED_LOG, end)
    return PoorSpan(p, start, end, depth, decibans, wet, choked)


def _holds(hours: np.ndarray, flag: np.ndarray, end: float) -> tuple[float, float]:
    """Return from when to when a limit is passed within one span; NaN for never."""
    if not flag.any():
        return (float("nan"), float("nan"))
    first, last = int(np.argmax(flag)), len(flag) - 1 - int(np.argmax(flag[::-1]))
    stop = end if last >= len(flag) - 1 else float(hours[last + 1])
    return float(hours[first]), stop


def _trap_fault(ship: Ship, p: int, start: float, end: float) -> bool:
    events = ship.logs.events
    named = events["level"].astype(str).str.contains("trap|water", case=False)
    rows = events[named & (events["point"].astype(object) == ship.visits.points[p])]
    hours = ship.visits.since(rows["time"])
    return bool(((hours >= start - 1.0) & (hours <= end + 1.0)).any())
