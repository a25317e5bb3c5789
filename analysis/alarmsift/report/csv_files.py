"""The CSV files of the report folder: fixed columns, times ISO 8601 in UTC, equal bytes."""

from __future__ import annotations

from pathlib import Path

import pandas as pd

from alarmsift.report.times import iso
from alarmsift.tables.diagnosis import (
    ALARM_LOAD_COLUMNS,
    ALARM_TAG_COLUMNS,
    CALIBRATION_COLUMNS,
    CONDITION_COLUMNS,
    COVERAGE_COLUMNS,
    DETECTOR_COLUMNS,
    EPISODE_COLUMNS,
    LEDGER_COLUMNS,
    POSSIBLE_GAS_COLUMNS,
    REPAIR_COLUMNS,
    RULE_COLUMNS,
    WEIGHT_COLUMNS,
    Diagnosis,
)
from alarmsift.tables.logs import REJECTED_COLUMNS

# Seven figures: more than any display gives, and small p_gas values stay readable.
NUMBER_FORM = "%.7g"


def write_csv_files(diagnosis: Diagnosis, folder: Path) -> None:
    """Write the tables that other programs read into ``folder``."""
    tables = {
        "episodes": (diagnosis.episodes, EPISODE_COLUMNS),
        "conditions": (diagnosis.conditions, CONDITION_COLUMNS),
        "coverage": (diagnosis.coverage, COVERAGE_COLUMNS),
        "calibration": (diagnosis.calibration, CALIBRATION_COLUMNS),
        "calibration_ledger": (diagnosis.ledger, LEDGER_COLUMNS),
        "detectors": (diagnosis.detectors, DETECTOR_COLUMNS),
        "repairs": (diagnosis.repairs, REPAIR_COLUMNS),
        "possible_gas": (diagnosis.possible_gas, POSSIBLE_GAS_COLUMNS),
        "rules": (diagnosis.rules, RULE_COLUMNS),
        "alarm_load": (diagnosis.alarm_load, ALARM_LOAD_COLUMNS),
        "alarm_tags": (diagnosis.alarm_tags, ALARM_TAG_COLUMNS),
        "rejected_rows": (diagnosis.logs.ledger.rejected, REJECTED_COLUMNS),
        "weights": (diagnosis.weights, WEIGHT_COLUMNS),
    }
    for name, (frame, columns) in tables.items():
        write_csv(frame[columns], folder / f"{name}.csv")


def write_csv(frame: pd.DataFrame, path: Path) -> None:
    """Write one frame, its columns in their order; missing cells are blank."""
    text = as_text(frame).to_csv(index=False, float_format=NUMBER_FORM, lineterminator="\n")
    path.write_text(text, encoding="utf-8", newline="\n")


def as_text(frame: pd.DataFrame) -> pd.DataFrame:
    """Return the frame with its times as text and its whole numbers without a point."""
    out = frame.copy()
    for name in out.columns:
        column = out[name]
        if pd.api.types.is_datetime64_any_dtype(column):
            out[name] = pd.Series(iso(column), index=out.index, dtype="object")
        elif column.dtype == object and column.map(_is_time).any():
            out[name] = pd.Series(iso(pd.to_datetime(column, utc=True)), index=out.index)
        elif name == "row":
            out[name] = pd.to_numeric(column, errors="coerce").astype("Int64")
    return out


def _is_time(cell: object) -> bool:
    return isinstance(cell, pd.Timestamp)
