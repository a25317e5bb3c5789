"""Poor lines: spans in which one line lost conductance, and whether water or a blockage did it.

A head of water and a narrowed line look alike in a single visit; what tells them apart is how they
come (at once with ballast or in a sea, or over days), how long they stay, and the water trap.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from alarmsift.evidence.ship import Ship
from alarmsift.evidence.spans import running_median

# Water counts from 2 kPa of head, a blockage from twice the clean resistance.
WATER_HEAD_KPA = 2.0
BLOCKED_LOG = float(np.log(0.5))
# Where only one of flow and suction is logged, the pump's curve is taken as straight and a clean
# line as this share of what the pump can lift, which most are near (CP).
CLEAN_SHARE = 0.25
# Spells closer than this are one [h]; a visit speaks for this many rounds (CP).
MERGE_HOURS = 4.5
HOLD_ROUNDS = 1.5
SKIPPED_HOURS = 36.0


@dataclass(frozen=True)
class PoorSpan:
    """One span of a poor line.

    ``water`` is the decibans for water against a blockage; ``depth`` the lowest ln conductance;
    ``wet`` and ``choked`` are from when to when each limit was passed (NaN = never).
    """

    point: int
    start: float
    end: float
    depth: float
    water: float
    wet: tuple[float, float]
    choked: tuple[float, float]


@dataclass(frozen=True)
class _Line:
    """The visits of one line that drew air; shape (n,) each."""

    point: int
    hours: np.ndarray
    until: np.ndarray
    own: np.ndarray
    wet: np.ndarray
    choked: np.ndarray


@dataclass(frozen=True)
class _Log:
    """What the logs say around the lines, by point, looked up once."""

    reconnects: dict[int, np.ndarray]
    traps: dict[str, np.ndarray]
    fills_logged: bool


@lru_cache(maxsize=4)
def poor_spans(ship: Ship) -> tuple[PoorSpan, ...]:
    """Return the spans of all poor lines, in order of point and time."""
    if ship.line.columns == "none" or not len(ship.visits):
        return ()
    log = _log(ship)
    shared = _shared_now(ship)
    lines = [_line(ship, p, shared) for p in range(len(ship.visits.points))]
    spells = [_spells(x, x.wet | x.choked) if len(x.hours) >= 5 else [] for x in lines]
    onsets = [np.array([x.hours[a] for a, _ in s]) for x, s in zip(lines, spells, strict=True)]
    out: list[PoorSpan] = []
    for p, line in enumerate(lines):
        kin = np.flatnonzero(ship.kin[p])
        twins = np.concatenate([np.zeros(0), *(onsets[k] for k in kin)])
        for first, last in spells[p]:
            out.append(_judge(ship, line, (first, last), log, twins))
    return tuple(out)


def _shared_now(ship: Ship) -> np.ndarray:
    """Return what the lines of an analyser share within one round (ln conductance), shape (n,).

    A pump that coughs for half an hour takes flow from all lines; the slow share is out already.
    """
    visits, own = ship.visits, ship.line.own
    out = np.zeros(len(visits))
    for code in range(len(visits.analysers)):
        rows = np.flatnonzero((visits.analyser == code) & np.isfinite(own) & visits.drawn)
        turns = len(np.unique(visits.point[rows]))
        if turns >= 5:
            out[rows] = running_median(own[rows], turns | 1)
    return np.where(np.abs(out) > 0.1, out, 0.0)


def _log(ship: Ship) -> _Log:
    ops = ship.operations
    back = ops.of("reconnect")
    events = ship.logs.events
    level = events["level"].astype(str)
    named = {t for t in level.unique() if "trap" in t.lower() or "water" in t.lower()}
    rows = events[level.isin(named)]
    hours = ship.visits.since(rows["time"])
    names = rows["point"].astype(str).to_numpy(object)
    return _Log(
        {int(str(p)): part["hours"].to_numpy(float) for p, part in back.groupby("point")},
        {str(n): np.sort(hours[names == n]) for n in set(names)},
        len(ops.of("ballast_fill_start")) > 0,
    )


def _line(ship: Ship, p: int, shared: np.ndarray) -> _Line:
    visits, model = ship.visits, ship.line
    mine = visits.of(p)
    mine = mine[np.isfinite(model.own[mine]) & visits.drawn[mine]]
    hours, own = visits.hours[mine], model.own[mine] - shared[mine]
    smooth = running_median(own, 3)
    noise = float(model.noise[p])
    wet_limit, choked_limit = _limits(model.columns)
    if model.columns == "flow and suction":
        head = model.head[mine]
        steady = running_median(head, 3)
        # A lone visit counts when it is far over the limit; else two of three have to be.
        wet = (steady >= WATER_HEAD_KPA) | ((head >= 2 * WATER_HEAD_KPA) & (own < -0.3))
        wet &= own < -max(2.5 * noise, 0.1)
        choked = smooth <= choked_limit
    else:
        margin = max(wet_limit, 3.0 * noise)
        wet = (smooth < -margin) | (own < -max(2.5 * margin, 6.0 * noise))
        choked = smooth <= -max(-choked_limit, 3.0 * noise)
    until = _until(ship, p, hours, wet | choked)
    return _Line(p, hours, until, own=smooth, wet=wet, choked=choked)


def _limits(columns: str) -> tuple[float, float]:
    """Return how much of ln(conductance) water and a blockage take at their limits."""
    ratio = CLEAN_SHARE / (1.0 - CLEAN_SHARE)
    twice = (1.0 + 2.0 * ratio) / (1.0 + ratio)
    if columns == "flow":
        return 0.1, -float(np.log(twice))
    if columns == "suction":
        return 0.25, -float(np.log(2.0 / twice))
    return 0.0, BLOCKED_LOG


def _spells(line: _Line, flag: np.ndarray) -> list[tuple[int, int]]:
    """Return first and last visit of the spells in which a flag holds, close ones joined."""
    at = np.flatnonzero(flag)
    if not len(at):
        return []
    new = np.append(True, line.hours[at[1:]] - line.until[at[:-1]] > MERGE_HOURS)
    first = at[new]
    last = at[np.append(np.flatnonzero(new)[1:] - 1, len(at) - 1)]
    return list(zip(first.tolist(), last.tolist(), strict=True))


def _edges(line: _Line, first: int, last: int, cycle: float) -> tuple[float, float]:
    """Return when a spell began and ended: half-way to the visits that say otherwise."""
    start = float(line.hours[first])
    if first and start - line.hours[first - 1] < 2.0 * cycle:
        start = (start + float(line.hours[first - 1])) / 2.0
    if last >= len(line.hours) - 1:
        return start, np.inf
    after = float(line.hours[last + 1])
    end = float(line.until[last])
    return start, (float(line.hours[last]) + after) / 2.0 if after <= end + 1e-9 else end


def _judge(
    ship: Ship, line: _Line, rows: tuple[int, int], log: _Log, twins: np.ndarray
) -> PoorSpan:
    first, last = rows
    cycle = ship.visits.cycle_hours
    start, end = _edges(line, first, last, cycle)
    if np.isinf(end) and line.until[last] < ship.visits.hours[-1] - cycle:
        end = float(line.until[last])
    parts = []
    for flag in (line.wet, line.choked):
        at = first + np.flatnonzero(flag[first : last + 1])
        if not len(at):
            parts.append((float("nan"), float("nan")))
            continue
        a, b = _edges(line, int(at[0]), int(at[-1]), cycle)
        parts.append((a, end if at[-1] == last else b))
    own, hours = line.own[first : last + 1], line.hours[first : last + 1]
    depth = float(own.min())
    water = _for_water(ship, line, rows, (start, min(end, float(hours[-1]))), log)
    # Ballast reaches both probes of a tank within hours; two blockages at once are rare.
    water += 8.0 * bool((np.abs(twins - start) < 12.0).any())
    return PoorSpan(line.point, start, end, depth, water, parts[0], parts[1])


def _until(ship: Ship, p: int, hours: np.ndarray, poor: np.ndarray) -> np.ndarray:
    """Return until when each visit speaks for its line, shape (n,).

    Some analysers skip a line that gives no flow: between two poor visits, and from a poor visit
    to the moment somebody unplugs the line, its state stays as it was.
    """
    if not len(hours):
        return hours
    cycle = ship.visits.cycle_hours
    until = hours + HOLD_ROUNDS * cycle
    after = np.append(hours[1:], until[-1])
    gap = after - hours
    off = ship.operations.disconnected
    starts = np.sort(off.start[(off.point == p) | (off.point < 0)])
    at = np.searchsorted(starts, hours)
    unplugged = np.append(starts, np.inf)[at]
    long = poor & (gap > HOLD_ROUNDS * cycle)
    both = long & np.append(poor[1:], False) & (gap < SKIPPED_HOURS) & (unplugged >= after)
    cut = long & (unplugged < after) & (unplugged - hours < SKIPPED_HOURS)
    until = np.where(both, after, np.where(cut, np.maximum(unplugged, until), until))
    return np.minimum(until, after)


def _for_water(
    ship: Ship, line: _Line, rows: tuple[int, int], span: tuple[float, float], log: _Log
) -> float:
    """Return the decibans for water against a blockage (weights: common practice, no source)."""
    first, last = rows
    p, ops = line.point, ship.operations
    own, hours = line.own[first : last + 1], line.hours[first : last + 1]
    depth, length = float(own.min()), span[1] - span[0]
    rise = float(hours[np.argmax(own <= 0.75 * depth)] - hours[np.argmax(own <= 0.25 * depth)])
    where, at = np.array([p]), np.array([hours[np.argmax(own <= 0.75 * depth)]])
    begin = np.array([span[0]])
    out = 0.0
    filled = ops.filling.active(where, at, lag=6.0)[0] or ops.full.active(where, begin, lag=12.0)[0]
    rough = bool(ops.heavy_sea.active(np.array([-1]), begin, lag=6.0)[0])
    back = log.reconnects.get(p, np.zeros(0))
    fresh = bool(((span[0] - back > -1.0) & (span[0] - back < 3.0)).any())
    # The first visits after a long time off, whatever the log lacks.
    fresh |= first > 1 and hours[0] - line.hours[first - 1] > max(8.0, 5 * ship.visits.cycle_hours)
    # A line that was as poor before it was taken off did not fill in the meantime.
    before = line.own[max(first - 3, 0) : first]
    fresh &= length < 30.0 and not (len(before) and bool(np.median(before) < 0.5 * depth))
    trap = log.traps.get(ship.visits.points[p], np.zeros(0))
    wet_trap = bool(((trap >= span[0] - 1.0) & (trap <= span[1] + 1.0)).any())
    sudden = rise < max(3.0, 3 * ship.visits.cycle_hours)
    out += 2.0 if sudden else (1.0 if rise < 30.0 else -9.0)
    out += 8.0 * bool(filled) + 5.0 * rough + 6.0 * fresh + 15.0 * wet_trap
    if log.fills_logged and not filled:
        out -= 3.0
    if not sudden and rise < 30.0 and length < 60.0:
        out += 5.0  # bilge water creeps up within a day or two
    share = float(np.mean(line.wet[first : last + 1] | line.choked[first : last + 1]))
    if share < 0.7 and length > 3.0:
        out += 3.0  # slugs come and go
    # A blockage is rarely cleared within a day; water is rarely left for three.
    if length < 24.0:
        out += 3.0
    elif length > 60.0:
        out -= 6.0 if length > 100.0 and not filled else 3.0
    return out
