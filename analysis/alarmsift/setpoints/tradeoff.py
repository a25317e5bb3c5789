"""The trade-off of one point, gas and level: what every setting raises, and what it costs."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd

from alarmsift.setpoints.candidate import Setting, clean_air
from alarmsift.setpoints.history import HELD, LEFT, MEND, NOTHING, REAL, History
from alarmsift.setpoints.interval import rate_interval
from alarmsift.setpoints.replay import raised, replay

# The leak that puts a price on a higher setpoint: steady, into a closed space, and at today's
# setpoint after so long [min] (a yardstick of ours, no source).
YARDSTICK_MIN = 360.0
SECOND_LOOK_MIN = 1.0  # a second look out of turn, from one call to its reading [min]
STALE_HOURS = 24.0  # an alarm that stands longer is stale: ANSI/ISA-18.2 (from memory)
ROW_COLUMNS = [
    "point", "gas", "level", "unit", "setpoint", "deadband", "rule", "today", "proposed",
    "watched_days", "nuisance_30d", "repeats_30d", "raises_30d", "low_30d", "high_30d", "mend_30d",
    "unjudged_30d", "events", "caught", "not_told", "delay_visits", "delay_min", "leak_delay_min",
    "hours_in_alarm", "stale",
]  # fmt: skip


def tradeoff(
    history: History, settings: Sequence[Setting], cycle_min: float
) -> tuple[pd.DataFrame, np.ndarray]:
    """Return a row a setting, and the raises of each day that a setting may answer, shape (c, d).

    Returns
    -------
    (DataFrame, ndarray)
        Columns ROW_COLUMNS. ``nuisance_30d`` counts raises in 30 watched days outside real
        events and outside what maintenance cures, ``repeats_30d`` those of a background that is
        not settled, less the first of each bout that may be gas; ``raises_30d`` is their sum,
        between ``low_30d`` and ``high_30d``. ``mend_30d`` is what maintenance cures,
        ``unjudged_30d`` the part of the nuisance at readings that no alarm of the logs judged.
        ``not_told`` counts the events that today's setting raises anew and this one not, or
        later; ``delay`` is the mean wait behind today's setting over the events that both catch;
        ``leak_delay_min`` that of the yardstick leak, confirming visits included; ``stale``
        counts alarms that stand longer than a day.
    """
    days, count = len(history.watched), len(settings)
    parts = np.zeros((count, REAL + 1))
    daily = np.zeros((count, days), np.int32)
    stay, stale = np.zeros(count), np.zeros(count)
    caught, told = np.full((2, count, len(history.events)), np.nan)
    for part, rows, state in replay(history.danger, settings, history.sign):
        hours, kind, width = history.hours[rows], history.kind_of[rows], len(part)
        raises = raised(state)
        row, at = np.nonzero(raises)
        parts[part] = np.bincount(
            row * (REAL + 1) + kind[at], minlength=width * (REAL + 1)
        ).reshape(width, -1)
        counts = kind[at] != REAL
        counts &= kind[at] != MEND
        day = np.minimum((hours / 24.0).astype(int), days - 1)
        flat = np.bincount((row * days + day[at])[counts], minlength=width * days)
        daily[part] = flat.reshape(width, days)
        stay[part] = state.sum(axis=1)
        stale[part] = _stale(state, row, hours[at], hours)
        caught[part] = _first(state, rows, hours, history.events)
        told[part] = _first(raises, rows, hours, history.events)
    bout_firsts = np.isfinite(told[:, history.of_held])
    daily = _without_firsts(daily, bout_firsts, history)
    parts[:, HELD] -= bout_firsts.sum(axis=1)
    frame = _named(history, settings)
    scale = 30.0 / max(float(history.watched.sum()), 1e-9)
    frame["watched_days"] = float(history.watched.sum())
    frame["nuisance_30d"] = (parts[:, LEFT] + parts[:, NOTHING]) * scale
    frame["repeats_30d"] = np.maximum(parts[:, HELD], 0.0) * scale
    frame["raises_30d"] = frame["nuisance_30d"] + frame["repeats_30d"]
    frame["low_30d"], frame["high_30d"] = rate_interval(daily, history.watched)
    frame["mend_30d"] = parts[:, MEND] * scale
    frame["unjudged_30d"] = parts[:, NOTHING] * scale
    frame["events"], frame["caught"] = len(history.events), np.isfinite(caught).sum(axis=1)
    due = np.isfinite(told[:1])
    frame["not_told"] = (due & ~(told <= told[:1])).sum(axis=1)
    frame["delay_visits"] = _mean(caught - caught[:1])
    frame["delay_min"] = frame["delay_visits"] * cycle_min
    frame["leak_delay_min"] = leak_delay(frame, history, cycle_min)
    frame["hours_in_alarm"] = stay * cycle_min / 60.0
    frame["stale"] = stale
    return frame[ROW_COLUMNS], daily


def _first(flag: np.ndarray, rows: np.ndarray, hours: np.ndarray, events: np.ndarray) -> np.ndarray:
    """Return the first visit of each event at which the flag is up, NaN if none, shape (c, e)."""
    out = np.full((len(flag), len(events)), np.nan)
    starts = np.searchsorted(hours, events[:, 0])
    ends = np.searchsorted(hours, events[:, 1], "right")
    for event, (a, b) in enumerate(zip(starts, ends, strict=True)):
        if b > a:
            seen = flag[:, a:b]
            out[:, event] = np.where(seen.any(axis=1), rows[a + seen.argmax(axis=1)], np.nan)
    return out


def _stale(state: np.ndarray, row: np.ndarray, since: np.ndarray, hours: np.ndarray) -> np.ndarray:
    """Return how many alarms of each setting stand longer than a day, shape (c,)."""
    if not len(row):
        return np.zeros(len(state))
    stands = np.concatenate([state[:, 1:], np.zeros((len(state), 1), bool)], axis=1)
    last_row, last = np.nonzero(state & ~stands)
    until = hours[np.minimum(last + 1, len(hours) - 1)]
    long = until - since > STALE_HOURS
    return np.bincount(last_row[long], minlength=len(state)).astype(float)


def _without_firsts(daily: np.ndarray, told: np.ndarray, history: History) -> np.ndarray:
    """Return the raises of each day less the first of each held bout that may be gas."""
    day = (history.events[history.of_held, 0] // 24).astype(int)
    for event, at in enumerate(np.clip(day, 0, daily.shape[1] - 1)):
        daily[:, at] = np.maximum(daily[:, at] - told[:, event], 0)
    return daily


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
    span = max(abs(today.value - clean_air(falling=history.sign < 0)), 1e-9)
    higher = history.sign * (frame["setpoint"].to_numpy(float) - today.value) / span
    waits = (frame["needed"].to_numpy(float) - today.needed) * cycle_min
    return np.asarray(higher * YARDSTICK_MIN + waits)
