"""How each episode ended: by a clean reading, or by what people did."""

from __future__ import annotations

import numpy as np
import pandas as pd

from alarmsift.timeline.in_force import InForce, Key, in_force
from alarmsift.timeline.operations import CALIBRATION_ACTIONS, Operations
from alarmsift.timeline.visits import Visits

# Hand-written rows are rounded: this much either way is "at the time" (CP).
LOG_SLACK_HOURS = 0.35
FLOW_BACK = 0.75


def ended_by(
    episodes: pd.DataFrame,
    visits: Visits,
    operations: Operations,
    setpoints: pd.DataFrame,
    flow_share: np.ndarray,
) -> np.ndarray:
    """Return how each episode ended, shape (E,).

    ``clean_reading`` where the last reading up to the clearing was under the setpoint of the raise
    less the deadband (for faults: flow was back); else what was logged at the time.
    """
    raised, cleared = visits.since(episodes["raised"]), visits.since(episodes["cleared"])
    point = _codes(episodes["point"], visits.points)
    out = np.full(len(episodes), "unknown", dtype=object)
    near = _op_between(operations, point, cleared)
    spans = in_force(setpoints, visits)
    clean = _clean(episodes, visits, spans, flow_share, point=point, cleared=cleared)
    raised_limit = _setpoint_moved(operations, spans, episodes, visits, cleared)
    out[near["test"]] = "test"
    out[near["restart"]] = "restart"
    out[near["disconnect"]] = "disconnect"
    out[raised_limit] = "setpoint"
    out[clean] = "clean_reading"
    out[episodes["by_reset"].to_numpy(bool)] = "reset"
    out[~np.isfinite(cleared)] = "log_end"
    # Nothing can be at or before its own raise.
    out[(cleared <= raised) & (out == "clean_reading")] = "unknown"
    return out


def _codes(names: pd.Series, points: tuple[str, ...]) -> np.ndarray:
    code = {name: index for index, name in enumerate(points)}
    return np.array([code.get(str(name), -1) for name in names], "int64")


def _op_between(
    operations: Operations, point: np.ndarray, cleared: np.ndarray
) -> dict[str, np.ndarray]:
    """Tell which kinds of rows stand at the time of clearing, shape (E,) each."""
    out = {}
    for name, actions in (
        ("disconnect", ("disconnect",)),
        ("restart", ("restart",)),
        ("test", CALIBRATION_ACTIONS),
    ):
        rows = operations.of(*actions)
        hit = np.zeros(len(point), bool)
        for p, h in zip(rows["point"], rows["hours"], strict=True):
            mine = (p == -1) | (point == p) | (name == "test")
            hit |= mine & (np.abs(cleared - h) <= LOG_SLACK_HOURS)
        out[name] = hit
    return out


def _clean(
    episodes: pd.DataFrame,
    visits: Visits,
    spans: dict[Key, InForce],
    flow_share: np.ndarray,
    *,
    point: np.ndarray,
    cleared: np.ndarray,
) -> np.ndarray:
    out = np.zeros(len(episodes), bool)
    slack = 0.1 * visits.cycle_hours
    raised = visits.since(episodes["raised"])
    groups = episodes.groupby(["kind", "point", "gas", "level"], sort=False).indices
    seen: dict[tuple[str, int], np.ndarray] = {}
    for (kind, name, gas, level), which in groups.items():
        p = point[which[0]]
        if p < 0:
            continue
        mine = visits.of(p)
        series = flow_share if kind == "fault" else visits.value.get(gas)
        if series is None:
            continue
        about = (str(kind if kind == "fault" else gas), int(p))
        if about not in seen:
            seen[about] = mine[np.isfinite(series[mine])]
        mine = seen[about]
        if not len(mine):
            continue
        hours = visits.hours[mine]
        at = np.searchsorted(hours, np.nan_to_num(cleared[which], nan=-1.0) + slack, "right") - 1
        recent = (at >= 0) & (cleared[which] - hours[np.maximum(at, 0)] < 3 * visits.cycle_hours)
        value = series[mine[np.maximum(at, 0)]]
        if kind == "fault":
            out[which] = recent & (value >= FLOW_BACK)
            continue
        span = spans.get((name, gas, level))
        if span is None:
            continue
        limit, band = span.value_at(raised[which]), span.deadband_at(raised[which])
        under = value > limit + 0.999 * band if span.falling else value < limit - 0.999 * band
        under |= (band == 0) & ((value > limit) if span.falling else (value < limit))
        out[which] = recent & under
    return out


def _setpoint_moved(
    operations: Operations,
    spans: dict[Key, InForce],
    episodes: pd.DataFrame,
    visits: Visits,
    cleared: np.ndarray,
) -> np.ndarray:
    """Tell whether the setpoint was moved to the less safe side at the time of clearing."""
    out = np.zeros(len(episodes), bool)
    if not len(operations.of("setpoint")):
        return out
    frame = episodes.reset_index(drop=True)
    for key, rows in frame.groupby(["point", "gas", "level"], sort=False):
        span = spans.get(key)
        if span is None or len(span.start) < 2:
            continue
        which = rows.index.to_numpy()
        before = span.value_at(visits.since(rows["raised"]))
        after = span.value_at(cleared[which] + LOG_SLACK_HOURS)
        out[which] = (after < before) if span.falling else (after > before)
    return out
