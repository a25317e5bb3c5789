"""The course of each detector's zero as the readings show it, one value a day."""

from __future__ import annotations

import numpy as np
import pandas as pd

from alarmsift.evidence.ship import Ship
from alarmsift.evidence.zero_course import zero_course
from alarmsift.evidence.zero_shared import shared_zero
from alarmsift.tables.logs import Logs


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
        zero = shared_zero(model, course.zero)
        rows = pd.DataFrame(
            {
                "day": (hours // 24.0).astype(int),
                "period": np.searchsorted(course.resets, course.hours, side="right"),
                "hours": hours,
                "zero": zero,
            }
        )[np.isfinite(zero)]
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


def ends_of(logs: Logs) -> tuple[pd.Timestamp, pd.Timestamp]:
    """Return the first and last time that any of the logs' rows carries."""
    tables = (logs.readings, logs.events, logs.operations)
    times = pd.concat([table["time"] for table in tables], ignore_index=True)
    return times.min(), times.max()
