"""Poor lines: spans in which one line lost conductance, and whether water or a blockage did it.

A head of water and a narrowed line look alike in a single visit: both move along the pump's curve.
What tells them apart is how they come (`alarmsift.evidence.wet_or_choked`). Where neither flow nor
suction is logged, the low-flow alarms of the analyser stand in for them.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from alarmsift.evidence.blocks import block_medians
from alarmsift.evidence.low_flow_faults import in_low_flow, spaces_in_low_flow, spaces_of
from alarmsift.evidence.ship import Ship
from alarmsift.evidence.spans import running_median
from alarmsift.evidence.wet_or_choked import Spell, for_water, line_log

# Water counts from 2 kPa of head, a blockage from twice the clean resistance.
WATER_HEAD_KPA = 2.0
BLOCKED_LOG = float(np.log(0.5))
# Where only one of flow and suction is logged, the pump's curve is taken as straight and a clean
# line as this share of what the pump can lift, which most are near (CP).
CLEAN_SHARE = 0.25
# Spells closer than this are one [h]; a visit speaks for this many rounds (CP).
MERGE_HOURS = 6.0
# The alarm flickers while a line chokes, so its spells may lie further apart.
ALARM_MERGE_HOURS = 24.0
HOLD_ROUNDS = 1.5
SKIPPED_HOURS = 36.0
# A spell of one or two visits counts from this loss on (ln conductance; CP).
LONE_LOSS = 0.3
# Lines of this many other spaces, and this share of all, that lost nearly the same at the same time
# have it from what they share: a pump or filter of their own analyser, which nothing names (CP).
# Lines that draw next to nothing are alike whatever ails them [ln conductance].
ALIKE_SPACES, ALIKE_SHARE, ALIKE_WITHIN, ALIKE_LEAST, ALIKE_FLOOR = 3, 0.2, 0.25, 0.07, 2.0
ALIKE_TIME = 0.4


@dataclass(frozen=True)
class PoorSpan:
    """One span of a poor line.

    ``water`` is the decibans for water against a blockage; ``depth`` the lowest ln conductance (NaN
    where only the alarms tell); ``wet`` and ``choked`` are from when to when each limit was passed
    (NaN = never).
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
    alike: np.ndarray


@lru_cache(maxsize=4)
def poor_spans(ship: Ship) -> tuple[PoorSpan, ...]:
    """Return the spans of all poor lines, in order of point and time."""
    if not len(ship.visits):
        return ()
    log = line_log(ship)
    points = range(len(ship.visits.points))
    merge = MERGE_HOURS
    if ship.line.columns == "none":
        lines, merge = _alarmed_lines(ship), ALARM_MERGE_HOURS
    else:
        shared, alike = _shared_now(ship), _alike(ship)
        lines = [_line(ship, p, shared, alike) for p in points]
    spells = [_spells(x, merge) if len(x.hours) >= 5 else [] for x in lines]
    onsets = [np.array([x.hours[a] for a, _ in s]) for x, s in zip(lines, spells, strict=True)]
    out: list[PoorSpan] = []
    for p in points:
        twins = np.concatenate([np.zeros(0), *(onsets[k] for k in np.flatnonzero(ship.kin[p]))])
        for first, last in spells[p]:
            span = _measured(ship, lines[p], first, last)
            at = slice(first, last + 1)
            spell = Spell(
                point=p,
                start=span.start,
                end=min(span.end, float(lines[p].hours[last])),
                hours=lines[p].hours[at],
                own=lines[p].own[at],
                poor=(lines[p].wet | lines[p].choked)[at],
                before_hours=lines[p].hours[:first][-3:],
                before_own=lines[p].own[:first][-3:],
                twins=twins,
            )
            out.append(replace(span, water=for_water(ship, spell, log)))
    if ship.line.columns == "none":
        out = [replace(x, depth=float("nan")) for x in out]
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


