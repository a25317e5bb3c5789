"""What each row of the timeline says, in neutral words: what is logged, and no more."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd

from alarmsift.report.times import duration

ACTIONS = {
    "disconnect": "sample line disconnected",
    "reconnect": "sample line reconnected",
    "purge": "sample line purged",
    "resample": "point sampled again by hand",
    "zero_check": "zero check",
    "zero_adjust": "zero adjusted",
    "span_check": "span check",
    "span_adjust": "span adjusted",
    "setpoint": "setpoint changed",
    "ballast_fill_start": "ballast filling started",
    "ballast_fill_end": "ballast filling ended",
    "ballast_discharge_start": "ballast discharge started",
    "ballast_discharge_end": "ballast discharge ended",
    "level": "level logged",
    "ventilation_on": "ventilation on",
    "ventilation_off": "ventilation off",
    "cargo_start": "cargo work started",
    "cargo_end": "cargo work ended",
    "sea_state": "sea state logged",
    "restart": "system restarted",
    "maintenance": "maintenance",
    "clock": "ship's clock set",
    "note": "note",
}


def crossing_words(row: Any) -> str:
    """Return the sentence of a reading at a setpoint."""
    source = ", worked out from the alarms" if row.source == "inferred" else ""
    limit = f"the {row.level} setpoint of {row.setpoint:g}{source}"
    if row.already:
        return f"at or past {limit} before the window began"
    return f"came to {limit}" if row.past else f"went back from {limit}"


def event_words(row: Any, *, already: bool) -> str:
    """Return the sentence of a row of the alarm list."""
    what = " ".join(part for part in (_text(row.gas), _text(row.level), _text(row.event)) if part)
    words = f"{what} {row.state}"
    if already:
        words += ", still open when the window began"
    return words + _quoted(row.text)


def operation_words(row: Any) -> str:
    """Return the sentence of a row of the operations log."""
    words = ACTIONS.get(str(row.action), str(row.action))
    parts = [_text(row.level)] if row.action == "setpoint" else []
    if np.isfinite(row.reference):
        parts.append(f"reference {row.reference:g}")
    if row.action == "clock" and np.isfinite(row.value):
        parts.append(f"UTC{row.value:+g} h from here")
    elif np.isfinite(row.value):
        parts.append(f"value {row.value:g}")
    if _text(row.cylinder):
        parts.append(f"cylinder {_text(row.cylinder)}")
    told = ", ".join(part for part in parts if part)
    return words + (f": {told}" if told else "") + _quoted(row.note)


def finding_words(row: Any) -> str:
    """Return the sentence of what an engineer found."""
    return f"found on inspection: {str(row.found).replace('_', ' ')}" + _quoted(row.note)


def gap_words(row: Any, start: pd.Timestamp, last: pd.Timestamp) -> str:
    """Return the sentence of the beginning or the end of a gap in the watch.

    ``start`` is that of the window, ``last`` the last reading of the logs: a gap that reaches it
    has no end that anybody saw.
    """
    why = f"({str(row.reason).replace('_', ' ')}, {duration(row.minutes)})"
    if row.begins:
        return f"not watched from here {why}" + (", before the window" if row.time < start else "")
    return f"{'still not watched at the last row' if row.time >= last else 'watched again'} {why}"


def _text(cell: object) -> str:
    return "" if cell is None or bool(pd.isna(cell)) else str(cell)


def _quoted(cell: object) -> str:
    return f' - "{_text(cell)}"' if _text(cell) else ""
