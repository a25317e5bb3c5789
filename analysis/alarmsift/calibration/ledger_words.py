"""What a row of the calibration ledger means, as a sentence for the page."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd

from alarmsift.calibration.cylinders import SAME_BASIS
from alarmsift.calibration.tolerance import SPAN_SHARE


def why(rows: pd.DataFrame) -> list[str]:
    """Return what is to be said of each row, blank where nothing is."""
    return ["; ".join(_parts(row)) for row in rows.itertuples()]


def _parts(row: Any) -> list[str]:
    told = (each(row) for each in (_verdict, _basis, _date, _order, _late, _held))
    return [words for words in told if words]


def _verdict(row: Any) -> str:
    if row.verdict != "out":
        return ""
    if row.check.endswith("adjust"):
        return f"left off by {row.true_error:+.3g}, more than the {row.tolerance:.3g} allowed"
    words = f"found off by {row.true_error:+.3g}, more than the {row.tolerance:.3g} allowed"
    if row.kind == "span":
        words += f" ({SPAN_SHARE:.0%} of the span gas)"
    return words + ": the readings back to the last good check are in doubt"


def _basis(row: Any) -> str:
    if row.unsettled:
        return (
            f"the log uses several bases of %LFL, this row {row.basis_vol_percent:g} %vol: no "
            "check counts until [lfl] in site.toml says which is the ship's"
        )
    share = row.reference / row.reference_true if row.reference_true else np.nan
    if not abs(share - 1.0) > SAME_BASIS:
        return ""
    unsafe = f"{1.0 - share:.0%} too low, the unsafe side" if share < 1.0 else "too high"
    return (
        f"wrong basis: {row.reference:g} %LFL on {row.basis_vol_percent:g} %vol is "
        f"{row.reference_true:.4f} on the ship's own; set with it, a detector reads x {share:.5f} "
        f"({unsafe})"
    )


def _date(row: Any) -> str:
    if row.kind != "span" or not row.expired:
        return ""
    which = f"cylinder {row.cylinder}".strip()
    return f"not valid: the {which} was out of date ({row.expiry})"


def _order(row: Any) -> str:
    if not np.isfinite(row.left_by_order):
        return ""
    return (
        f"the zero was set after the span, so span gas now reads off by {row.left_by_order:+.3g}: "
        "zero first, then span"
    )


def _late(row: Any) -> str:
    return f"{row.late_days:.0f} days overdue" if row.late_days >= 1.0 else ""


def _held(row: Any) -> str:
    if row.held == "did_not_hold":
        return f"did not hold: out of tolerance {row.held_days:.1f} days later"
    return ""
