"""No alarm: readings at or over the setpoint with no alarm raised, or alarms with no crossing.

What failed once is taken to have failed until the same alarm worked again: failures with no
working alarm between them are one. Also tells setpoints that the alarms show to have moved with no
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
# A crossing that is the lone one of its point may be a lost row of the alarm list.
SURE, LONE = 0.9, 0.6

Row = tuple[str, float, float, float, str, str]


def find(ship: Ship, episodes: pd.DataFrame) -> pd.DataFrame:
    """Return the spans in which alarms and readings disagree."""
    if not len(ship.logs.events):
        return found([])
    rows: list[Row] = []
    for due in due_alarms(ship, episodes):
        rows += _missed(due) + _unfounded(due)
    return found(_joined(rows))


def _missed(due: Due) -> list[Row]:
    """Return the crossings that raised no alarm."""
    rows = []
    for part in _parts([(start, end) for start, end, _, _ in due.missed], due.worked):
        spans = [due.missed[k] for k in part]
        count, top = sum(s[2] for s in spans), max((s[3] for s in spans), key=abs)
        times = "one reading" if count == 1 else f"{count} readings"
        times += f" on {len(spans)} occasions" if len(spans) > 1 else ""
        rows.append(
            (
                due.point,
                float(spans[0][0]),
                float(spans[-1][1]),
                LONE if count == 1 else SURE,
                f"{due.gas} was at or over the {due.level} setpoint in {times}, up to {top:g}, and "
                "no alarm was raised",
                "Test the alarm with test gas, and compare the setpoint in the analyser with the "
                "setpoint sheet.",
            )
        )
    return rows


def _unfounded(due: Due) -> list[Row]:
    """Return the alarms raised while the readings stayed clearly under the setpoint."""
    rows = []
    for part in _parts(due.unfounded, due.worked):
        times = "" if len(part) == 1 else f" {len(part)} times"
        rows.append(
            (
                due.point,
                float(due.unfounded[part[0]][0]),
                float(due.unfounded[part[-1]][1]),
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
