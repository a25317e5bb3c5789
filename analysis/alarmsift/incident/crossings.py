"""Readings that cross a setpoint, up and down, at the visit that shows it first."""

from __future__ import annotations

import numpy as np
import pandas as pd

from alarmsift.tables.incident import Asked

# How far back a reading is looked for that tells the state at the start of the window [d]: longer
# than a line stays off for one port (common practice, no source).
LOOK_BACK_DAYS = 7
USED = ("ok", "over_range", "under_range")
LONG_AGO = pd.Timestamp("1900-01-01T00:00:00Z").as_unit("us")


def crossings(readings: pd.DataFrame, setpoints: pd.DataFrame, asked: Asked) -> pd.DataFrame:
    """Return the readings with which a point came to a setpoint, or went back under it.

    A point is past a setpoint from the reading at or past it to the first reading back by more
    than the deadband; test, fault and skipped readings count for nothing.

    Parameters
    ----------
    readings : DataFrame
        Canonical readings.
    setpoints : DataFrame
        SETPOINT_COLUMNS, a row a point and span.
    asked : Asked

    Returns
    -------
    DataFrame
        ``time``, ``point``, ``gas``, ``level``, ``past`` (bool: came to it, or went back),
        ``already`` (bool: so before the window), ``value``, ``setpoint``, ``source`` (of the
        setpoint), ``source_file``, ``source_row``.
    """
    since = asked.start - pd.Timedelta(days=LOOK_BACK_DAYS)
    near = readings[
        readings["time"].between(since, asked.end) & readings["status"].fillna("ok").isin(USED)
    ]
    near = near.assign(**{c: near[c].astype(object) for c in ("point", "gas", "status")})
    parts = [
        _of_level(near[near["gas"] == gas], rows, asked)
        for (gas, _), rows in setpoints.groupby(["gas", "level"], observed=True)
    ]
    parts = [part for part in parts if len(part)]
    return pd.concat(parts, ignore_index=True) if parts else pd.DataFrame(columns=_COLUMNS)


_COLUMNS = ["time", "point", "gas", "level", "past", "already", "value", "setpoint", "source"] + [
    "source_file",
    "source_row",
]


def _of_level(near: pd.DataFrame, setpoints: pd.DataFrame, asked: Asked) -> pd.DataFrame:
    limits = pd.DataFrame(
        {
            "since": setpoints["start"].fillna(LONG_AGO).astype("datetime64[us, UTC]"),
            "point": setpoints["point"].astype(object),
            "level": setpoints["level"].astype(object),
            "setpoint": setpoints["value"].astype(float),
            "deadband": setpoints["deadband"].astype(float).fillna(0.0),
            "falling": setpoints["direction"].astype(object) == "falling",
            "source": setpoints["source"].astype(object),
        }
    ).sort_values("since", kind="stable")
    rows = pd.merge_asof(near, limits, left_on="time", right_on="since", by="point")
    rows = rows[rows["setpoint"].notna()].sort_values(["point", "time"], kind="stable")
    sign = np.where(rows["falling"], -1.0, 1.0)
    beyond = np.where(rows["falling"], "under_range", "over_range")
    value = np.where(rows["status"] == beyond, np.inf, sign * rows["value"])
    limit, band = sign * rows["setpoint"], rows["deadband"]
    state = np.where(value >= limit, 1.0, np.where(value < limit - band, 0.0, np.nan))
    rows = rows.assign(state=state)
    rows["state"] = rows.groupby("point")["state"].ffill()
    rows = rows[rows["state"].notna()]
    before = rows.groupby("point")["state"].shift()
    inside = rows["time"] >= asked.start
    change = inside & ((rows["state"] != before) & (before.notna() | (rows["state"] == 1.0)))
    last = rows[~inside].drop_duplicates("point", keep="last").index
    already = rows.index.isin(last) & (rows["state"] == 1.0)
    out = rows.assign(past=rows["state"] == 1.0, already=already)
    return out.loc[change | already, _COLUMNS]
