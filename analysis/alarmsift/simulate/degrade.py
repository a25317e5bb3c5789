"""Take away what real logs lack: columns, tables, rows, digits. The truth stays as it was."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
import pandas as pd

from alarmsift.simulate.shipshape import SimulatedShip


def without(  # noqa: PLR0913  (each argument takes one thing away)
    ship: SimulatedShip,
    *,
    columns: Sequence[str] = (),
    tables: Sequence[str] = (),
    keep_readings: float = 1.0,
    step: Mapping[str, float] | None = None,
    seed: int = 0,
) -> SimulatedShip:
    """Return the ship with poorer logs and the same truth.

    Parameters
    ----------
    ship : SimulatedShip
        Left untouched.
    columns : sequence of str
        Columns to drop from every table that has them (``flow``, ``suction``, ``status``...).
    tables : sequence of str
        Tables to drop (``operations``, ``setpoints``, ``points``, ``findings``, ``events``...).
    keep_readings : float
        Share of the visits that stay, 0 to 1 [-].
    step : mapping
        Coarser display step by gas, in the gas's unit.
    seed : int
        For the choice of visits that are lost.
    """
    out = {name: frame for name, frame in ship.tables.items() if name not in tables}
    out = {
        name: frame.drop(columns=[c for c in columns if c in frame]) for name, frame in out.items()
    }
    if "readings" in out:
        frame = _thin(out["readings"], keep_readings, seed)
        if "status" in columns:  # without it a blank value has no meaning
            frame = frame[frame["value"].notna()].reset_index(drop=True)
        out["readings"] = _coarsen(frame, step or {})
    return replace(ship, tables=out)


def _thin(frame: pd.DataFrame, keep: float, seed: int) -> pd.DataFrame:
    if keep >= 1.0:
        return frame
    rng = np.random.default_rng(seed)
    visit = frame.groupby(["time", "point"], sort=False, observed=True).ngroup().to_numpy()
    stays = rng.random(int(visit.max(initial=-1)) + 1) < keep
    return frame[stays[visit]].reset_index(drop=True)


def _coarsen(frame: pd.DataFrame, step: Mapping[str, float]) -> pd.DataFrame:
    if not step:
        return frame
    by = frame["gas"].map(step).to_numpy(dtype=float)
    coarse = np.round(np.round(frame["value"].to_numpy(dtype=float) / by) * by, 6)
    return frame.assign(value=np.where(np.isnan(by), frame["value"], coarse))
