"""What a span check rests on: the cylinder's date, and the %LFL basis of its value.

A cylinder's %LFL means nothing without the lower flammable limit that it was worked out with. A
bottle worth 50 %LFL of propane on 2.1 %vol holds 61.8 on 1.7: a detector set to show 50 with it,
on a ship whose alarms mean 1.7, shows four fifths of the gas, which is the unsafe side.
"""

from __future__ import annotations

from typing import Final

import numpy as np
import pandas as pd

from alarmsift.physics.flammable import Basis, rebased
from alarmsift.tables.site import Site

# Limits are printed with two figures: nearer than this they are the same limit [share].
SAME_BASIS: Final = 0.01


def true_reference(rows: pd.DataFrame, site: Site) -> np.ndarray:
    """Return what each cylinder holds on the ship's own basis [unit of the gas], shape (n,).

    Parameters
    ----------
    rows : DataFrame
        ``gas``, ``reference``, ``basis_vol_percent`` (blank = the ship's).
    site : Site
        ``lfl`` is the ship's basis.
    """
    reference = rows["reference"].to_numpy(float)
    if site.lfl is None:
        return reference
    gas, limit = site.lfl
    used = rows["basis_vol_percent"].to_numpy(float)
    other = (rows["gas"] == "HC").to_numpy() & (np.abs(used / limit - 1.0) > SAME_BASIS)
    true = Basis(gas, limit, "site.toml")
    out = reference.copy()
    for value in np.unique(used[other]):
        mine = other & (used == value)
        out[mine] = rebased(reference[mine], used=Basis(gas, float(value), "log"), true=true)
    return out


def unsettled_basis(rows: pd.DataFrame, site: Site) -> np.ndarray:
    """Tell where the log names several bases and the ship names none, shape (n,)."""
    used = rows["basis_vol_percent"].where(rows["gas"] == "HC").to_numpy(float)
    known = used[np.isfinite(used)]
    if site.lfl is not None or not len(known) or np.ptp(known) <= SAME_BASIS * known.max():
        return np.zeros(len(rows), bool)
    return np.isfinite(used)


def expired(rows: pd.DataFrame) -> np.ndarray:
    """Tell where the cylinder was out of date at the check, shape (n,).

    A date without a day holds to the end of its month; what is no ISO date says nothing.
    """
    text = rows["expiry"].astype(object).fillna("").astype(str).str.strip()
    day = pd.to_datetime(text, format="ISO8601", errors="coerce", utc=True)
    last = day.where(text.str.len() > 7, day + pd.offsets.MonthEnd(0))
    return np.asarray((last + pd.Timedelta(days=1) <= rows["time"]).fillna(False), dtype=bool)
