"""The truth about detectors and the analyser, as far as logs can hold it.

Five rules, used on every ship alike, whoever made it:

- a zero that passes its limit at some time of every day is one condition and not one a day, and one
  that passed it for less than six hours is none;
- a sensitivity shows at span checks only: it counts where a check that wrote down another value
  than the cylinder's lies in its span, and two times between which there was no such check are one
  and the same time to the logs;
- on a display that shows nothing under nought, a zero under nought shows at zero checks only, and
  the same is done with them;
- an analyser that no log names may go by any name;
- what leaves no trace in the columns that were logged is counted apart, as ``unseen``, when missed.
"""

from __future__ import annotations

import re
from itertools import permutations

import numpy as np
import pandas as pd

from alarmsift.tables.logs import Logs

DAY = pd.Timedelta(hours=24)
SHORTEST = pd.Timedelta(hours=6)
# The rows of one calibration are written within this.
# A line that was drawn on in no more hours than this shows no leak [h].
LEAST_DRAWN = 12
ROUND = HOUR = pd.Timedelta(hours=1)
BY_LINE = ("air_leak", "low_flow_all")
# What the simulator's truth says of a joint at the probe, where no resistance changes, and of a
# zero under nought on a display that shows nothing under nought.
NO_TRACE, HIDDEN = "no trace", "below the display"
LIMIT = {"HC": 3.0, "H2S": 1.5}
_LABEL = re.compile(r"\((.*)\)$")


