"""The truth about points and lines, as far as logs can hold it.

Rules that are used on every ship alike, whoever made it:

- spans of one point and condition that lie close together are one, in the truth and in what was
  found alike, each side for itself (``CLOSE``);
- a condition with fewer than ``LEAST_ROUNDS`` rounds, or with no row of its analyser in it (a hole
  of the export), is too small to be worth a report: it is not asked for, and a report that touches
  it is not held false;
- gaps that are no failure of a point (slow rounds, a stopped analyser, tests) are rows of the
  coverage table and not asked for either;
- what leaves no trace in the columns that were logged is counted apart, as ``unseen``, when missed:
  a poor line where neither flow nor suction nor an alarm of the line was logged, a line left off
  where no row of its space says so. To report such a line as not sampled is not held false: it went
  unwatched, and the logs do not say which way.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from alarmsift.tables.logs import Logs

# Spans of one condition this close together are one [h].
CLOSE = {
    "water": 6.0,
    "blocked": 6.0,
    "not_sampled": 6.0,
    "left_disconnected": 6.0,
    "no_alarm": 48.0,
}
LEAST_ROUNDS = 2.5
# What truths call a gap that is no failure of a point.
SHARED_GAPS = ("test", "slow round", "stopped")
ROW_SLACK = pd.Timedelta(hours=3)
LINE_FAULTS = ("flow", "trap", "water")


def joined(frame: pd.DataFrame, last: pd.Timestamp) -> pd.DataFrame:
    """Return conditions with close spans of one point joined; columns as given, times as dates."""
    out = frame.copy()
    for name in ("start", "end"):
        out[name] = pd.to_datetime(out[name], utc=True, format="ISO8601")
    mine = out["condition"].isin(list(CLOSE))
    part = out[mine].sort_values(["condition", "point", "start"], kind="stable")
    if part.empty:
        return out
    key = part["condition"].astype(str) + "|" + part["point"].astype(str)
    reach = part["end"].fillna(last + pd.Timedelta(days=1)).groupby(key).cummax()
    gap = (part["start"] - reach.groupby(key).shift()) / pd.Timedelta(hours=1)
    limit = part["condition"].astype(str).map(CLOSE).to_numpy(float)
    group = (gap.isna() | (gap > limit)).cumsum()
    first = part.groupby(group).first()
    ends = reach.groupby(group).last()
    first["end"] = ends.where(ends <= last)
    return pd.concat([out[~mine], first], ignore_index=True)


def small(truth: pd.DataFrame, logs: Logs, cycle_minutes: float) -> np.ndarray:
    """Tell for each condition of the truth whether it is too small to be asked for, shape (n,)."""
    last = logs.readings["time"].max()
    start = pd.to_datetime(truth["start"], utc=True, format="ISO8601")
    end = pd.to_datetime(truth["end"], utc=True, format="ISO8601").fillna(last)
    length = (end - start) / pd.Timedelta(minutes=1)
    mine = truth["condition"].isin(["water", "blocked", "not_sampled", "left_disconnected"])
    short = mine & (length < LEAST_ROUNDS * cycle_minutes)
    times = np.sort(logs.readings["time"].to_numpy("datetime64[us]"))
    low = np.searchsorted(times, start.to_numpy("datetime64[us]"))
    high = np.searchsorted(times, end.to_numpy("datetime64[us]"), "right")
    lost = truth["condition"].isin(list(CLOSE)) & (high <= low)
    why = truth["why"].astype(str) if "why" in truth else pd.Series("", index=truth.index)
    shared = (truth["condition"] == "not_sampled") & why.isin(SHARED_GAPS)
    return np.asarray(short | lost | shared)


def traceless(missed: pd.DataFrame, first: pd.Timestamp, logs: Logs) -> np.ndarray:
    """Tell for each missed condition whether the logs hold no column to see it in, shape (n,).

    ``start`` and ``end`` of the missed are hours since ``first``.
    """
    readings, events = logs.readings, logs.events
    gauged = bool(readings[["flow", "suction"]].notna().any().any())
    level = events["level"].astype(str).str.lower()
    faults = events[level.str.contains("|".join(LINE_FAULTS)).to_numpy(bool)]
    hours = ((faults["time"] - first) / pd.Timedelta(hours=1)).to_numpy(float)
    names = faults["point"].astype(str).to_numpy(object)
    poor = missed["condition"].isin(["water", "blocked"]).to_numpy() & (not gauged)
    alarmed = [
        bool(((names == row.point) & (hours >= row.start) & (hours <= row.end)).any())
        for row in missed.itertuples()
    ]
    hour = pd.Timedelta(hours=1)
    left = unwritten(
        missed.assign(start=first + missed["start"] * hour, end=first + missed["end"] * hour), logs
    )
    return np.asarray((poor & ~np.array(alarmed, bool)) | left, bool)


def unwritten(truth: pd.DataFrame, logs: Logs) -> np.ndarray:
    """Tell for each condition whether it is a line left off that no row speaks of, shape (n,)."""
    ops = logs.operations
    actions = ops["action"].astype(str)
    rows = ops[actions.isin(["disconnect", "reconnect"]) | actions.str.startswith("ballast")]
    space = dict(
        zip(logs.points["point"].astype(str), logs.points["space"].astype(str), strict=True)
    )
    named = rows["point"].astype(str)
    places = named.map(space).fillna(named).to_numpy(object)
    start = pd.to_datetime(truth["start"], utc=True, format="ISO8601") - ROW_SLACK
    end = pd.to_datetime(truth["end"], utc=True, format="ISO8601") + ROW_SLACK
    end = end.fillna(logs.readings["time"].max())
    spoken = [
        bool(((places == space.get(point, point)) & rows["time"].between(a, b).to_numpy()).any())
        for point, a, b in zip(truth["point"].astype(str), start, end, strict=True)
    ]
    left = (truth["condition"] == "left_disconnected").to_numpy()
    return np.asarray(left & ~np.array(spoken, bool))


def asked_for(
    found: pd.DataFrame, truth: pd.DataFrame, logs: Logs, cycle_minutes: float
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Return what was found and the truth, by the first three rules."""
    last = logs.readings["time"].max()
    spare = small(truth, logs, cycle_minutes) & truth["condition"].eq("not_sampled").to_numpy()
    truth = pd.concat([truth[spare], joined(truth[~spare], last)], ignore_index=True)
    spare = small(truth, logs, cycle_minutes)
    asked = truth[~spare].reset_index(drop=True)
    either = truth[unwritten(truth, logs)].assign(condition="not_sampled")
    spared = pd.concat([truth[spare], either], ignore_index=True)
    return without_small(joined(found, last), asked, spared, last), asked


def without_small(
    found: pd.DataFrame, asked: pd.DataFrame, spared: pd.DataFrame, last: pd.Timestamp
) -> pd.DataFrame:
    """Return what was found without reports that touch only what is not asked for."""
    touches_asked, touches_spared = _touches(found, asked, last), _touches(found, spared, last)
    return found[touches_asked | ~touches_spared].reset_index(drop=True)


def _touches(found: pd.DataFrame, truth: pd.DataFrame, last: pd.Timestamp) -> np.ndarray:
    out = np.zeros(len(found), bool)
    if truth.empty or found.empty:
        return out
    slack = pd.Timedelta(minutes=30)
    start = pd.to_datetime(truth["start"], utc=True, format="ISO8601") - slack
    end = pd.to_datetime(truth["end"], utc=True, format="ISO8601").fillna(last) + slack
    key = truth["condition"].astype(str) + "|" + truth["point"].astype(str)
    own = found["condition"].astype(str) + "|" + found["point"].astype(str)
    for row, (a, b, name) in enumerate(
        zip(found["start"], found["end"].fillna(last), own, strict=True)
    ):
        out[row] = bool(((key == name) & (start <= b) & (end >= a)).any())
    return out
