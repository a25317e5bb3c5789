"""Water or a blockage: the decibans for water in a spell of a poor line.

Ballast arrives within a visit or two, with a fill or a heavy sea, at both probes of a tank, and the
trap trips; bilge water creeps up in a void or a pump room until somebody pumps. Scale and mud grow
over days and then stand; nobody leaves water in a line for days unless its tank is full.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from alarmsift.evidence.ship import Ship
from alarmsift.tables.labels import text_of
from alarmsift.timeline.kinds import kinds_of

# All weights and limits here: common practice, no source.
SUDDEN_HOURS, SLOW_HOURS = 3.0, 30.0
# Lengths that water has, may have, and has not unless the tank is full [h].
SHORT_HOURS, FRESH_HOURS, LONG_HOURS = 24.0, 30.0, 60.0
# A column that stops the pump altogether stands two to four metres high; a shut valve is likelier
# [ln conductance].
SHUT = -3.0
# A loss that stands still over its second half, within this share of it, is a blockage that stuck.
STANDS = 0.06
# A line that was clean at this share of the visits in between, and so many times, is no blockage:
# scale comes off once. Gone is a loss under this share of the largest; a sea lasts no longer [h].
CAME_CLEAN, CLEAN_TIMES, GONE, SEA_HOURS = 0.08, 3, 0.2, 120.0
# Ballast reaches the probe during the fill or within hours of it [h].
FILL_LAG = 18.0
# Spaces in which water rises without a ballast row.
CREEPING = ("void", "pump_room", "cofferdam", "duct_keel", "other")


@dataclass(frozen=True)
class Spell:
    """One spell of a poor line: its visits (shape (n,)), and the last visits before it."""

    point: int
    start: float
    end: float
    hours: np.ndarray
    own: np.ndarray
    poor: np.ndarray
    before_hours: np.ndarray
    before_own: np.ndarray
    twins: np.ndarray


@dataclass(frozen=True)
class LineLog:
    """What the logs say around the lines, by point, looked up once."""

    reconnects: dict[int, np.ndarray]
    traps: dict[int, np.ndarray]
    fills_logged: bool
    creeping: np.ndarray


def line_log(ship: Ship) -> LineLog:
    """Return what the logs say around the lines."""
    ops, visits = ship.operations, ship.visits
    events = ship.logs.events
    level = text_of(events["level"])
    named = {t for t in level.unique() if "trap" in t.lower() or "water" in t.lower()}
    rows = events[level.isin(named)]
    hours, names = visits.since(rows["time"]), rows["point"].astype(str).to_numpy(object)
    return LineLog(
        {
            int(str(p)): part["hours"].to_numpy(float)
            for p, part in ops.of("reconnect").groupby("point")
        },
        {p: np.sort(hours[names == n]) for p, n in enumerate(visits.points) if (names == n).any()},
        len(ops.of("ballast_fill_start")) > 0,
        _creeping(ship),
    )


def _creeping(ship: Ship) -> np.ndarray:
    """Tell for each point whether it is in a space where water rises without ballasting, (P,)."""
    kinds = kinds_of(ship.visits.points, ship.logs.points)
    moved = ship.operations.of("ballast_fill_start", "ballast_discharge_end")["point"]
    still = ~np.isin(np.arange(len(kinds)), moved)
    return np.isin(kinds, CREEPING) | ((kinds == "") & still)


def for_water(ship: Ship, spell: Spell, log: LineLog) -> float:
    """Return the decibans for water against a blockage."""
    p, ops, cycle = spell.point, ship.operations, ship.visits.cycle_hours
    hours, own = spell.hours, spell.own
    depth, length = float(own.min()), spell.end - spell.start
    deep = float(hours[np.argmax(own <= 0.75 * depth)])
    rise = deep - float(hours[np.argmax(own <= 0.25 * depth)])
    sudden = rise < max(SUDDEN_HOURS, 3 * cycle)
    where, begin = np.array([p]), np.array([spell.start])
    fresh = _fresh(spell, log.reconnects.get(p, np.zeros(0)), cycle)
    filled = bool(ops.filling.active(where, np.array([deep]), lag=FILL_LAG)[0])
    filled |= bool(ops.full.active(where, begin)[0])
    filled &= not fresh
    rough = bool(ops.heavy_sea.active(np.array([-1]), begin, lag=6.0)[0])
    share = float(np.mean(spell.poor))
    trap = log.traps.get(p, np.zeros(0))
    soon = spell.start + max(6.0, 0.3 * length)
    trapped = bool(((trap >= spell.start - 1.0) & (trap <= soon)).any())
    twin = bool((np.abs(spell.twins - spell.start) < 12.0).any())
    out = 8.0 * filled + 15.0 * trapped + 8.0 * twin
    if log.fills_logged and not filled:
        out -= 1.0
    slugs = 3.0 < length < SEA_HOURS and _came_clean(own, depth)
    if slugs or (share < 0.7 and length > 3.0):
        out += 3.0 + 5.0 * slugs + 5.0 * rough  # slugs come and go
    elif rough and length < SHORT_HOURS:
        out += 5.0
    if fresh:
        # Water that ran in while the line was off is blown out within a day or so.
        out += 6.0 if length < FRESH_HOURS else -5.0
    if slugs:
        pass  # how the loss grew says nothing where the line was clean in between
    elif sudden:
        # A valve shuts at once and stays; water that came at once came with something.
        reason = filled or trapped or twin or rough or fresh
        out += 6.0 if length < SHORT_HOURS else 2.0 if reason else -1.0
    elif log.creeping[p] and rise < SLOW_HOURS and length < LONG_HOURS:
        out += -6.0 if _stands(own, depth) else 6.0
    else:
        # In a ballast tank nothing creeps up, unless the sea throws it.
        out -= 9.0 if length > SHORT_HOURS else (0.0 if rough else 3.0)
    # Where nobody logs ballast, a tank may have been full all the time.
    dry = not filled and (log.fills_logged or bool(log.creeping[p]))
    if depth < SHUT and length > SHORT_HOURS and dry:
        out -= 4.0
    if length > LONG_HOURS and dry:
        out -= 8.0
    return out


def _fresh(spell: Spell, back: np.ndarray, cycle: float) -> bool:
    """Tell whether the spell shows at the first visits after the line was off."""
    fresh = bool(((spell.start - back > -1.0) & (spell.start - back < 3.0)).any())
    # The first visits after a long time off, whatever the log lacks.
    if len(spell.before_hours):
        fresh |= spell.hours[0] - float(spell.before_hours[-1]) > max(8.0, 5 * cycle)
        # A line that was as poor before it was taken off did not fill in the meantime.
        if np.median(spell.before_own) < 0.5 * float(spell.own.min()):
            return False
    return fresh


def _came_clean(own: np.ndarray, depth: float) -> bool:
    """Tell whether the line was clean again and again since the loss was half its largest."""
    clean = own[int(np.argmax(own <= 0.5 * depth)) :] > GONE * depth
    times = int(np.sum(clean[1:] & ~clean[:-1]))
    return times >= CLEAN_TIMES and float(np.mean(clean)) >= CAME_CLEAN


def _stands(own: np.ndarray, depth: float) -> bool:
    """Tell whether a loss no longer grows over the second half of its time."""
    return len(own) >= 8 and float(np.std(own[len(own) // 2 :])) < STANDS * abs(depth)
