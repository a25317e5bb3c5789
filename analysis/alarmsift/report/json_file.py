"""``diagnosis.json``: the whole diagnosis with the signs behind each verdict, for programs."""

from __future__ import annotations

import json
from functools import cache
from importlib import metadata
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from alarmsift.report.json_signs import SignTables
from alarmsift.report.times import iso
from alarmsift.tables.diagnosis import (
    ALARM_LOAD_COLUMNS,
    ALARM_TAG_COLUMNS,
    CALIBRATION_COLUMNS,
    CONDITION_COLUMNS,
    COVERAGE_COLUMNS,
    DETECTOR_COLUMNS,
    EPISODE_COLUMNS,
    FINDING_COLUMNS,
    LEDGER_COLUMNS,
    POSSIBLE_GAS_COLUMNS,
    RECORD_COLUMNS,
    REPAIR_COLUMNS,
    RULE_COLUMNS,
    SETPOINT_COLUMNS,
    Diagnosis,
)
from alarmsift.tables.logs import FILE_COLUMNS, REJECTED_COLUMNS

LAYOUT = "alarmsift-diagnosis-2"
SCHEMA_PATH = Path(__file__).with_name("diagnosis.schema.json")
WHOLE = frozenset(
    ("rows_read", "accepted", "rejected", "duplicates", "cells_refused", "bytes", "row")
) | {"first_row", "last_row", "visits", "episodes", "order", "confirmed", "refuted"}
WHOLE |= {"checks", "out", "not_held", "pairs", "alarms_before", "alarms_after"}
WHOLE |= {"raises", "nuisance", "standing"}
FIGURES = 7  # of numbers, as a rule
SHARE_FIGURES = 4  # of probabilities, and of the zero, thousands of which stand in a year


@cache
def tool_version() -> str:
    """Return the version of alarmsift that is installed."""
    try:
        return metadata.version("alarmsift")
    except metadata.PackageNotFoundError:
        return "unknown"


def write_json_file(diagnosis: Diagnosis, folder: Path) -> None:
    """Write ``diagnosis.json`` into ``folder``."""
    parts = [f"{_dump(key)}: {_lines(value)}" for key, value in document(diagnosis).items()]
    text = "{\n" + ",\n".join(parts) + "\n}\n"
    (folder / "diagnosis.json").write_text(text, encoding="utf-8", newline="\n")


def _lines(value: Any) -> str:
    """Return JSON with one record a line: small, and two runs can be compared as text."""
    if isinstance(value, list) and value:
        return "[\n" + ",\n".join(_dump(one) for one in value) + "\n]"
    return _dump(value)


def _dump(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False, separators=(",", ":"))


