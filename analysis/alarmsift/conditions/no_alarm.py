"""No alarm: readings at or over the setpoint with no alarm raised, or alarms with no crossing.

Also tells setpoints that the alarms show to have moved with no row in the log.
"""

import numpy as np
import pandas as pd

from alarmsift.evidence.condition import Condition, found
from alarmsift.evidence.ship import Ship
from alarmsift.evidence.spans import spans_where
from alarmsift.timeline.operations import CALIBRATION_ACTIONS
from alarmsift.timeline.setpoints import value_in_force
from alarmsift.timeline.visits import TEST

# An alarm row belongs to a crossing within this many rounds either way (CP).
LAG_ROUNDS = 1.1
# Crossings without an alarm this close together are one failure (CP).
JOIN_HOURS = 96.0


def find(ship: Ship, episodes: pd.DataFrame) -> pd.DataFrame:
    """Return the spans in which alarms and readings disagree."""
    rows = []
    if not len(ship.logs.events):
        return found(rows)
    tests = ship.operations.of(*CALIBRATION_ACTIONS)["hours"].to_numpy(float)
    for (point, gas, level), span in ship.setpoints.groupby(["point", "gas", "level"], sort=False):
        if point not in ship.visits.points or gas not in ship.visits.value:
            continue
        if (span["source"] == "inferred").all():
            continue
        mine = episodes[
            (episodes["point"] == point) & (episodes["gas"] == gas) & (episodes["level"] == level)
        ]
        rows += _missed(ship, point, gas, level, span=span, mine=mine, tests=tests)
        rows += _unfounded(ship, point, gas, level, span=span, mine=mine)
    return found(_merged(rows))


def _series(ship: Ship, point: str, gas: str, span: pd.DataFrame) -> tuple[np.ndarray, ...]:
    visits = ship.visits
    mine = visits.of(visits.points.index(point))
    mine = mine[np.isfinite(visits.value[gas][mine]) & (visits.status[gas][mine] != TEST)]
    hours = visits.hours[mine]
    falling = bool((span["direction"] == "falling").any())
    limit = value_in_force(span, visits, hours, "value")
    value = visits.value[gas][mine]
    over = (value <= limit) if falling else (value >= limit)
    return hours, over, value, limit


def _missed(  # noqa: PLR0913  (one alarm of one point)
    ship: Ship,
    point: str,
    gas: str,
    level: str,
    *,
    span: pd.DataFrame,
    mine: pd.DataFrame,
    tests: np.ndarray,
) -> list[tuple[str, float, float, float, str, str]]:
    hours, over, value, _ = _series(ship, point, gas, span)
    if not over.any():
        return []
    visits = ship.visits
    lag = LAG_ROUNDS * visits.cycle_hours
    raised = visits.since(mine["raised"])
    cleared = np.nan_to_num(visits.since(mine["cleared"]), nan=np.inf)
    order = np.argsort(raised)
    raised, cleared = (
        raised[order],
        np.maximum.accumulate(cleared[order]) if len(order) else cleared,
    )
    at = np.searchsorted(raised, hours + lag, "right") - 1
    covered = at >= 0
    covered[covered] = cleared[at[covered]] >= hours[covered] - lag
    confirm = ship.logs.setpoints
    wait = confirm.loc[(confirm["gas"] == gas) & (confirm["level"] == level), "confirm_visits"]
    need = int(np.nanmax(wait)) if wait.notna().any() else 1
    run = _run_length(over)
    near_test = (
        (np.abs(hours[:, None] - tests[None, :]) < 0.75).any(axis=1) if len(tests) else False
    )
    moved = _near_change(ship, span, hours)
    missed = over & ~covered & (run >= max(need, 1)) & ~near_test & ~moved
    spans = spans_where(hours, missed, close=JOIN_HOURS, shortest=0.0, open_end=False)
    out = []
    for start, end in spans:
        inside = missed & (hours >= start) & (hours <= end)
        # An alarm that worked in between ends the failure.
        count = int(inside.sum())
        top = value[inside].max()
        out.append(
            (
                point,
                float(start),
                float(end) if end > start else float(start) + visits.cycle_hours,
                0.6 if count == 1 else 0.9,
                f"{count} {gas} reading(s) at or over the {level} setpoint (up to {top:g}) raised "
                "no alarm",
                "Test the alarm with test gas, and compare the setpoint in the analyser with the "
                "setpoint sheet.",
            )
        )
    return out


