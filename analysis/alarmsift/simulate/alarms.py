"""The alarm system: raises, clears, latches, and sometimes stays silent."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from alarmsift.simulate.rounds import Visits
from alarmsift.simulate.sampling import Channel, Flows
from alarmsift.simulate.settings import SetpointPlan
from alarmsift.simulate.world import OXYGEN_IN_AIR, World


@dataclass(frozen=True)
class Episodes:
    """Alarms of one gas and level, or of one fault; arrays of shape (k,).

    Attributes
    ----------
    raised, cleared : ndarray of int
        Row of the visit that raised and cleared it; cleared -1 = still open.
    """

    gas: str
    level: str
    raised: np.ndarray
    cleared: np.ndarray


def limits(world: World, visits: Visits, plan: SetpointPlan, *, logged_only: bool) -> np.ndarray:
    """Return the setpoint in force at each visit as danger, shape (n,)."""
    base = world.setpoint(plan.gas, plan.level, plan.point)
    out = np.full(len(visits.hour), base)
    for move in world.moves:
        if move.gas == plan.gas and move.level == plan.level and (move.logged or not logged_only):
            on = (visits.hour >= move.start) & (visits.hour < move.end)
            out[on & ((visits.point == move.point) | (move.point < 0))] = move.value
    return out


def applies(world: World, visits: Visits, plan: SetpointPlan) -> np.ndarray:
    """Return where a setpoint plan is the one in force, shape (n,): a point's own goes first."""
    names = [p.name for p in world.settings.points]
    own = {
        names.index(other.point)
        for other in world.settings.setpoints
        if other.gas == plan.gas and other.level == plan.level and other.point
    }
    if plan.point:
        return np.asarray(visits.point == names.index(plan.point))
    return ~np.isin(visits.point, sorted(own))


def gas_episodes(
    world: World, visits: Visits, channel: Channel, plan: SetpointPlan, *, honest: bool = False
) -> Episodes:
    """Return the alarms of one gas and level.

    Parameters
    ----------
    world : World
        Where setpoints were moved and alarms muted.
    visits : Visits
        Sampled visits, shape (n,).
    channel : Channel
        What was shown.
    plan : SetpointPlan
        Gas, level, deadband.
    honest : bool
        What the documented setpoints alone would have raised.
    """
    limit = limits(world, visits, plan, logged_only=honest)
    usable = applies(world, visits, plan) & ~channel.faulty & ~channel.distrusted
    usable &= ~blocked_by_test(world, visits)
    on = (channel.danger >= limit - 1e-9) & usable
    off = (channel.danger < limit - plan.deadband - 1e-9) & usable
    if not honest:
        on &= ~_muted(world, visits, plan.gas)
    raised, cleared = _switch(visits, _stretch(world, visits), on, off, plan.confirm_visits)
    return Episodes(plan.gas, plan.level, raised, cleared)


def blocked_by_test(world: World, visits: Visits) -> np.ndarray:
    """Return visits whose alarms a marked test holds back, shape (n,)."""
    out = np.zeros(len(visits.hour), dtype=bool)
    if world.settings.habits.marks_tests:
        for test in world.tests:
            if test.documented:
                out |= (
                    (visits.hour >= test.start)
                    & (visits.hour < test.end)
                    & (visits.analyser == test.analyser)
                )
    return out


def _muted(world: World, visits: Visits, gas: str) -> np.ndarray:
    out = np.zeros(len(visits.hour), dtype=bool)
    for mute in world.mutes:
        if mute.gas == gas:
            out |= (
                (visits.hour >= mute.start)
                & (visits.hour < mute.end)
                & (visits.point == mute.point)
            )
    return out


def _stretch(world: World, visits: Visits) -> np.ndarray:
    """Return the number of the stretch over which an alarm keeps state, shape (n,)."""
    if not world.settings.habits.clears_on_disconnect:
        return visits.point
    turns = np.zeros(world.connected.shape, dtype=np.int64)
    turns[1:] = np.cumsum(world.connected[1:] != world.connected[:-1], axis=0)
    return np.asarray(visits.point * 10_000 + turns[visits.cell, visits.point])


def _switch(
    visits: Visits, stretch: np.ndarray, on: np.ndarray, off: np.ndarray, confirm: int
) -> tuple[np.ndarray, np.ndarray]:
    """Return rows of raise and clear of a two-threshold switch, stretch by stretch."""
    order = np.lexsort((visits.hour, stretch))
    point, up, down = stretch[order], on[order], off[order]
    first = np.concatenate([[True], point[1:] != point[:-1]])
    for back in range(1, confirm):
        up = up & np.concatenate(
            [np.zeros(back, bool), on[order][:-back] & (point[back:] == point[:-back])]
        )
    mark = np.where(up, 1, np.where(down | first, 0, -1))
    mark[first & up] = 1
    rows = np.arange(len(mark))
    last = np.maximum.accumulate(np.where(mark >= 0, rows, 0))
    state = mark[last] == 1
    before = np.concatenate([[False], state[:-1]]) & ~first
    start = np.flatnonzero(state & ~before)
    stop = np.flatnonzero(~state & np.concatenate([[False], state[:-1]]))
    stop = stop[~first[stop]]
    ends = np.full(len(start), -1)
    at = np.searchsorted(stop, start, "right")
    found = at < len(stop)
    same = np.zeros(len(start), dtype=bool)
    same[found] = point[stop[at[found]]] == point[start[found]]
    ends[same] = order[stop[at[same]]]
    return order[start], ends


def fault_episodes(world: World, visits: Visits, flows: Flows) -> list[Episodes]:
    """Return low-flow and water-trap faults."""
    limit = world.settings.low_flow_limit
    stretch, step = _stretch(world, visits), 0.1
    flow = np.round(flows.flow / step) * step
    low = Episodes("", "low flow", *_switch(visits, stretch, flow < limit, flow >= limit * 1.1, 1))
    wet = (world.wet_trap[visits.cell, visits.analyser] > 0.5) & (flows.with_water < 0.85)
    trap = Episodes("", "water trap", *_switch(visits, stretch, wet, ~wet, 1))
    return [low, trap]


def shown_limit(plan: SetpointPlan, danger: float) -> float:
    """Return a danger limit as the display's number."""
    return OXYGEN_IN_AIR - danger if plan.direction == "falling" else danger
