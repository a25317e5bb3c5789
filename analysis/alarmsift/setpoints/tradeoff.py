"""The trade-off of one point, gas and level: what every setting raises, and what it costs."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd

from alarmsift.setpoints.candidate import Setting
from alarmsift.setpoints.history import LEFT, MEND, NOTHING, REAL, History
from alarmsift.setpoints.interval import rate_interval
from alarmsift.setpoints.replay import raised, replay, within_reach

# The leak that puts a price on a higher setpoint: steady, into a closed space, and at today's
# setpoint after so long [min] (a yardstick of ours, no source).
YARDSTICK_MIN = 360.0
SECOND_LOOK_MIN = 1.0  # a second look out of turn, from one call to its reading [min]
ROW_COLUMNS = [
    "point", "gas", "level", "unit", "setpoint", "deadband", "rule", "today", "proposed",
    "watched_days", "nuisance_30d", "low_30d", "high_30d", "mend_30d", "unjudged_30d",
    "events", "caught", "delay_visits", "delay_min", "leak_delay_min", "hours_in_alarm",
]  # fmt: skip


def tradeoff(
    history: History, settings: Sequence[Setting], cycle_min: float
) -> tuple[pd.DataFrame, np.ndarray]:
    """Return a row a setting, and the nuisance raises of each day, shape (c, d).

    Returns
    -------
    (DataFrame, ndarray)
        Columns ROW_COLUMNS. ``nuisance_30d`` counts raises in 30 watched days outside real
        events and outside what maintenance cures, ``mend_30d`` those that it cures;
        ``unjudged_30d`` is the part of the first at readings that no alarm of the logs
        judged. ``delay`` is the mean wait behind today's setting over the real events that both
        catch; ``leak_delay_min`` that of the yardstick leak, confirming visits included.
    """
    near = within_reach(history.danger, settings, history.sign)
    days = len(history.watched)
    day = np.minimum((history.hours[near] // 24).astype(int), days - 1)
    kind = history.kind_of[near]
    count = len(settings)
    daily = np.zeros((count, days), np.int32)
    parts = {code: np.zeros(count) for code in (LEFT, MEND, NOTHING, REAL)}
    stay = np.zeros(count)
    first = np.full((count, len(history.events)), np.nan)
    cut = [
        (np.searchsorted(history.hours[near], a), np.searchsorted(history.hours[near], b, "right"))
        for a, b in history.events
    ]
    for part, state in replay(history.danger[near], settings, history.sign):
        raises = raised(state)
        for code, total in parts.items():
            total[part] = raises[:, kind == code].sum(axis=1)
        row, at = np.nonzero(raises & np.isin(kind, (NOTHING, LEFT)))
        flat = np.bincount(row * days + day[at], minlength=len(state) * days)
        daily[part] = flat.reshape(-1, days)
        stay[part] = state.sum(axis=1)
        for event, (a, b) in enumerate(cut):
            seen = state[:, a:b]
            if seen.shape[1]:
                hit = seen.any(axis=1)
                place = np.searchsorted(history.hours, history.hours[near][a + seen.argmax(axis=1)])
                first[part, event] = np.where(hit, place, np.nan)
    frame = _named(history, settings)
    scale = 30.0 / max(float(history.watched.sum()), 1e-9)
    frame["watched_days"] = float(history.watched.sum())
    frame["nuisance_30d"] = (parts[LEFT] + parts[NOTHING]) * scale
    frame["low_30d"], frame["high_30d"] = rate_interval(daily, history.watched)
    frame["mend_30d"], frame["unjudged_30d"] = parts[MEND] * scale, parts[NOTHING] * scale
    frame["events"], frame["caught"] = len(history.events), np.isfinite(first).sum(axis=1)
    late = np.where(np.isfinite(first), first, np.nan) - first[:1]
    frame["delay_visits"] = _mean(late)
    frame["delay_min"] = frame["delay_visits"] * cycle_min
    frame["leak_delay_min"] = leak_delay(frame, history, cycle_min)
    frame["hours_in_alarm"] = stay * cycle_min / 60.0
    return frame[ROW_COLUMNS], daily


def _mean(late: np.ndarray) -> np.ndarray:
    number = np.isfinite(late).sum(axis=1)
    total = np.nansum(late, axis=1)
    return np.where(number > 0, total / np.maximum(number, 1), np.nan)


def _named(history: History, settings: Sequence[Setting]) -> pd.DataFrame:
    return pd.DataFrame(
        {
            "point": history.point,
            "gas": history.gas,
            "level": history.level,
            "unit": history.unit,
            "setpoint": [one.value for one in settings],
            "deadband": [one.deadband for one in settings],
            "rule": [one.rule for one in settings],
            "today": [place == 0 for place in range(len(settings))],
            "proposed": False,
            "needed": [one.needed for one in settings],
        }
    )


def leak_delay(frame: pd.DataFrame, history: History, cycle_min: float) -> np.ndarray:
    """Return the minutes that each setting adds for the yardstick leak, shape (c,)."""
    today = history.today
    # From clean air (20.9 %vol for oxygen, which falls; 0 for all others).
    start = 20.9 if history.sign < 0 else 0.0
    span = max(abs(today.value - start), 1e-9)
    higher = history.sign * (frame["setpoint"].to_numpy(float) - today.value) / span
    waits = (frame["needed"].to_numpy(float) - today.needed) * cycle_min
    return np.asarray(higher * YARDSTICK_MIN + waits)
