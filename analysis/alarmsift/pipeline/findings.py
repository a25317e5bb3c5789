"""What engineers found when they looked: it names the cause, and is never let to teach blindness.

A finding reaches the last bout of its point (and gas) raised before it, at most 72 h back.
``nothing`` is a sign of its own and never an override; a finding against signs of gas is shown as
a conflict and the alarm stays at least unresolved.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from alarmsift.tables.schema import CAUSES

REACH_HOURS = 72.0
# Real gas at or over this probability contradicts a finding of nuisance.
CONFLICT_FROM = 0.01


def apply_findings(
    episodes: pd.DataFrame, findings: pd.DataFrame, real: np.ndarray
) -> pd.DataFrame:
    """Return the episodes with findings applied.

    Parameters
    ----------
    episodes : DataFrame, E rows
        Columns of EPISODE_COLUMNS.
    findings : DataFrame
        The canonical table.
    real : ndarray, shape (E,)
        P(gas) + P(ambient_vapour) from the signs.
    """
    out = episodes.copy()
    for row in findings.itertuples(index=False):  # a finding a line
        what = str(row.found).strip()
        back = (row.time - out["raised"]) / pd.Timedelta(hours=1)
        reach = (out["point"] == row.point) & (back >= 0) & (back <= REACH_HOURS)
        if isinstance(row.gas, str) and row.gas:
            reach &= (out["gas"] == row.gas) | (out["kind"] == "fault")
        if not reach.any() or what not in CAUSES:
            continue
        bout = out.loc[reach, "bout"].iloc[-1]
        mine = (out["bout"] == bout) & reach
        for at in np.flatnonzero(mine).tolist():
            _override(out, at, what, float(real[at]))
    return out


def _override(out: pd.DataFrame, at: int, what: str, real: float) -> None:
    is_fault = out["kind"].iat[at] == "fault"
    if is_fault and what not in ("water", "blocked", "pump"):
        return
    column = out.columns.get_loc
    verdict = out["cause"].iat[at]
    conflict = real >= CONFLICT_FROM and what not in ("gas", "ambient_vapour") and not is_fault
    said = f"An engineer found: {what.replace('_', ' ')}."
    if verdict != what:
        said += f" The signs said {str(verdict).replace('_', ' ')}."
    if conflict:
        said += " The signs do not rule gas out, so it stays to be treated as gas."
    out.iat[at, column("runner_up")] = (
        verdict if verdict in CAUSES and verdict != what else out["runner_up"].iat[at]
    )
    out.iat[at, column("cause")] = what
    out.iat[at, column("why")] = f"{said} {out['why'].iat[at]}"
    if is_fault:
        return
    if what in ("gas", "ambient_vapour"):
        out.iat[at, column("treat_as")] = "gas"
    elif conflict:
        out.iat[at, column("treat_as")] = "unresolved"