def _alike(ship: Ship) -> np.ndarray:
    """Tell for each block and line whether lines of other spaces lost nearly the same, (b, P)."""
    own = block_medians(ship.visits, ship.line.own, ship.visits.drawn).median
    out = np.zeros(own.shape, bool)
    limit = np.maximum(np.ceil(ALIKE_SHARE * np.isfinite(own).sum(axis=1)), ALIKE_SPACES)
    lost = (own < -ALIKE_LEAST) & (own > -ALIKE_FLOOR)
    for p in range(own.shape[1]):  # a ship has some ten to thirty lines
        within = np.maximum(ALIKE_WITHIN * np.abs(own[:, p : p + 1]), ALIKE_LEAST)
        near = lost & (np.abs(own - own[:, p : p + 1]) <= within)
        near[:, ship.kin[p]] = False
        near[:, p] = False
        out[:, p] = lost[:, p] & (near.sum(axis=1) >= limit)
    return out


def _line(ship: Ship, p: int, shared: np.ndarray, alike: np.ndarray) -> _Line:
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
        wet = (steady >= WATER_HEAD_KPA) | ((head >= 2 * WATER_HEAD_KPA) & (own < -LONE_LOSS))
        wet &= own < -max(2.5 * noise, 0.1)
        choked = smooth <= choked_limit
    else:
        margin = max(wet_limit, 3.0 * noise)
        wet = (smooth < -margin) | (own < -max(2.5 * margin, 6.0 * noise))
        choked = smooth <= -max(-choked_limit, 3.0 * noise)
    block = np.clip((hours // model.blocks.width).astype(int), 0, len(alike) - 1)
    until = _until(ship, p, hours, wet | choked)
    return _Line(p, hours, until, own=smooth, wet=wet, choked=choked, alike=alike[block, p])


def _alarmed_lines(ship: Ship) -> list[_Line]:
    """Return the lines as the low-flow alarms show them: choked while one stands."""
    visits = ship.visits
    poor, space = in_low_flow(ship), spaces_of(ship)
    lines = []
    for p in range(len(visits.points)):
        mine = visits.of(p)
        mine = mine[visits.drawn[mine]]
        low = poor[mine]
        until = _until(ship, p, visits.hours[mine], low)
        own = np.where(low, BLOCKED_LOG, 0.0)
        others = np.delete(spaces_in_low_flow(ship, visits.hours[mine]), space[p], axis=1)
        alike = others.sum(axis=1) >= max(ALIKE_SPACES, ALIKE_SHARE * (space.max() + 1))
        lines.append(_Line(p, visits.hours[mine], until, own=own, wet=low, choked=low, alike=alike))
    return lines


def _limits(columns: str) -> tuple[float, float]:
    """Return how much of ln(conductance) water and a blockage take at their limits."""
    ratio = CLEAN_SHARE / (1.0 - CLEAN_SHARE)
    twice = (1.0 + 2.0 * ratio) / (1.0 + ratio)
    if columns == "flow":
        return 0.1, -float(np.log(twice))
    if columns == "suction":
        return 0.25, -float(np.log(2.0 / twice))
    return 0.0, BLOCKED_LOG


def _spells(line: _Line, merge: float) -> list[tuple[int, int]]:
    """Return first and last visit of the spells of a poor line, close ones joined."""
    at = np.flatnonzero(line.wet | line.choked)
    if not len(at):
        return []
    new = np.append(True, line.hours[at[1:]] - line.until[at[:-1]] > merge)
    first = at[new]
    last = at[np.append(np.flatnonzero(new)[1:] - 1, len(at) - 1)]
    deep = np.minimum.reduceat(line.own[at], np.flatnonzero(new)) <= -LONE_LOSS
    shared = np.concatenate([[0.0], np.cumsum(line.alike)])
    kept = (last > first + 1) | deep
    kept &= shared[last + 1] - shared[first] <= ALIKE_TIME * (last + 1 - first)
    return list(zip(first[kept].tolist(), last[kept].tolist(), strict=True))


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


def _measured(ship: Ship, line: _Line, first: int, last: int) -> PoorSpan:
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
    depth = float(line.own[first : last + 1].min())
    return PoorSpan(line.point, start, end, depth, 0.0, parts[0], parts[1])


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
