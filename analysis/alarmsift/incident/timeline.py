"""One merged timeline: what was read, alarmed, answered and done, each with its source row."""

from __future__ import annotations

import numpy as np
import pandas as pd

from alarmsift.incident.sentences import (
    crossing_words,
    event_words,
    finding_words,
    gap_words,
    operation_words,
)
from alarmsift.tables.clock import ShipClock
from alarmsift.tables.incident import KINDS, TIMELINE_COLUMNS, Asked
from alarmsift.tables.logs import Logs
from alarmsift.tables.schema import GAS_UNITS

SHOW = "%Y-%m-%d %H:%M:%S"
KIND_OF_ACTION = {
    "disconnect": "disconnection",
    "reconnect": "disconnection",
    "zero_check": "calibration",
    "zero_adjust": "calibration",
    "span_check": "calibration",
    "span_adjust": "calibration",
    "clock": "clock",
}
KIND_OF_EVENT = {"acknowledged": "acknowledgement", "muted": "acknowledgement"}


def timeline(
    logs: Logs,
    crossed: pd.DataFrame,
    coverage: pd.DataFrame,
    verdicts: pd.DataFrame,
    asked: Asked,
) -> pd.DataFrame:
    """Return TIMELINE_COLUMNS in order of time.

    Rows that are earlier than the window say what was already so when it began.

    Parameters
    ----------
    logs : Logs
    crossed : DataFrame
        From :func:`alarmsift.incident.crossings.crossings`.
    coverage : DataFrame
        COVERAGE_COLUMNS that reach into the window.
    verdicts : DataFrame
        Episodes that reach into the window.
    asked : Asked
    """
    parts = [
        _crossings(crossed),
        _events(logs.events, verdicts, asked),
        _operations(logs.operations, asked),
        _findings(logs.findings, asked),
        _gaps(coverage, logs.readings, asked),
    ]
    parts = [_of_points(part, asked) for part in parts]
    every = pd.concat([part for part in parts if len(part)] or parts[:1], ignore_index=True)
    every["order"] = every["kind"].map({kind: place for place, kind in enumerate(KINDS)})
    keys = ["time", "order", "source_file", "source_row", "point", "gas", "what"]
    every = every.sort_values(keys, kind="stable", ignore_index=True)
    return every.assign(ship_time=shown(every["time"], logs.clock))[TIMELINE_COLUMNS]


def shown(times: pd.Series, clock: ShipClock) -> np.ndarray:
    """Return ship's times with seconds as text, shape (n,)."""
    if not len(times):
        return np.array([], dtype=object)
    return clock.to_ship(times).dt.strftime(SHOW).to_numpy(object)


def _frame(rows: pd.DataFrame, kind: object, what: object, **more: object) -> pd.DataFrame:
    """Return rows of the timeline from rows with a time, a point and their source."""

    def label(column: str) -> object:
        return rows[column].astype(object).fillna("").to_numpy(object) if column in rows else ""

    gas = label("gas")
    value = rows["value"].to_numpy(float) if "value" in rows else np.nan
    columns: dict[str, object] = {
        "time": rows["time"].to_numpy(),
        "kind": kind,
        "point": label("point"),
        "gas": gas,
        "what": what,
        "value": value,
        "unit": "",
        "basis": "fact",
        "episode": "",
        "source_file": label("source_file"),
        "source_row": rows["source_row"].to_numpy(float),
    }
    out = pd.DataFrame({**columns, **more}, index=range(len(rows)))
    out["time"] = pd.to_datetime(out["time"], utc=True).astype("datetime64[us, UTC]")
    return out


def _of_points(rows: pd.DataFrame, asked: Asked) -> pd.DataFrame:
    if not asked.points:
        return rows
    return rows[rows["point"].isin(asked.points) | (rows["point"] == "")]


def _units(gas: pd.Series, value: pd.Series) -> np.ndarray:
    units = gas.astype(object).map(GAS_UNITS).fillna("")
    return units.where(value.notna().to_numpy(), "").to_numpy(object)


def _crossings(rows: pd.DataFrame) -> pd.DataFrame:
    inferred = rows["source"].astype(object) == "inferred"
    what = [crossing_words(row) for row in rows.itertuples()]
    basis = np.where(inferred, "inference", "fact")
    return _frame(rows, "reading", what, basis=basis, unit=_units(rows["gas"], rows["value"]))