def _run_length(flag: np.ndarray) -> np.ndarray:
    """Return the length of the run that each True belongs to, 0 for False."""
    edge = np.diff(np.concatenate([[0], flag.astype(int), [0]]))
    begin, end = np.flatnonzero(edge == 1), np.flatnonzero(edge == -1)
    out = np.zeros(len(flag))
    for a, b in zip(begin, end, strict=True):
        out[a:b] = b - a
    return out


def _near_change(ship: Ship, span: pd.DataFrame, hours: np.ndarray) -> np.ndarray:
    """Tell which visits are close to a logged change of the setpoint (rows are rounded)."""
    change = ship.visits.since(span["start"])
    change = change[np.isfinite(change)]
    if not len(change):
        return np.zeros(len(hours), bool)
    return np.asarray((np.abs(hours[:, None] - change[None, :]) < 1.0).any(axis=1))


def _unfounded(
    ship: Ship, point: str, gas: str, level: str, *, span: pd.DataFrame, mine: pd.DataFrame
) -> list[tuple[str, float, float, float, str, str]]:
    """Alarms while the readings stay clearly under the setpoint."""
    visits = ship.visits
    p = visits.points.index(point)
    at = visits.of(p)
    value, hours = visits.raw[gas][at], visits.hours[at]
    good = np.isfinite(value)
    value, hours = value[good], hours[good]
    if not len(mine) or len(value) < 3:
        return []
    raised = visits.since(mine["raised"])
    falling = bool((span["direction"] == "falling").any())
    limit = value_in_force(span, visits, raised, "value")
    lag = LAG_ROUNDS * visits.cycle_hours
    low, high = np.searchsorted(hours, raised - lag), np.searchsorted(hours, raised + lag, "right")
    out = []
    times = []
    margin = 3.0 * ship.noise[gas][p]
    for i in range(len(mine)):  # alarms of one point
        near = value[low[i] : high[i]]
        if not len(near):
            continue
        gap = near.min() - limit[i] if falling else limit[i] - near.max()
        if gap > margin:
            times.append(float(raised[i]))
    if times:
        ordered = np.sort(np.array(times))
        for start, end in spans_where(
            ordered, np.ones(len(ordered), bool), close=JOIN_HOURS, shortest=0.0, open_end=False
        ):
            out.append(
                (
                    point,
                    start,
                    max(end, start + visits.cycle_hours),
                    0.8,
                    f"{gas} {level} alarm(s) with no reading at the setpoint",
                    "Compare the setpoint in the analyser with the setpoint sheet.",
                )
            )
    return out


def _merged(
    rows: list[tuple[str, float, float, float, str, str]],
) -> list[tuple[str, float, float, float, str, str]]:
    """Join overlapping findings of one point (low and high level of one gas, two gases)."""
    out: list[tuple[str, float, float, float, str, str]] = []
    for row in sorted(rows, key=lambda r: (r[0], r[1])):
        if out and out[-1][0] == row[0] and row[1] <= out[-1][2]:
            last = out[-1]
            why = last[4] if row[4] in last[4] else f"{last[4]}; {row[4]}"
            out[-1] = (last[0], last[1], max(last[2], row[2]), max(last[3], row[3]), why, last[5])
        else:
            out.append(row)
    return out


CONDITION = Condition("no_alarm", "The alarm that never came", find)
