"""The answers: the cause of every alarm, and where each silent failure began and ended."""

from __future__ import annotations

import numpy as np
import pandas as pd

from alarmsift.simulate.alarms import Episodes, blocked_by_test, gas_episodes, limits
from alarmsift.simulate.detector import traces
from alarmsift.simulate.rounds import Visits
from alarmsift.simulate.sampling import Channel, Flows
from alarmsift.simulate.settings import SetpointPlan
from alarmsift.simulate.watch import Watch
from alarmsift.simulate.world import STEP_H, World
from alarmsift.tables.schema import UNDETERMINED

FAULT_CAUSES = ("water", "blocked", "pump")
NOTHING = 0.02  # a trouble that cuts less of the flow than this explains no fault [-]
MERGE_H = 6.0  # spans of one condition closer than this are one
SHORT_H = 0.25  # spans shorter than this are not listed
# A zero that swings over its limit once a day is one condition and not one a day; a brief crossing
# is none.
ZERO_MERGE_H, ZERO_SHORT_H = 24.0, 6.0
# A joint so near the probe that the line's conductance moves by less than this [ln] dilutes, and
# neither flow nor suction shows it: the size of what gauges of 1 to 3 % can tell.
TRACE_LN = 0.03
NO_TRACE = "no trace"
# A display that shows nothing under nought hides a zero under nought, but for zero checks.
HIDDEN, HIDDEN_SHARE = "below the display", 0.9
# Readings over the setpoint that prove that an alarm does not work [turns].
SOME_TURNS = 2.5
CYCLE_LIMIT_H = 0.5  # IMO MSC.1/Circ.1370, 2.1.2
WATER_KPA, BLOCKED_TIMES, LEAK_SHARE = 2.0, 2.0, 0.15
ZERO_LIMIT = {"HC": 3.0, "H2S": 1.5}
SENSITIVITY_LIMIT, FLOW_LIMIT = 0.85, 0.75

_COLUMNS = ["point", "condition", "start", "end", "why"]


def gas_causes(
    world: World, visits: Visits, channel: Channel, plan: SetpointPlan, found: Episodes
) -> np.ndarray:
    """Return the cause of each gas alarm: the largest contribution at the raise; shape (k,)."""
    rows = found.raised
    limit = limits(world, visits, plan, logged_only=False)[rows]
    names = np.array(list(channel.parts))
    share = np.stack([channel.parts[name][rows] for name in names], axis=1)
    background = list(names).index("tight_setpoint")
    small = share[:, background] < limit / 2.0
    rest = np.delete(share, background, axis=1)
    # A background under half the setpoint counts only where nothing else is there at all.
    alone = rest.max(axis=1, initial=0.0) <= 1e-3
    share[small & ~alone, background] = 0.0
    best = share.argmax(axis=1)
    top = share[np.arange(len(rows)), best]
    return np.where(top > 1e-3, names[best], UNDETERMINED)


def fault_causes(flows: Flows, found: Episodes) -> np.ndarray:
    """Return the cause of each fault: whichever cuts the flow most; shape (k,)."""
    rows = found.raised
    left = np.stack(
        [flows.with_water[rows], flows.with_blockage[rows], flows.with_pump[rows]], axis=1
    )
    best = left.argmin(axis=1)
    cause = np.array(FAULT_CAUSES)[best]
    return np.where(left.min(axis=1, initial=1.0) < 1.0 - NOTHING, cause, UNDETERMINED)


def conditions(world: World, watch: Watch) -> pd.DataFrame:
    """Return point, condition, start, end [h] and why of every silent failure."""
    rows = [*_lines(world), *_detectors(world), *_pump(world, watch.visits, watch.flows)]
    rows += _left(world) + _gaps(world, watch.visits, watch.channels) + _silent(world, watch)
    return pd.DataFrame(rows, columns=_COLUMNS)


