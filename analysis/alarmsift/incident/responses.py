"""How long it took from each alarm to acknowledge, resample, ventilate and clear."""

from __future__ import annotations

import numpy as np
import pandas as pd

from alarmsift.tables.incident import RESPONSE_COLUMNS, Asked

ACTS = {"resample": "resample", "ventilate": "ventilation_on"}
# States of the alarm list that end the time to an answer.
STATES = {"acknowledge": ("acknowledged",), "clear": ("cleared", "reset")}
KEY = ["event", "point", "gas", "level"]


def responses(
    verdicts: pd.DataFrame, events: pd.DataFrame, operations: pd.DataFrame, asked: Asked
) -> pd.DataFrame:
    """Return a row an alarm: when each answer came, after how many minutes, by which row.

    A resample or ventilation counts from the raise to the clear or the end of the window,
    whichever is later; ventilation without a point is the whole ship's. Blank = no such row.

    Parameters
    ----------
    verdicts : DataFrame
        EPISODE_COLUMNS of the alarms that reach into the window.
    events, operations : DataFrame
        Canonical tables, whole.
    asked : Asked
    """
    out = verdicts[["episode", "point", "gas", "level", "kind", "raised"]].reset_index(drop=True)
    until = verdicts["cleared"].fillna(asked.end).clip(lower=asked.end).reset_index(drop=True)
    for name, column in (("acknowledge", "acknowledged"), ("clear", "cleared")):
        times = verdicts[column].reset_index(drop=True)
        out = _with(out, name, times, _rows_at(events, verdicts, times, STATES[name]))
    for name, action in ACTS.items():
        found = _first_after(operations[operations["action"] == action], out, until)
        out = _with(out, name, found["time"], found)
    return out[RESPONSE_COLUMNS]


def _with(out: pd.DataFrame, name: str, times: pd.Series, rows: pd.DataFrame) -> pd.DataFrame:
    times = pd.to_datetime(times, utc=True).astype("datetime64[us, UTC]")
    minutes = (times - out["raised"]) / pd.Timedelta(minutes=1)
    return out.assign(
        **{
            f"{name}_time": times,
            f"{name}_minutes": minutes,
            f"{name}_file": rows["source_file"].to_numpy(object),
            f"{name}_row": rows["source_row"].to_numpy(float),
        }
    )


def _rows_at(
    events: pd.DataFrame, verdicts: pd.DataFrame, times: pd.Series, states: tuple[str, ...]
) -> pd.DataFrame:
    """Return the event rows of those times; blank where the moment was inferred."""
    rows = events[events["state"].isin(states)]
    rows = rows.assign(**{c: rows[c].astype(object).fillna("") for c in KEY})
    rows = rows.drop_duplicates([*KEY, "time"])[[*KEY, "time", "source_file", "source_row"]]
    wanted = pd.DataFrame(
        {
            "event": verdicts["kind"].to_numpy(object),
            **{c: verdicts[c].astype(object).fillna("").to_numpy(object) for c in KEY[1:]},
            "time": times.astype("datetime64[us, UTC]").to_numpy(),
        }
    )
    wanted["time"] = pd.to_datetime(wanted["time"], utc=True).astype("datetime64[us, UTC]")
    found = wanted.merge(rows.assign(source_file=rows["source_file"].astype(object)), "left")
    return found.assign(source_file=found["source_file"].fillna(""))


def _first_after(acts: pd.DataFrame, alarms: pd.DataFrame, until: pd.Series) -> pd.DataFrame:
    """Return the first act at each alarm's point from its raise on."""
    acts = acts.sort_values("time", kind="stable")
    point = acts["point"].astype(object).fillna("").to_numpy(object)
    times = acts["time"]
    first = np.full(len(alarms), -1)
    for i, alarm in enumerate(alarms.itertuples()):  # the alarms of one window
        fits = (times >= alarm.raised) & (times <= until.iloc[i])
        fits &= (point == alarm.point) | (point == "")
        here = np.flatnonzero(fits.to_numpy())
        first[i] = here[0] if here.size else -1
    found = acts.iloc[first.clip(min=0)] if len(acts) else acts.reindex(range(len(alarms)))
    found = found[["time", "source_file", "source_row"]].astype({"source_file": object})
    found = found.reset_index(drop=True)
    none = first < 0
    return found.assign(
        time=found["time"].mask(none),
        source_file=found["source_file"].mask(none, ""),
        source_row=found["source_row"].astype(float).mask(none),
    )
