"""The course of each detector's zero as the readings show it, one value a day."""

from __future__ import annotations

import numpy as np
import pandas as pd

from alarmsift.evidence.ship import Ship
from alarmsift.evidence.zero import FEWEST_POINTS, ZeroModel
from alarmsift.evidence.zero_course import zero_course
from alarmsift.tables.logs import Logs

# A quantile of the points that gas at some of them does not reach (common practice, no source).
LOW = 0.3


def daily_zeros(ship: Ship) -> pd.DataFrame:
    """Return one value a day and period between adjustments of every zero that the logs anchor.

    A day's median leaves the swing between day and night out. Where a display shows nothing under
    nought, times at which it lay on its floor say nothing and are left out.

    Returns
    -------
    DataFrame
        ``time``, ``analyser`` ('' where there is one), ``gas``, ``zero`` [unit of the gas].
    """
    names = ship.visits.analysers
    parts = []
    for (gas, analyser), model in ship.zeros.items():
        if not model.anchored or not np.isfinite(model.blocks.median).any():
            continue
        course = zero_course(ship, gas, analyser)
        hours = course.hours + course.width / 2.0
        seen = np.isfinite(model.blocks.median).any(axis=1)
        seen &= course.alive | (not course.hidden)
        rows = pd.DataFrame(
            {
                "day": (hours // 24.0).astype(int),
                "period": np.searchsorted(course.resets, course.hours, side="right"),
                "hours": hours,
                "zero": _shared(course.zero, model),
            }
        )[seen]
        daily = rows.groupby(["day", "period"], as_index=False).median()
        times = pd.Series(ship.visits.time(daily["hours"].to_numpy(float)))
        name = names[analyser] if len(names) > 1 else ""
        parts.append(
            pd.DataFrame({"time": times, "analyser": name, "gas": gas, "zero": daily["zero"]})
        )
    if not parts:
        times = pd.to_datetime([], utc=True)
        return pd.DataFrame({"time": times, "analyser": [], "gas": [], "zero": []})
    return pd.concat(parts, ignore_index=True)


def _shared(course: np.ndarray, model: ZeroModel) -> np.ndarray:
    """Return the middle of three ways to tell the zero in each block, shape (b,).

    The lowest points are what a zero can't be above, but one whose own level fell drags them down;
    the middle of the points holds against that, and gas at many of them lifts it.
    """
    own = model.blocks.median - model.background[None, :]
    own = np.sort(own - (20.9 if model.gas == "O2" else 0.0), axis=1)  # NaN last
    known = np.isfinite(own).sum(axis=1)
    both = [np.where(known >= FEWEST_POINTS, _quantile(own, known, q), np.nan) for q in (0.5, LOW)]
    return np.asarray(np.nanmedian(np.vstack([course, *both]), axis=0))


def _quantile(ordered: np.ndarray, known: np.ndarray, q: float) -> np.ndarray:
    """Return a quantile of each row's first so many values, shape (b,), linear between two."""
    place = q * np.maximum(known - 1, 0)
    low = np.floor(place).astype(int)[:, None]
    high = np.minimum(low + 1, np.maximum(known - 1, 0)[:, None])
    a, b = (np.take_along_axis(ordered, at, axis=1)[:, 0] for at in (low, high))
    return np.asarray(a + (place - low[:, 0]) * (b - a))


def ends_of(logs: Logs) -> tuple[pd.Timestamp, pd.Timestamp]:
    """Return the first and last time that any of the logs' rows carries."""
    tables = (logs.readings, logs.events, logs.operations)
    times = pd.concat([table["time"] for table in tables], ignore_index=True)
    return times.min(), times.max()