def spans(
    on: np.ndarray, *, merge_h: float = MERGE_H, short_h: float = SHORT_H
) -> list[tuple[float, float]]:
    """Return (start, end) [h] of the true stretches of a grid mask, shape (n,)."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], on.astype(np.int8), [0]])))
    starts, ends = edges[::2] * STEP_H, edges[1::2] * STEP_H
    if not len(starts):
        return []
    apart = np.concatenate([[True], starts[1:] - ends[:-1] > merge_h])
    first = np.flatnonzero(apart)
    last = np.concatenate([first[1:] - 1, [len(starts) - 1]])
    pairs = zip(starts[first].tolist(), ends[last].tolist(), strict=True)
    return [(start, end) for start, end in pairs if end - start >= short_h]


def _lines(world: World) -> list[list[object]]:
    rows: list[list[object]] = []
    seen = world.connected & ~world.skipped
    states = {
        "water": world.head >= WATER_KPA,
        "blocked": world.blockage >= BLOCKED_TIMES,
        "air_leak": world.leak >= LEAK_SHARE,
    }
    for name, state in states.items():
        on = state & seen
        for point in np.flatnonzero(on.any(axis=0)):
            label = world.settings.points[int(point)].name
            if name == "air_leak":
                rows += _leaks(world, int(point), state[:, point], seen[:, point])
            else:
                rows += [[label, name, *span, ""] for span in spans(on[:, point])]
    return rows


def _leaks(world: World, point: int, leaking: np.ndarray, seen: np.ndarray) -> list[list[object]]:
    """Return a joint's leaks that were drawn on at any time: being off the line mends none."""
    label = world.settings.points[point].name
    return [
        [label, "air_leak", start, end, _trace(world, point, start, end)]
        for start, end in spans(leaking)
        if seen[world.span(start, end)].any()
    ]


def _trace(world: World, point: int, start: float, end: float) -> str:
    """Return whether a leak leaves a trace in the line's resistance."""
    share = float(world.leak[world.span(start, end), point].max(initial=0.0))
    lighter = -np.log1p(-share * float(world.leak_place[point]))
    return "" if lighter >= TRACE_LN else NO_TRACE


def _detectors(world: World) -> list[list[object]]:
    rows: list[list[object]] = []
    names = world.settings.analysers
    for gas in world.settings.gases:
        zero, sensitivity = traces(world, gas)
        for a, analyser in enumerate(names):
            label = f"detector {gas}" + (f" ({analyser})" if len(names) > 1 else "")
            if gas in ZERO_LIMIT:
                on = np.abs(zero[:, a]) >= ZERO_LIMIT[gas]
                found = spans(on, merge_h=ZERO_MERGE_H, short_h=ZERO_SHORT_H)
                rows += [[label, "zero_drift", *s, _hidden(world, zero[:, a], *s)] for s in found]
            on = sensitivity[:, a] < SENSITIVITY_LIMIT
            rows += [[label, "low_sensitivity", *s, ""] for s in spans(on, short_h=1.0)]
    return rows


def _hidden(world: World, zero: np.ndarray, start: float, end: float) -> str:
    """Return whether the display hides where the zero is."""
    below = float((zero[world.span(start, end)] < 0.0).mean()) >= HIDDEN_SHARE
    return HIDDEN if below and world.settings.habits.clips_negative else ""


def _pump(world: World, visits: Visits, flows: Flows) -> list[list[object]]:
    weak = np.zeros(world.n, dtype=bool)
    for analyser in range(len(world.settings.analysers)):
        mine = visits.analyser == analyser
        worst = np.zeros(world.n)
        np.maximum.at(worst, visits.cell[mine], flows.with_pump[mine])
        order = np.flatnonzero(worst > 0)
        if len(order):
            last = np.searchsorted(order, np.arange(world.n), "right") - 1
            # Over one round the best line still has to be under the limit.
            turn = max(1, int(np.ceil(world.settings.dwell_s * len(world.settings.points) / 300)))
            level = pd.Series(worst[order[np.maximum(last, 0)]]).rolling(turn, min_periods=1).max()
            weak |= level.to_numpy() < FLOW_LIMIT
    return [["analyser", "low_flow_all", *s, ""] for s in spans(weak, short_h=1.0)]


def _left(world: World) -> list[list[object]]:
    rows: list[list[object]] = []
    for point in np.flatnonzero(world.known_open.any(axis=0)):
        label = world.settings.points[int(point)].name
        found = spans(world.known_open[:, point], merge_h=0.0, short_h=1.0)
        rows += [[label, "left_disconnected", *s, ""] for s in found]
    return rows


def _gaps(world: World, visits: Visits, channels: dict[str, Channel]) -> list[list[object]]:
    """No valid reading within the cycle limit though the point is plugged in."""
    rows: list[list[object]] = []
    usable = ~np.all([c.faulty | c.distrusted for c in channels.values()], axis=0)
    usable &= ~blocked_by_test(world, visits)
    for point, plan in enumerate(world.settings.points):
        hour = visits.hour[usable & (visits.point == point)]
        hour = np.concatenate([[0.0], np.sort(hour), [world.end]])
        for i in np.flatnonzero(np.diff(hour) > CYCLE_LIMIT_H):
            gap = (float(hour[i]), float(hour[i + 1]))
            inside = _longest(world.connected[world.span(*gap), point], *gap)
            if inside is not None:
                rows.append([plan.name, "not_sampled", *inside, _why(world, point, *inside)])
    return rows


