"""The calibration ledger: what each check found, what it left, and when the next is due."""

from __future__ import annotations

from typing import Final

import numpy as np
import pandas as pd

from alarmsift.calibration.cylinders import expired, true_reference, unsettled_basis
from alarmsift.calibration.holding import holding
from alarmsift.calibration.ledger_words import why
from alarmsift.calibration.named import analyser_of
from alarmsift.calibration.rounds import left_wrong_by_order, zero_at_span
from alarmsift.calibration.tolerance import span_tolerance, zero_tolerance
from alarmsift.tables.diagnosis import LEDGER_COLUMNS
from alarmsift.tables.logs import Logs
from alarmsift.tables.schema import GAS_UNITS

ACTIONS: Final = ("zero_check", "zero_adjust", "span_check", "span_adjust")
DETECTOR: Final = ["analyser", "gas", "kind"]
# Minutes after an adjustment no drift can be seen [d].
_SOON: Final = 1.0


def calibration_ledger(logs: Logs, zeros: pd.DataFrame | None = None) -> pd.DataFrame:
    """Return a row a check or adjustment.

    ``error`` is as found less reference (zero checks: less nought); ``drift_per_day`` is that error
    over the days since the adjustment of the same kind before it; ``due`` is the time by which the
    next is due (monthly by IMO MSC.1/Circ.1370, 4.1.1, unless site.toml says otherwise).

    Parameters
    ----------
    logs : Logs
        ``operations`` and ``site`` are used.
    zeros : DataFrame, optional
        ``time``, ``analyser``, ``gas``, ``zero``: what the readings say of each zero, one value a
        day [unit of the gas]; it tells sooner than the next check whether an adjustment held.

    Returns
    -------
    DataFrame
        LEDGER_COLUMNS, in order of time; the first of them are CALIBRATION_COLUMNS.
    """
    rows = _rows(logs)
    if rows.empty:
        return pd.DataFrame(columns=LEDGER_COLUMNS)
    site = logs.site
    adjusts = rows["check"].str.endswith("adjust")
    rows["as_found"], rows["as_left"] = rows["value"].where(~adjusts), rows["value"].where(adjusts)
    rows["error"] = rows["as_found"] - rows["reference"]
    rows["reference_true"] = true_reference(rows, site)
    rows["true_error"] = rows["value"] - rows["reference_true"]
    rows["tolerance"] = [
        zero_tolerance(gas, site) if kind == "zero" else span_tolerance(true)
        for gas, kind, true in zip(rows["gas"], rows["kind"], rows["reference_true"], strict=True)
    ]
    rows["sensitivity"] = (rows["value"] - zero_at_span(rows)) / rows["reference_true"]
    rows["left_by_order"] = left_wrong_by_order(rows)
    rows["expired"], rows["unsettled"] = expired(rows), unsettled_basis(rows, site)
    rows["verdict"] = _verdict(rows)
    _dates(rows, adjusts, site.calibration_days)
    rows["held"], rows["held_days"] = holding(rows, zeros, every=site.calibration_days)
    rows["why"] = why(rows)
    return rows[LEDGER_COLUMNS]


def _rows(logs: Logs) -> pd.DataFrame:
    """Return the rows of the operations log that are checks, with the kind of each."""
    ops = logs.operations
    ops = ops[ops["action"].isin(ACTIONS)].reset_index(drop=True)
    check = ops["action"].astype(str)
    kind = pd.Series(np.where(check.str.startswith("zero"), "zero", "span"), dtype=object)
    gas = ops["gas"].astype(object).fillna("")
    return pd.DataFrame(
        {
            "time": ops["time"],
            "gas": gas,
            "check": check,
            "reference": ops["reference"].where(kind == "span", ops["reference"].fillna(0.0)),
            "value": ops["value"],
            "analyser": analyser_of(ops["note"]),
            "kind": kind,
            "unit": gas.map(GAS_UNITS).fillna(""),
            "cylinder": ops["cylinder"].astype(object).fillna(""),
            "expiry": ops["expiry"].astype(object).fillna(""),
            "basis_vol_percent": ops["basis_vol_percent"].where(kind == "span"),
        }
    )


def _verdict(rows: pd.DataFrame) -> np.ndarray:
    """Return ``within``, ``out``, ``not_valid`` or ``unknown`` of each row, shape (n,)."""
    error, limit = rows["true_error"].abs(), rows["tolerance"]
    # What the computer's own rounding adds does not make ten per cent more than ten.
    out = (error > limit * (1.0 + 1e-9)).to_numpy()
    known = (error.notna() & limit.notna()).to_numpy()
    void = (rows["unsettled"] | ((rows["kind"] == "span") & rows["expired"])).to_numpy(bool)
    return np.select([void, ~known, out], ["not_valid", "unknown", "out"], default="within")


def _dates(rows: pd.DataFrame, adjusts: pd.Series, every: float) -> None:
    """Add drift since the last adjustment, when the next is due and how late this one came."""
    mine = rows.groupby(DETECTOR, sort=False)
    last = rows["time"].where(adjusts).groupby([rows[key] for key in DETECTOR]).ffill()
    last = last.groupby([rows[key] for key in DETECTOR]).shift(1)
    days = (rows["time"] - last) / pd.Timedelta(days=1)
    rows["drift_per_day"] = rows["error"] / days.where(days > _SOON)
    rows["due"] = rows["time"] + pd.Timedelta(days=every)
    late = (rows["time"] - mine["due"].shift(1)) / pd.Timedelta(days=1)
    rows["late_days"] = late.where(late > 0.0)
