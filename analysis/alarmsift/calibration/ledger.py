"""The calibration ledger: what each check found, what it left, and when the next is due."""

from __future__ import annotations

import numpy as np
import pandas as pd

from alarmsift.tables.diagnosis import CALIBRATION_COLUMNS
from alarmsift.tables.logs import Logs


def calibration_ledger(logs: Logs) -> pd.DataFrame:
    """Return a row a check or adjustment.

    ``error`` is as found less reference (zero checks: less nought); ``drift_per_day`` is that error
    over the days since the adjustment of the same kind before it; ``due`` is the time by which the
    next is due (monthly by IMO MSC.1/Circ.1370, 4.1.1, unless site.toml says otherwise).

    Returns
    -------
    DataFrame
        CALIBRATION_COLUMNS, in order of time.
    """
    ops = logs.operations
    names = ["zero_check", "zero_adjust", "span_check", "span_adjust"]
    rows = ops[ops["action"].isin(names)].reset_index(drop=True)
    if rows.empty:
        return pd.DataFrame(columns=CALIBRATION_COLUMNS)
    action = rows["action"].astype(str)
    is_zero, adjusts = action.str.startswith("zero"), action.str.endswith("adjust")
    reference = rows["reference"].where(~is_zero, rows["reference"].fillna(0.0))
    as_found = rows["value"].where(~adjusts)
    as_left = rows["value"].where(adjusts)
    error = as_found - reference
    gas = rows["gas"].astype(object).fillna("")
    kind = np.where(is_zero, "zero", "span")
    frame = pd.DataFrame(
        {
            "time": rows["time"],
            "gas": gas,
            "check": action,
            "reference": reference,
            "as_found": as_found,
            "as_left": as_left,
            "error": error,
            "kind": kind,
        }
    )
    last = frame["time"].where(adjusts).groupby([frame["gas"], frame["kind"]]).ffill()
    last = last.groupby([frame["gas"], frame["kind"]]).shift(1)
    days = (frame["time"] - last) / pd.Timedelta(days=1)
    # Minutes after an adjustment no drift can be seen.
    frame["drift_per_day"] = frame["error"] / days.where(days > 1.0)
    frame["due"] = frame["time"] + pd.Timedelta(days=logs.site.calibration_days)
    return frame[CALIBRATION_COLUMNS]
