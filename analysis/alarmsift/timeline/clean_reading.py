"""What counts as a clean reading after an alarm that was ended by hand."""

from __future__ import annotations

import numpy as np
import pandas as pd


def is_clean(values: np.ndarray, limits: pd.DataFrame) -> np.ndarray:
    """Tell which readings are on the safe side of every setpoint of their point and gas, (n,).

    The lowest setpoint that was ever in force counts (the highest for falling alarms), less its
    deadband, so that a raised setpoint does not make a reading clean. Without a setpoint nothing
    counts as clean.

    Parameters
    ----------
    values : ndarray, shape (n,)
        Valid readings, in the gas's unit; NaN is no reading.
    limits : DataFrame
        ``value``, ``deadband``, ``direction`` of all setpoints of the point and gas.

    Examples
    --------
    >>> limits = pd.DataFrame({"value": [10.0, 20.0], "deadband": 1.0, "direction": "rising"})
    >>> is_clean(np.array([12.0, 9.5, 8.5]), limits).tolist()
    [False, False, True]
    """
    if not len(limits):
        return np.zeros(len(values), bool)
    band = limits["deadband"].astype(float).fillna(0.0)
    value = limits["value"].astype(float)
    if (limits["direction"] == "falling").all():
        return np.asarray(values > (value + band).max())
    return np.asarray(values < (value - band).min())
