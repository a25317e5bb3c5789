"""Windows around alarms: the point's visits before and after each raise, side by side.

One row an episode, one column a visit, so that a sign is arithmetic along an axis and never a
loop over alarms.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from alarmsift.evidence.ship import Ship
from alarmsift.timeline.in_force import in_force
from alarmsift.timeline.setpoints import RAISE_LAG_CYCLES
from alarmsift.timeline.visits import TEST

BEFORE_HOURS, AFTER_HOURS = 12.0, 18.0
MOST_BEFORE, MOST_AFTER = 120, 180


@dataclass(frozen=True, eq=False)
class Windows:
    """E episodes by W visits; column ``at`` is the visit that raised.

    Attributes
    ----------
    ship : Ship
    episode : DataFrame
        The E episodes.
    gas : ndarray of str, shape (E,)
        '' for faults.
    point : ndarray of int, shape (E,)
        -1 for a name that the readings do not have.
    is_fault, rising : ndarray of bool, shape (E,)
    raised, cleared : ndarray, shape (E,)
        [h since origin]; cleared is inf while open.
    setpoint, deadband, noise, step, background, zero : ndarray, shape (E,)
        At the raise, in the gas's unit. NaN where unknown.
    value : ndarray, shape (E,)
        The reading that raised it, else the alarm list's value.
    at : int
    visit : ndarray of int, shape (E, W)
        Index of the visit; -1 outside the logs.
    rel : ndarray, shape (E, W)
        Hours since the raise.
    x : ndarray, shape (E, W)
        Reading less zero and background, turned so that alarms are upwards.
    shown : ndarray, shape (E, W)
        The same with readings in tests kept.
    prev : ndarray, shape (E, W)
        What the visit before showed, less its zero and background (tests kept), same turn.
    other : ndarray, shape (E, W)
        The other gas's excess in its noise widths; of several, the largest.
    own, flow_share, common_share, head : ndarray, shape (E, W)
        Line health.
    testing : ndarray of bool, shape (E, W)
    """

    ship: Ship
    episode: pd.DataFrame
    gas: np.ndarray
    point: np.ndarray
    is_fault: np.ndarray
    rising: np.ndarray
    raised: np.ndarray
    cleared: np.ndarray
    setpoint: np.ndarray
    deadband: np.ndarray
    noise: np.ndarray
    step: np.ndarray
    background: np.ndarray
    zero: np.ndarray
    value: np.ndarray
    at: int
    visit: np.ndarray
    rel: np.ndarray
    x: np.ndarray
    shown: np.ndarray
    prev: np.ndarray
    other: np.ndarray
    own: np.ndarray
    flow_share: np.ndarray
    common_share: np.ndarray
    head: np.ndarray
    testing: np.ndarray

    def __len__(self) -> int:
        return len(self.gas)

    @property
    def x0(self) -> np.ndarray:
        """Excess at the raise, shape (E,)."""
        return self.x[:, self.at]

    def after(self, column: np.ndarray) -> np.ndarray:
        """Return a window column from the raise on, shape (E, W - at)."""
        return column[:, self.at :]

    def before(self, column: np.ndarray) -> np.ndarray:
        """Return a window column before the raise, shape (E, at)."""
        return column[:, : self.at]

    def take(self, series: np.ndarray) -> np.ndarray:
        """Return a series over visits (n,) in the windows, shape (E, W); NaN outside."""
        padded = np.append(series.astype(float), np.nan)
        return np.asarray(padded[self.visit])


def build_windows(ship: Ship, episode: pd.DataFrame) -> Windows:
    """Return the windows of some episodes (E rows of the episodes table)."""
    visits = ship.visits
    code = {name: index for index, name in enumerate(visits.points)}
    point = np.array([code.get(str(name), -1) for name in episode["point"]], "int64")
    gas = episode["gas"].to_numpy(object).astype(str)
    is_fault = (episode["kind"] == "fault").to_numpy()
    raised = visits.since(episode["raised"])
    cleared = np.nan_to_num(visits.since(episode["cleared"]), nan=np.inf)
    setpoint, deadband, rising = _limits(ship, episode, raised)
    before = int(min(np.ceil(BEFORE_HOURS / visits.cycle_hours), MOST_BEFORE))
    after = int(min(np.ceil(AFTER_HOURS / visits.cycle_hours), MOST_AFTER))
    head = _raising_visit(ship, point, gas, raised, setpoint, rising)
    visit = _around(ship, point, head, before, after)
    rel = _pick(visits.hours, visit) - raised[:, None]
    turn = np.where(rising, 1.0, -1.0)[:, None]
    previous = np.append(visits.previous, -1)[visit]
    # A point read again at once (the round stood still) has no sample of another point before it.
    point_of = np.append(visits.point, -1)
    previous = np.where(point_of[previous] == point_of[visit], -1, previous)
    n = len(visits)
    empty = np.full(n, np.nan)
    x, shown, prev = (_by_gas(ship, gas, d, v) for d, v in _series(ship, visit, previous))
    zero = _by_gas(ship, gas, ship.zero, visit)[:, before]
    test = np.zeros(n, bool)
    for name in visits.gases:
        test |= visits.status[name] == TEST
    shape = visit.shape
    value = _by_gas(ship, gas, visits.raw, visit)[:, before]
    stated = episode["value"].to_numpy(float)
    return Windows(
        ship=ship,
        episode=episode,
        gas=gas,
        point=point,
        is_fault=is_fault,
        rising=rising,
        raised=raised,
        cleared=cleared,
        setpoint=setpoint,
        deadband=deadband,
        noise=_of_point(ship.noise, gas, point),
        step=_step(ship, gas),
        background=_of_point(ship.background, gas, point),
        zero=zero,
        value=np.where(np.isfinite(value), value, stated),
        at=before,
        visit=visit,
        rel=rel,
        x=turn * x,
        shown=turn * shown,
        prev=turn * prev,
        other=_other(ship, gas, visit),
        own=_pick(ship.line.own, visit),
        flow_share=_pick(ship.line.flow_share, visit),
        common_share=_pick(ship.line.common_share, visit),
        head=_pick(ship.line.head if len(ship.line.head) == n else empty, visit),
        testing=(np.append(test, False)[visit]).reshape(shape),
    )


def _series(
    ship: Ship, visit: np.ndarray, previous: np.ndarray
) -> list[tuple[dict[str, np.ndarray], np.ndarray]]:
    return [(ship.excess, visit), (ship.shown, visit), (ship.shown, previous)]


def _pick(series: np.ndarray, visit: np.ndarray) -> np.ndarray:
    return np.asarray(np.append(series, np.nan)[visit])


def _by_gas(
    ship: Ship, gas: np.ndarray, series: dict[str, np.ndarray], visit: np.ndarray
) -> np.ndarray:
    out = np.full(visit.shape, np.nan)
    for name in ship.visits.gases:
        mine = gas == name
        if mine.any():
            out[mine] = _pick(series[name], visit[mine])
    return out


def _of_point(table: dict[str, np.ndarray], gas: np.ndarray, point: np.ndarray) -> np.ndarray:
    out = np.full(len(gas), np.nan)
    for name, values in table.items():
        mine = (gas == name) & (point >= 0)
        out[mine] = values[point[mine]]
    return out


def _step(ship: Ship, gas: np.ndarray) -> np.ndarray:
    out = np.full(len(gas), np.nan)
    for (name, _), model in ship.zeros.items():
        out[gas == name] = model.step
    return out


def _other(ship: Ship, gas: np.ndarray, visit: np.ndarray) -> np.ndarray:
    """Return the strongest other gas at each visit of the windows, in its noise widths."""
    out = np.full(visit.shape, np.nan)
    points = ship.visits.point
    for name in ship.visits.gases:
        if name == "O2":
            continue
        mine = gas != name
        width = ship.noise[name][points]
        score = _pick(ship.excess[name] / width, visit[mine])
        out[mine] = np.fmax(out[mine], score)
    return out


def _limits(
    ship: Ship, episode: pd.DataFrame, raised: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    setpoint = np.full(len(episode), np.nan)
    deadband = np.zeros(len(episode))
    rising = np.ones(len(episode), bool)
    spans = in_force(ship.setpoints, ship.visits)
    frame = episode.reset_index(drop=True)
    for key, rows in frame.groupby(["point", "gas", "level"], sort=False):
        span = spans.get(key)
        if span is None:
            rising[rows.index] = key[1] != "O2"
            continue
        which = rows.index.to_numpy()
        setpoint[which] = span.value_at(raised[which])
        deadband[which] = span.deadband_at(raised[which])
        rising[which] = not span.falling
    return setpoint, deadband, rising


def _raising_visit(  # noqa: PLR0913  (the columns of one episode)
    ship: Ship,
    point: np.ndarray,
    gas: np.ndarray,
    raised: np.ndarray,
    setpoint: np.ndarray,
    rising: np.ndarray,
) -> np.ndarray:
    """Return the position, among the point's visits, of the visit that raised each episode.

    The visit at or just before the alarm row; where that one does not cross the setpoint, the
    next or the one before it that does (alarm lists are rounded, and their clocks differ).
    """
    visits = ship.visits
    out = np.full(len(point), -1, "int64")
    reach = RAISE_LAG_CYCLES * visits.cycle_hours
    for p in np.unique(point[point >= 0]):
        mine = visits.of(p)
        if not len(mine):
            continue
        rows = np.flatnonzero(point == p)
        hours = visits.hours[mine]
        base = np.clip(np.searchsorted(hours, raised[rows] + 1e-4, "right") - 1, 0, len(mine) - 1)
        choice, found = base.copy(), np.zeros(len(rows), bool)
        for shift in (0, 1, -1):
            candidate = np.clip(base + shift, 0, len(mine) - 1)
            near = np.abs(hours[candidate] - raised[rows]) <= max(reach, 0.05)
            crosses = np.zeros(len(rows), bool)
            for name in visits.gases:
                its = gas[rows] == name
                value = visits.raw[name][mine[candidate[its]]]
                over = value >= setpoint[rows[its]]
                under = value <= setpoint[rows[its]]
                crosses[its] = np.where(rising[rows[its]], over, under)
            take = crosses & near & ~found
            choice[take], found = candidate[take], found | take
        out[rows] = choice
    return out


def _around(ship: Ship, point: np.ndarray, head: np.ndarray, before: int, after: int) -> np.ndarray:
    """Return visit indices (E, before + 1 + after) around position ``head`` of each point."""
    visits = ship.visits
    offset = np.arange(-before, after + 1)[None, :]
    safe = np.maximum(point, 0)
    position = head[:, None] + offset
    count = (visits.first[safe + 1] - visits.first[safe])[:, None] if len(visits) else 0
    inside = (point[:, None] >= 0) & (head[:, None] >= 0) & (position >= 0) & (position < count)
    flat = np.where(inside, visits.first[safe][:, None] + position, 0)
    return np.where(inside, visits.order[flat], -1) if len(visits) else np.full(flat.shape, -1)