def as_logged(
    found: pd.DataFrame, truth: pd.DataFrame, logs: Logs
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Return the conditions found and true, by the first four rules (times as dates)."""
    ends = (logs.readings["time"].min(), logs.readings["time"].max())
    found, truth = _dated(found, ends), _dated(truth, ends)
    found["point"] = _renamed(found, truth)
    zero = truth["condition"] == "zero_drift"
    truth = pd.concat([truth[~zero], _daily(truth[zero])], ignore_index=True)
    seen = [
        row.condition != "low_sensitivity"
        or bool(telling_checks(logs, str(row.point)).between(row.start, row.end + ROUND).any())
        for row in truth.itertuples()
    ]
    truth = truth[np.array(seen, bool)].reset_index(drop=True)
    return _snapped(found, truth, logs), truth


def unseen(missed: pd.DataFrame, logs: Logs) -> np.ndarray:
    """Tell which missed conditions left no trace in the logs, shape (n,) (times in hours)."""
    columns = logs.readings[["flow", "suction"]].notna().any().any()
    by_line = missed["condition"].isin(BY_LINE).to_numpy() & (not columns)
    why = missed["why"].fillna("")
    checked = [
        bool(((hours > start) & (hours < end + ROUND / HOUR)).any())
        for hours, start, end in zip(
            (_low_zeros(logs, str(point)) for point in missed["point"]),
            missed["start"],
            missed["end"],
            strict=True,
        )
    ]
    hidden = (why == HIDDEN).to_numpy() & ~np.array(checked, bool)
    off = missed["condition"].eq("air_leak").to_numpy() & ~_drawn(missed, logs)
    return np.asarray(by_line | off | hidden | (why == NO_TRACE).to_numpy())


def _drawn(rows: pd.DataFrame, logs: Logs) -> np.ndarray:
    """Tell which spans hold flow or suction of their point in more than half a day, shape (n,)."""
    table = logs.readings[logs.readings[["flow", "suction"]].notna().any(axis=1)]
    hours = ((table["time"] - logs.readings["time"].min()) / HOUR).to_numpy(float)
    point = table["point"].astype(str).to_numpy()
    inside = (
        hours[(point == name) & (hours >= start) & (hours < end)].astype(int)
        for name, start, end in zip(rows["point"], rows["start"], rows["end"], strict=True)
    )
    return np.array([len(np.unique(seen)) > LEAST_DRAWN for seen in inside], bool)


def _low_zeros(logs: Logs, detector: str) -> np.ndarray:
    """Return when zero checks found a detector's zero under its limit [h since the first row]."""
    gas = (detector.split() + ["", ""])[1]
    rows = logs.operations
    rows = rows[(rows["action"] == "zero_check") & (rows["gas"].astype(object).fillna(gas) == gas)]
    rows = rows[rows["value"] <= -LIMIT.get(gas, np.inf)]
    return np.asarray((rows["time"] - logs.readings["time"].min()) / HOUR, float)


def telling_checks(logs: Logs, detector: str) -> pd.Series:
    """Return when span checks of a detector wrote down another value than the cylinder's."""
    ops = logs.operations
    words = detector.split()
    gas = words[1] if len(words) > 1 else ""
    rows = ops[(ops["action"] == "span_check") & (ops["gas"].astype(object).fillna(gas) == gas)]
    rows = rows[rows["value"].notna() & (rows["value"] != rows["reference"])]
    if len(words) > 2:
        note = rows["note"].fillna("").astype(str)
        rows = rows[(note == "") | note.str.contains(words[2].strip("()"), regex=False)]
    return pd.Series(rows["time"])


def _dated(frame: pd.DataFrame, ends: tuple[pd.Timestamp, pd.Timestamp]) -> pd.DataFrame:
    out = frame.copy()
    for name, end in zip(("start", "end"), ends, strict=True):
        out[name] = pd.to_datetime(out[name], utc=True, format="ISO8601").fillna(end)
    return out


def _renamed(found: pd.DataFrame, truth: pd.DataFrame) -> list[str]:
    """Return the found detectors by the truth's names of the analysers.

    Logs need not name the analysers; whatever they are called instead, the names that fit best
    are meant.
    """
    theirs, ours = _labels(truth), _labels(found)
    points = [str(p) for p in found["point"]]
    if ours <= theirs or not ours:
        return points
    order = sorted(ours)
    fits = []
    for names in permutations(sorted(theirs | {f"other {i}" for i in order}), len(order)):
        told = dict(zip(order, names, strict=True))
        named = [_by(point, told) for point in points]
        fits.append((_overlap(found.assign(point=named), truth), named))
    return max(fits, key=lambda fit: fit[0])[1]


def _by(point: str, names: dict[str, str]) -> str:
    stem, _, label = point.rpartition(" (")
    named = point.startswith("detector ") and label[:-1] in names
    return f"{stem} ({names[label[:-1]]})" if named else point


def _labels(frame: pd.DataFrame) -> set[str]:
    names = frame["point"].astype(str).str.extract(_LABEL)[0]
    return set(names[frame["point"].astype(str).str.startswith("detector ")].dropna())


def _overlap(found: pd.DataFrame, truth: pd.DataFrame) -> float:
    """Return how long conditions of one kind and detector are both found and true [h]."""
    both = found.merge(truth, on=["point", "condition"])
    both = both[both["point"].str.startswith("detector ")]
    start = both[["start_x", "start_y"]].max(axis=1)
    end = both[["end_x", "end_y"]].min(axis=1)
    return float(((end - start) / pd.Timedelta(hours=1)).clip(lower=0.0).sum())


def _daily(rows: pd.DataFrame) -> pd.DataFrame:
    """Return spans joined where less than a day lies between, short ones left out."""
    kept = []
    for _, part in rows.sort_values("start").groupby("point", sort=False):
        reach = part["end"].cummax().shift()
        group = (part["start"] - reach > DAY).cumsum()
        rest = dict.fromkeys(rows.columns.drop("end"), "first")
        whole = part.groupby(group).agg({"end": "max"} | rest)
        kept.append(whole[whole["end"] - whole["start"] >= SHORTEST])
    return pd.concat(kept, ignore_index=True)[rows.columns] if kept else rows


def _snapped(found: pd.DataFrame, truth: pd.DataFrame, logs: Logs) -> pd.DataFrame:
    """Return what was found at checks with the truth's times where no check tells the two apart."""
    out = found.copy()
    truth = truth.assign(why=truth.get("why", ""))
    at_checks = truth["condition"] == "low_sensitivity"
    at_checks |= (truth["condition"] == "zero_drift") & (truth["why"] == HIDDEN)
    truth = truth[at_checks]
    for i, row in found[found["condition"].isin(["low_sensitivity", "zero_drift"])].iterrows():
        same = truth[(truth["condition"] == row["condition"]) & (truth["point"] == row["point"])]
        same = same[(same["start"] < row["end"]) & (same["end"] > row["start"])]
        if row["condition"] == "zero_drift":
            checks = pd.Series(logs.operations["time"][logs.operations["action"] == "zero_check"])
        else:
            checks = telling_checks(logs, str(row["point"]))
        for name in ("start", "end"):
            for true in same[name]:
                low, high = min(true, row[name]), max(true, row[name])
                if not checks.between(low + ROUND, high - ROUND).any():
                    out.loc[i, name] = true
    return out