def _events(events: pd.DataFrame, verdicts: pd.DataFrame, asked: Asked) -> pd.DataFrame:
    inside = events["time"].between(asked.start, asked.end)
    open_ = verdicts[verdicts["raised"] < asked.start]
    before = events[(events["time"] < asked.start) & (events["state"] == "raised")]
    key = ["point", "gas", "level", "time"]
    before = before[_keys(before, key).isin(_keys(open_.rename(columns={"raised": "time"}), key))]
    rows = pd.concat([before, events[inside]])
    state, event = rows["state"].astype(object), rows["event"].astype(object)
    kind = state.map(KIND_OF_EVENT).fillna(event).to_numpy(object)
    what = [event_words(row, already=row.time < asked.start) for row in rows.itertuples()]
    unit = _units(rows["gas"], rows["value"])
    return _frame(rows, kind, what, unit=unit, episode=_episodes(rows, verdicts))


def _keys(rows: pd.DataFrame, columns: list[str]) -> pd.Series:
    """Return the cells of a row as one text, shape (n,)."""
    cells = [rows[c].astype(object).fillna("").astype(str) for c in columns]
    out = cells[0]
    for cell in cells[1:]:
        out = out + "\n" + cell
    return out


def _episodes(rows: pd.DataFrame, verdicts: pd.DataFrame) -> np.ndarray:
    """Return which episode each row of the alarm list belongs to; blank = none of the window's."""
    left = pd.DataFrame(
        {
            "time": rows["time"].reset_index(drop=True),
            "key": _keys(rows, ["event", "point", "gas", "level"]).to_numpy(object),
            "place": np.arange(len(rows)),
        }
    )
    right = pd.DataFrame(
        {
            "time": verdicts["raised"].reset_index(drop=True),
            "key": _keys(verdicts, ["kind", "point", "gas", "level"]).to_numpy(object),
            "episode": verdicts["episode"].to_numpy(object),
            "until": verdicts["cleared"].reset_index(drop=True),
        }
    )
    if not len(left) or not len(right):
        return np.full(len(rows), "", dtype=object)
    found = pd.merge_asof(
        left.sort_values("time", kind="stable"),
        right.sort_values("time", kind="stable"),
        on="time",
        by="key",
    ).sort_values("place")
    late = found["until"].notna() & (found["time"] > found["until"])
    return found["episode"].mask(late).fillna("").to_numpy(object)


def _operations(operations: pd.DataFrame, asked: Asked) -> pd.DataFrame:
    rows = operations[operations["time"].between(asked.start, asked.end)]
    kind = rows["action"].astype(object).map(KIND_OF_ACTION).fillna("operation").to_numpy(object)
    what = [operation_words(row) for row in rows.itertuples()]
    return _frame(rows, kind, what, unit=rows["unit"].astype(object).fillna("").to_numpy(object))


def _findings(findings: pd.DataFrame, asked: Asked) -> pd.DataFrame:
    rows = findings[findings["time"].between(asked.start, asked.end)]
    return _frame(rows, "finding", [finding_words(row) for row in rows.itertuples()])


def _gaps(coverage: pd.DataFrame, readings: pd.DataFrame, asked: Asked) -> pd.DataFrame:
    """Return two rows a gap: where the watch ended and where it came back.

    The source is the point's reading at that moment, or the first after it where the logs begin
    with the gap; the reason is an inference.
    """
    gone = coverage.assign(time=coverage["start"], begins=True)
    back = coverage.assign(time=coverage["end"], begins=False)
    rows = pd.concat([gone, back[back["time"].notna() & (back["time"] <= asked.end)]])
    rows = rows.sort_values("time", kind="stable").reset_index(drop=True)
    rows["point"] = rows["point"].astype(object)
    mine = readings[readings["point"].isin(rows["point"].unique())]
    seen = mine[["time", "point", "source_file", "source_row"]].assign(
        point=mine["point"].astype(object), source_file=mine["source_file"].astype(object)
    )
    rows["time"] = rows["time"].astype("datetime64[us, UTC]")
    # Times of gaps are kept in hours; the slack is for their last figure.
    slack = pd.Timedelta(seconds=1)
    seen, asked_of = seen.drop_duplicates(["time", "point"]), rows.assign(time=rows["time"] + slack)
    found = pd.merge_asof(asked_of, seen, on="time", by="point")
    after = pd.merge_asof(asked_of, seen, on="time", by="point", direction="forward")
    rows = rows.assign(
        source_file=found["source_file"].fillna(after["source_file"]),
        source_row=found["source_row"].fillna(after["source_row"]),
    )
    last = readings["time"].max()
    what = [gap_words(row, asked.start, last) for row in rows.itertuples()]
    return _frame(rows, "unwatched", what, basis="inference")