def document(diagnosis: Diagnosis) -> dict[str, Any]:
    """Return the document as plain lists and dictionaries, missing cells as None."""
    logs = diagnosis.logs
    ledger = logs.ledger
    once = SignTables()
    change = diagnosis.weights_change
    return {
        "layout": LAYOUT,
        "tool": {"name": "alarmsift", "version": tool_version()},
        "name": logs.site.name or logs.name,
        "clock": {
            "zone": logs.clock.zone,
            "changes": [
                {"time": iso(pd.Series([time]))[0], "offset_hours": float(offset)}
                for time, offset in logs.clock.changes
            ],
        },
        "cycle_minutes": _number(diagnosis.cycle_minutes),
        "cycle_limit_minutes": _number(logs.site.cycle_limit_min),
        "files": records(ledger.files, FILE_COLUMNS),
        "learnt": list(dict.fromkeys([*ledger.learnt, *diagnosis.learnt])),
        "warnings": list(ledger.warnings),
        "rejected": records(ledger.rejected, REJECTED_COLUMNS),
        "conflicts": records(ledger.conflicts, REJECTED_COLUMNS),
        "points": records(diagnosis.points, list(diagnosis.points.columns)),
        "episodes": _episodes(diagnosis, once),
        "conditions": records(diagnosis.conditions, CONDITION_COLUMNS),
        "coverage": records(diagnosis.coverage, COVERAGE_COLUMNS),
        "calibration": records(diagnosis.calibration, CALIBRATION_COLUMNS),
        "ledger": records(diagnosis.ledger, LEDGER_COLUMNS),
        "detectors": records(diagnosis.detectors, DETECTOR_COLUMNS),
        "repairs": records(diagnosis.repairs, REPAIR_COLUMNS),
        "findings": records(diagnosis.findings, FINDING_COLUMNS),
        "record": records(diagnosis.record, RECORD_COLUMNS),
        "possible_gas": records(diagnosis.possible_gas, POSSIBLE_GAS_COLUMNS),
        "rules": records(diagnosis.rules, RULE_COLUMNS),
        "alarm_load": records(diagnosis.alarm_load, ALARM_LOAD_COLUMNS),
        "alarm_tags": records(diagnosis.alarm_tags, ALARM_TAG_COLUMNS),
        "setpoints": records(diagnosis.setpoints, SETPOINT_COLUMNS),
        "zeros": records(diagnosis.zeros, list(diagnosis.zeros.columns), figures=SHARE_FIGURES),
        "changes": records(diagnosis.changes, list(diagnosis.changes.columns)),
        "checks": records(diagnosis.checks, list(diagnosis.checks.columns)),
        "weights": records(diagnosis.weights, list(diagnosis.weights.columns)),
        "weights_change": None if change is None else {"file": change.name, "rows": change.rows},
        "sign_titles": dict(sorted(once.titles.items())),
        "sign_units": dict(sorted(once.units.items())),
        "sign_words": list(once.words),
    }


def _episodes(diagnosis: Diagnosis, once: SignTables) -> list[dict[str, Any]]:
    """Return the episodes with their ``probabilities`` and signs; fills ``once``."""
    out = records(diagnosis.episodes, EPISODE_COLUMNS)
    posterior = diagnosis.probabilities.to_dict("index")
    for episode in out:
        episode["probabilities"] = {
            str(cause): _number(share, SHARE_FIGURES)
            for cause, share in posterior.get(episode["episode"], {}).items()
            if share > 0
        }
        episode.update(once.add(diagnosis.signs(episode["episode"])))
    return out


def records(
    frame: pd.DataFrame, columns: list[str], *, figures: int = FIGURES
) -> list[dict[str, Any]]:
    """Return the rows as dictionaries of text, number at so many figures, bool or None.

    Examples
    --------
    >>> records(pd.DataFrame({"row": [3.0, np.nan], "text": ["a", None]}), ["row", "text"])
    [{'row': 3, 'text': 'a'}, {'row': None, 'text': None}]
    """
    lists = [_cells(frame[name], name, figures) for name in columns]
    return [dict(zip(columns, row, strict=True)) for row in zip(*lists, strict=True)]


def _cells(column: pd.Series, name: str, figures: int) -> list[Any]:
    if pd.api.types.is_datetime64_any_dtype(column):
        return [text or None for text in iso(column)]
    if pd.api.types.is_bool_dtype(column):
        return [bool(cell) for cell in column]
    if pd.api.types.is_numeric_dtype(column):
        if name in WHOLE:
            return [None if np.isnan(cell) else int(cell) for cell in column.astype(float)]
        return [_number(cell, figures) for cell in column.astype(float)]
    return [_cell(cell) for cell in column.astype(object)]


def _cell(cell: Any) -> Any:
    if isinstance(cell, str | bool):
        return cell
    if isinstance(cell, list | tuple):
        return [_cell(one) for one in cell]
    if cell is None or pd.isna(cell):
        return None
    if isinstance(cell, pd.Timestamp):
        return iso(pd.Series([cell]))[0]
    return _number(float(cell)) if isinstance(cell, int | float | np.number) else str(cell)


def _number(value: float, figures: int = FIGURES) -> float | None:
    """Return a number at so many figures, None when it is not finite."""
    return float(f"{value:.{figures}g}") if np.isfinite(value) else None