def _why(world: World, point: int, start: float, end: float) -> str:
    """Return what kept the readings away: for whoever wants one kind of gap only."""
    rows, analyser = world.span(start, end), world.analyser_of(point)
    if world.skipped[rows, point].any():
        return "skipped"
    if world.stopped[rows, analyser].any():
        return "stopped"
    if any(faulty[rows, analyser].any() for faulty in world.faulty.values()):
        return "detector fault"
    if world.settings.habits.low_flow_shows == "fault" and end - start > 4 * CYCLE_LIMIT_H:
        return "no flow"
    tested = any(t.analyser == analyser and t.start < end and t.end > start for t in world.tests)
    return "test" if tested else "slow round"


def _longest(plugged: np.ndarray, start: float, end: float) -> tuple[float, float] | None:
    if plugged.all():
        return start, end
    found = spans(plugged, merge_h=0.0, short_h=CYCLE_LIMIT_H)
    if not found:
        return None
    first, last = max(found, key=lambda span: span[1] - span[0])
    return start + first, min(start + last, end)


def _silent(world: World, watch: Watch) -> list[list[object]]:
    """Alarms that the written setpoints would have raised and that never came, and phantoms."""
    rows: list[list[object]] = []
    names = [plan.name for plan in world.settings.points]
    for plan, real in watch.alarms:
        due = gas_episodes(world, watch.visits, watch.channels[plan.gas], plan, honest=True)
        lost = _missing(watch.visits, due, real, world.end)
        for point, start, end in _while_silent(lost, watch, real, world.end):
            rows.append([names[point], "no_alarm", start, end, f"{plan.gas} {plan.level} silent"])
    for hour, point, gas, level in world.phantoms:
        if hour < world.end:
            rows.append([names[point], "no_alarm", hour, hour + 0.5, f"{gas} {level} no crossing"])
    return _joined(rows)


def _while_silent(
    rows: list[tuple[int, float, float]], watch: Watch, real: Episodes, last: float
) -> list[tuple[int, float, float]]:
    """Join the crossings of one point that no working alarm parts: it failed all the while.

    After some readings over the setpoint it is taken to fail until it works again.
    """
    hour, where = watch.visits.hour[real.raised], watch.visits.point[real.raised]
    out: list[tuple[int, float, float, float]] = []
    for point, start, end in sorted(rows):
        if out and out[-1][0] == point:
            mine = hour[where == point]
            if not ((mine > out[-1][2]) & (mine < start)).any():
                first, length = out[-1][1], out[-1][3] + end - start
                out[-1] = (point, first, max(out[-1][2], end), length)
                continue
        out.append((point, start, end, end - start))
    found = []
    for point, start, end, length in out:
        turns = np.diff(watch.visits.hour[watch.visits.point == point])
        proved = len(turns) > 0 and length > SOME_TURNS * float(np.median(turns))
        later = hour[(where == point) & (hour > end)]
        until = float(later.min(initial=last)) if proved else end
        found.append((point, start, until))
    return found


def _missing(
    visits: Visits, due: Episodes, real: Episodes, end: float
) -> list[tuple[int, float, float]]:
    def stretch(found: Episodes) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        down = np.where(found.cleared >= 0, visits.hour[found.cleared], end)
        return visits.point[found.raised], visits.hour[found.raised], down

    point, start, stop = stretch(due)
    other, up, down = stretch(real)
    met = (point[:, None] == other) & (up <= stop[:, None]) & (down >= start[:, None])
    alone = ~met.any(axis=1)
    return list(
        zip(point[alone].tolist(), start[alone].tolist(), stop[alone].tolist(), strict=True)
    )


def _joined(rows: list[list[object]]) -> list[list[object]]:
    """Join spans of one point that lie within a day of each other."""
    out: list[list[object]] = []
    for row in sorted(rows, key=lambda r: (str(r[0]), float(str(r[2])))):
        last = out[-1] if out else None
        if last and last[0] == row[0] and float(str(row[2])) <= float(str(last[3])) + 24.0:
            last[3] = max(float(str(last[3])), float(str(row[3])))
        else:
            out.append(row)
    return out
