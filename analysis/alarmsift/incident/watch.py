"""What each point and each detector was doing in the window."""

from __future__ import annotations

import numpy as np
import pandas as pd

from alarmsift.tables.diagnosis import Diagnosis
from alarmsift.tables.incident import DETECTOR_COLUMNS, POINT_COLUMNS, Asked
from alarmsift.tables.schema import TIME_DTYPE

CHECKS = ("zero_check", "zero_adjust", "span_check", "span_adjust")


def reaching(frame: pd.DataFrame, asked: Asked, start: str, end: str) -> pd.DataFrame:
    """Return the rows whose span reaches into the window; a blank end = still so."""
    frame = frame.astype({start: TIME_DTYPE, end: TIME_DTYPE})  # also where all are blank
    after = frame[end].isna() | (frame[end] >= asked.start)
    return frame[(frame[start] <= asked.end) & after].reset_index(drop=True)


def points_table(
    diagnosis: Diagnosis, coverage: pd.DataFrame, conditions: pd.DataFrame, asked: Asked
) -> pd.DataFrame:
    """Return POINT_COLUMNS, a row a point asked for."""
    points = diagnosis.points
    if asked.points:
        points = points[points["point"].isin(asked.points)]
    visits = diagnosis.visits
    visits = visits[visits["time"].between(asked.start, asked.end)]
    by = visits.groupby(visits["point"].astype(object))
    names = points["point"].astype(object)
    gaps = [_unwatched(coverage[coverage["point"] == name], asked) for name in names]
    minutes = (asked.end - asked.start) / pd.Timedelta(minutes=1)
    unwatched = np.array([total for total, _ in gaps], dtype=float)
    told = [_conditions(conditions[conditions["point"] == name]) for name in names]
    return pd.DataFrame(
        {
            "point": names.to_numpy(object),
            "space": points["space"].to_numpy(object),
            "minutes": minutes,
            "watched_minutes": np.maximum(minutes - unwatched, 0.0),
            "unwatched_minutes": unwatched,
            "unwatched_why": [why for _, why in gaps],
            "visits": by.size().reindex(names, fill_value=0).to_numpy("int64"),
            "line_health": by["conductance"].median().reindex(names).to_numpy(float),
            "flow_share": by["flow_share"].median().reindex(names).to_numpy(float),
            "conditions": told,
        },
        columns=POINT_COLUMNS,
    )


def _unwatched(gaps: pd.DataFrame, asked: Asked) -> tuple[float, str]:
    """Return the unwatched minutes of one point within the window, and why."""
    start = gaps["start"].clip(lower=asked.start)
    end = gaps["end"].fillna(asked.end).clip(upper=asked.end)
    minutes = (end - start) / pd.Timedelta(minutes=1)
    by = minutes.groupby(gaps["reason"].astype(object)).sum().sort_values(ascending=False)
    # Spans of different reasons may overlap: an overlap is counted once in the sum.
    ordered = pd.DataFrame({"start": start, "end": end}).sort_values("start", kind="stable")
    passed = (ordered - asked.start) / pd.Timedelta(minutes=1)
    reached = passed["end"].cummax().shift().fillna(0.0)
    total = float((passed["end"] - np.maximum(passed["start"], reached)).clip(lower=0.0).sum())
    return total, "; ".join(f"{reason} {length:.0f} min" for reason, length in by.items())


def _conditions(rows: pd.DataFrame) -> str:
    return "; ".join(
        f"{name} ({probability:.2f})"
        for name, probability in zip(rows["condition"], rows["probability"], strict=True)
    )


def detectors_table(diagnosis: Diagnosis, asked: Asked) -> pd.DataFrame:
    """Return DETECTOR_COLUMNS: the last check and adjustment of each kind before the window."""
    ledger = diagnosis.calibration
    operations = diagnosis.logs.operations
    rows = operations[operations["action"].isin(CHECKS)].reset_index(drop=True)
    frame = ledger.reset_index(drop=True).assign(
        source_file=rows["source_file"].astype(object) if len(ledger) else [],
        source_row=rows["source_row"] if len(ledger) else [],
    )
    if frame.empty:
        return pd.DataFrame(columns=DETECTOR_COLUMNS)
    before = frame[frame["time"] < asked.start]
    last = before.drop_duplicates(["gas", "check"], keep="last")
    age = (asked.start - last["time"]) / pd.Timedelta(days=1)
    last = last.assign(age_days=age).sort_values(["gas", "check"], kind="stable")
    return last[DETECTOR_COLUMNS].reset_index(drop=True)


def calibration_at(verdicts: pd.DataFrame, ledger: pd.DataFrame) -> pd.DataFrame:
    """Return the verdicts with age [d] and error of the last zero and span check at the raise."""
    out = verdicts.reset_index(drop=True)
    for kind in ("zero", "span"):
        checks = ledger[(ledger["check"] == f"{kind}_check") & ledger["error"].notna()]
        age, error = np.full(len(out), np.nan), np.full(len(out), np.nan)
        for i, alarm in enumerate(out.itertuples()):  # the alarms of one window
            mine = checks[(checks["gas"] == alarm.gas) & (checks["time"] <= alarm.raised)]
            if len(mine):
                age[i] = (alarm.raised - mine["time"].iloc[-1]) / pd.Timedelta(days=1)
                error[i] = mine["error"].iloc[-1]
        out = out.assign(**{f"{kind}_age_days": age, f"{kind}_error": error})
    return out
