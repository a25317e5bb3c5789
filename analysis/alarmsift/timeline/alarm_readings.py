"""Readings that only the alarm list kept: the value at which an alarm was raised.

Exports of readings have holes, and a recorder that keeps one round in two loses the very visit that
raised the alarm. Where the alarm's row holds the value, that visit is known after all. Only what
raised an alarm is put in, and only where no reading near it shows as much: so this may add to what
speaks for gas, and can never make a clean reading.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd

from alarmsift.tables.logs import Logs
from alarmsift.timeline.visits import Visits

# A reading this near is the one that raised the alarm [rounds]: the visits on both sides are a
# round away (CP). One of the same moment [s] is it whatever it shows; a later or earlier one only
# if it shows about the same or more (share of the value; CP).
SAME_TURN = 0.6
MOMENT_S, SAME_VALUE = 60, 0.25


def with_alarm_values(logs: Logs, visits: Visits) -> Logs:
    """Return the logs with the alarm list's own values where the reading itself is missing.

    Parameters
    ----------
    logs : Logs
        Readings and events sorted by time.
    visits : Visits
        Of these logs.

    Returns
    -------
    Logs
        The same object when nothing is missing. The rows put in keep file and row of the alarm.
    """
    readings, events = logs.readings, logs.events
    known = events["value"].notna() & (events["event"].astype(str) == "alarm")
    known &= events["state"].astype(str) == "raised"
    known &= events["point"].astype(str).isin(visits.points)
    known &= events["gas"].astype(str).isin(visits.gases)
    if not len(readings) or not known.any():
        return logs
    said = events.loc[known, ["time", "point", "gas", "value", "source_file", "source_row"]]
    said = said.astype({"point": str, "gas": str}).drop_duplicates(["time", "point", "gas"])
    lost = said[~_read(said, readings, visits)]
    if lost.empty:
        return logs
    return replace(logs, readings=_with_rows(readings, lost, visits))


def _read(said: pd.DataFrame, readings: pd.DataFrame, visits: Visits) -> np.ndarray:
    """Tell for which rows of the alarm list the reading itself is there, shape (n,).

    The nearest reading, if it is of the same moment or shows about the same value or more: a round
    is shorter while few points are drawn.
    """
    reach = SAME_TURN * visits.cycle_hours
    told, hours = visits.since(said["time"]), visits.since(readings["time"])
    # Only readings within reach of a row (and a second, for rounding) take part.
    first = np.searchsorted(told, hours - reach - 1 / 3600)
    near_one = first < np.searchsorted(told, hours + reach + 1 / 3600)
    there = readings.loc[near_one, ["time", "point", "gas", "value"]]
    there = there.astype({"point": str, "gas": str})
    near = pd.merge_asof(
        said[["time", "point", "gas"]],
        there.assign(at=there["time"]).rename(columns={"value": "shown"}),
        on="time",
        by=["point", "gas"],
        direction="nearest",
        tolerance=pd.Timedelta(hours=reach),
    )
    value = said["value"].to_numpy(float)
    turn = np.where(said["gas"] == "O2", -1.0, 1.0)  # oxygen alarms by falling
    less = turn * (value - near["shown"].to_numpy(float)) > SAME_VALUE * np.abs(value)
    late = (near["at"] - near["time"]).abs().to_numpy() > np.timedelta64(MOMENT_S, "s")
    return np.asarray(near["at"].notna().to_numpy() & ~(less & late))


def _with_rows(readings: pd.DataFrame, lost: pd.DataFrame, visits: Visits) -> pd.DataFrame:
    home = np.zeros(len(visits.points), "int64")
    home[visits.point] = visits.analyser
    whose = dict(zip(visits.points, home, strict=True))
    analyser = [visits.analysers[whose[point]] for point in lost["point"]]
    rows = lost.assign(status="ok", analyser=None if visits.told_apart else analyser)
    kinds = {name: _kind(readings[name], rows.get(name)) for name in readings}
    rows = rows.reindex(columns=readings.columns).astype(kinds)
    both = pd.concat([readings.astype(kinds), rows], ignore_index=True)
    return both.sort_values("time", kind="stable", ignore_index=True)


def _kind(old: pd.Series, new: pd.Series | None) -> object:
    """Return the kind of a column, with the categories that the new rows bring."""
    if not isinstance(old.dtype, pd.CategoricalDtype):
        return old.dtype
    known = old.cat.categories
    more = [] if new is None else [x for x in new.dropna().unique() if x not in known]
    return pd.CategoricalDtype([*known, *more])
