"""The series that a report draws: visits, shared zeros, change-points."""

from __future__ import annotations

import numpy as np
import pandas as pd

from alarmsift.evidence.condition import detector_name
from alarmsift.evidence.ship import Ship
from alarmsift.evidence.spans import running_median
from alarmsift.evidence.steps import SHORTEST, change_points
from alarmsift.tables.diagnosis import CHANGE_COLUMNS
from alarmsift.tables.schema import STATUSES

# Change-points are sought on block medians; a step under this is not worth a mark.
LEAST_LINE_STEP = 0.15  # ln of conductance
LEAST_ZERO_STEP = {"HC": 1.0, "H2S": 0.5, "O2": 0.2, "CO": 2.0}


def visits_table(ship: Ship) -> pd.DataFrame:
    """Return a row a visit, as ``Diagnosis.visits`` says."""
    v = ship.visits
    frame = {
        "time": pd.Series(v.time(v.hours)),
        "point": pd.Categorical.from_codes(v.point.astype("int32"), list(v.points)),
        "analyser": pd.Categorical.from_codes(v.analyser.astype("int32"), list(v.analysers)),
        "flow": v.flow,
        "suction": v.suction,
        "temperature": v.temperature,
        "flow_share": ship.line.flow_share,
        "conductance": np.exp(ship.line.own),
    }
    names = list(STATUSES)
    for gas in v.gases:
        frame[gas] = v.raw[gas]
        status = v.status[gas].astype("int32")
        frame[f"{gas}_status"] = pd.Categorical.from_codes(status, names)
        frame[f"{gas}_excess"] = ship.excess[gas]
    return pd.DataFrame(frame, copy=False)


def zeros_table(ship: Ship) -> pd.DataFrame:
    """Return the shared zero of every detector over time."""
    parts = []
    for (gas, analyser), model in ship.zeros.items():
        seen = np.isfinite(model.blocks.median).any(axis=1)
        count = np.isfinite(model.blocks.median).sum(axis=1)
        middle = np.nanmedian(ship.noise[gas]) if len(ship.noise[gas]) else np.nan
        # Half-width of the mean of the points' block medians, 90 % (normal noise).
        half = 1.645 * middle / np.sqrt(np.maximum(4.0 * count, 1.0))
        frame = pd.DataFrame(
            {
                "time": pd.Series(ship.visits.time(model.blocks.hours)),
                "analyser": ship.visits.analysers[analyser],
                "gas": gas,
                "zero": model.zero,
                "low": model.zero - half,
                "high": model.zero + half,
            }
        )
        parts.append(frame[seen])
    if not parts:
        return pd.DataFrame(columns=["time", "analyser", "gas", "zero", "low", "high"])
    return pd.concat(parts, ignore_index=True)


def changes_table(ship: Ship) -> pd.DataFrame:
    """Return the change-points of shared zeros and of line health."""
    rows: list[dict[str, object]] = []
    for (gas, analyser), model in ship.zeros.items():
        name = detector_name(ship, gas, analyser)
        least = LEAST_ZERO_STEP.get(gas, 1.0)
        rows += _steps(ship, name, "shared zero", model.blocks.hours, model.common, least=least)
    line = ship.line
    if line.columns != "none":
        for p, name in enumerate(ship.visits.points):
            series = line.blocks.median[:, p]
            rows += _steps(ship, name, "line", line.blocks.hours, series, least=LEAST_LINE_STEP)
    return pd.DataFrame(rows, columns=CHANGE_COLUMNS)


def _steps(
    ship: Ship, name: str, what: str, hours: np.ndarray, series: np.ndarray, *, least: float
) -> list[dict[str, object]]:
    good = np.isfinite(series)
    values, when = series[good], hours[good]
    # A level is a median of at least so many rows: where no medians of as many lie that far apart,
    # no levels do.
    if len(values) < 8 or np.ptp(running_median(values, SHORTEST)) < least:
        return []
    edges = [0, *change_points(values), len(values)]
    level = [float(np.median(values[a:b])) for a, b in zip(edges[:-1], edges[1:], strict=True)]
    return [
        {
            "time": ship.visits.time(when[edges[i]])[0],
            "point": name,
            "series": what,
            "before": level[i - 1],
            "after": level[i],
        }
        for i in range(1, len(level))
        if abs(level[i] - level[i - 1]) >= least
    ]
