"""No alarm: readings at or over the setpoint with no alarm raised, or alarms with no crossing.

What failed for some readings is taken to have failed until the same alarm worked again: failures
with no working alarm between them are one. An alarm that lets readings pass and comes at a higher
one has moved its setpoint. Also tells setpoints that the alarms show to have moved with no
row in the log. Says nothing on a log without an alarm list, nor of setpoints that were only
inferred from the alarms themselves.
"""

import numpy as np
import pandas as pd

from alarmsift.evidence.condition import Condition, found
from alarmsift.evidence.due_alarms import Due, due_alarms
from alarmsift.evidence.ship import Ship

# Failures of one point this close together are one (CP).
JOIN_HOURS = 24.0
# Readings at the setpoint that prove that an alarm does not work (CP).
PROOF = 3
# A crossing that is the lone one of its point may be a lost row of the alarm list.
SURE, LONE = 0.9, 0.6

Row = tuple[str, float, float, float, str, str]


def find(ship: Ship, episodes: pd.DataFrame) -> pd.DataFrame:
    """Return the spans in which alarms and readings disagree."""
    if not len(ship.logs.events):
        return found([])
    rows: list[Row] = []
    last = float(ship.visits.hours[-1]) if len(ship.visits) else 0.0
    for due in due_alarms(ship, episodes):
        rows += _missed(due, last) + _unfounded(due, last)
    return found(_joined(rows))


def _missed(due: Due, last: float) -> list[Row]:
    """Return the crossings that raised no alarm, or raised it late."""
    side, reach = ("under", "down to") if due.falling else ("over", "up to")
    every = sorted([(*row, False) for row in due.missed] + [(*row, True) for row in due.late])
    rows = []
    for part in _parts([(row[0], row[1]) for row in every], due.worked):
        spans = [every[k] for k in part]
        count, late = sum(s[2] for s in spans), all(s[4] for s in spans)
        top = (min if due.falling else max)(s[3] for s in spans)
        times = "one reading" if count == 1 else f"{count} readings"
        times += f" on {len(spans)} occasions" if len(spans) > 1 else ""
        heard = f"and the alarm came only at {top:g}" if late else "and no alarm was raised"
        if not late and any(s[4] for s in spans):
            heard = "and no alarm was raised, or late"
        rows.append(
            (
                due.point,
                float(spans[0][0]),
                _until(spans[-1][1], due.worked, last) if count >= PROOF else float(spans[-1][1]),
                LONE if count == 1 else SURE,
                f"{due.gas} was at or {side} the {due.level} setpoint in {times}, {reach} {top:g}, "
                f"{heard}",
                "Test the alarm with test gas, and compare the setpoint in the analyser with the "
                "setpoint sheet.",
            )
        )
    return rows


def _until(end: float, worked: np.ndarray, last: float) -> float:
    """Return how long it failed: until the alarm worked again, else still so at the last row."""
    after = worked[worked > end]
    return float(after[0]) if len(after) else np.inf if last > end else end


def _unfounded(due: Due, last: float) -> list[Row]:
    """Return the alarms raised while the readings stayed clearly under the setpoint."""
    rows = []
    for part in _parts(due.unfounded, due.worked):
        end = float(due.unfounded[part[-1]][1])
        times = "" if len(part) == 1 else f" {len(part)} times"
        rows.append(
            (
                due.point,
                float(due.unfounded[part[0]][0]),
                _until(end, due.worked, last) if len(part) > 1 else end,
                0.8,
                f"the {due.gas} {due.level} alarm was raised{times} with no reading at the "
                "setpoint",
                "Compare the setpoint in the analyser with the setpoint sheet.",
            )
        )
    return rows


def _parts(spans: list[tuple[float, float]], worked: np.ndarray) -> list[np.ndarray]:
    """Return the numbers of the spans in groups between which the alarm did not work."""
    if not spans:
        return []
    start, end = np.array(spans, float).T
    between = np.searchsorted(worked, start[1:]) > np.searchsorted(worked, end[:-1])
    return np.split(np.arange(len(spans)), np.flatnonzero(between) + 1)


def _joined(rows: list[Row]) -> list[Row]:
    """Join the findings of one point that follow each other closely (two levels, two gases)."""
    out: list[Row] = []
    for row in sorted(rows, key=lambda r: (r[0], r[1], r[4])):
        if out and out[-1][0] == row[0] and row[1] <= out[-1][2] + JOIN_HOURS:
            last = out[-1]
            why = (
                last[4] if row[4] in last[4] or last[4].count(";") >= 2 else f"{last[4]}; {row[4]}"
            )
            sure = max(last[3], row[3], SURE if last[1] < row[1] else 0.0)
            out[-1] = (last[0], last[1], max(last[2], row[2]), sure, why, last[5])
        else:
            out.append(row)
    return out


CONDITION = Condition("no_alarm", "The alarm that never came", find)
