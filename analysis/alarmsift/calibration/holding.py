"""Whether an adjustment held until the next one was due."""

from __future__ import annotations

from typing import Final

import numpy as np
import pandas as pd

_DETECTOR: Final = ["analyser", "gas", "kind"]
# What shows within minutes of an adjustment belongs to the same round [d].
SAME_ROUND: Final = 1.5 / 24.0
# Days in a row that the readings must show a zero out of tolerance (common practice, no source).
DAYS_IN_A_ROW: Final = 2


def holding(
    rows: pd.DataFrame, zeros: pd.DataFrame | None, *, every: float
) -> tuple[np.ndarray, np.ndarray]:
    """Return what became of each adjustment, and the days after it that this rests on.

    Parameters
    ----------
    rows : DataFrame
        ``time`` (rising), ``analyser``, ``gas``, ``kind``, ``check``, ``verdict``, ``tolerance``.
    zeros : DataFrame or None
        ``time``, ``analyser``, ``gas``, ``zero``: one value a day [unit of the gas].
    every : float
        From one calibration to the next [d].

    Returns
    -------
    held : ndarray of str, shape (n,)
        ``held`` (found within tolerance until the next was due, or until it was next adjusted),
        ``did_not_hold`` (found out of tolerance before then), ``too_early``; blank for checks.
    days : ndarray, shape (n,)
        To the first time out of tolerance, or to the last time it was seen within.
    """
    held, days = np.full(len(rows), "", dtype=object), np.full(len(rows), np.nan)
    if not len(rows):
        return held, days
    for (analyser, gas, kind), part in rows.groupby(_DETECTOR, sort=False):
        adjusts = part["check"].str.endswith("adjust").to_numpy()
        at = part.index.to_numpy()[adjusts]
        times = part["time"][adjusts].tolist()
        seen = _checks(part[~adjusts])
        if kind == "zero" and zeros is not None:
            seen = pd.concat([seen, _readings(zeros, analyser, gas, part["tolerance"].iloc[0])])
        for i, row in enumerate(at):  # a few a month
            ends = times[i + 1] if i + 1 < len(times) else None
            held[row], days[row] = _one(seen, rows["time"].iloc[row], ends, every=every)
    return held, days


def _checks(checks: pd.DataFrame) -> pd.DataFrame:
    usable = checks[checks["verdict"].isin(["within", "out"])]
    return pd.DataFrame({"time": usable["time"], "out": usable["verdict"] == "out"})


def _readings(zeros: pd.DataFrame, analyser: object, gas: object, limit: float) -> pd.DataFrame:
    """Return the days on which the readings show the zero, and whether it is out by then."""
    mine = zeros[(zeros["gas"] == gas) & ((zeros["analyser"] == analyser) | (analyser == ""))]
    if not np.isfinite(limit) or mine["analyser"].nunique() > 1:
        return pd.DataFrame({"time": mine["time"].iloc[:0], "out": []})
    out = mine["zero"].abs() > limit
    row = out.rolling(DAYS_IN_A_ROW).sum() >= DAYS_IN_A_ROW
    return pd.DataFrame({"time": mine["time"], "out": row})


def _one(
    seen: pd.DataFrame, adjusted: pd.Timestamp, ends: pd.Timestamp | None, *, every: float
) -> tuple[str, float]:
    """Return what became of one adjustment and after how many days."""
    after = (seen["time"] - adjusted) / pd.Timedelta(days=1)
    last = np.inf if ends is None else (ends - adjusted).total_seconds()
    inside = (after > SAME_ROUND) & (after * 86_400.0 < last)
    days, out = after[inside].to_numpy(float), seen["out"][inside].to_numpy(bool)
    if not len(days):
        return "too_early", np.nan
    if out.any() and (first := float(days[out].min())) <= every:
        return "did_not_hold", first
    good = float(days[~out].max()) if (~out).any() else float(days.min())
    if ends is not None or days.max() >= every:
        return "held", good
    return "too_early", good
