"""The rows of one calibration round beside each other: zero and span of a detector."""

from __future__ import annotations

from typing import Final

import numpy as np
import pandas as pd

# One round: the zero first, then the span, then the adjustment (common practice, no source) [h].
ROUND_HOURS: Final = 1.5


def zero_at_span(rows: pd.DataFrame) -> np.ndarray:
    """Return the zero at each span row, NaN where nobody looked or the row is no span, shape (n,).

    The last zero row of the detector in the round before it counts: as found, or as left once it
    was adjusted. Oxygen's zero is set in air, and its span stands on its own.

    Parameters
    ----------
    rows : DataFrame
        ``time`` (rising), ``analyser``, ``gas``, ``kind``, ``value`` [unit of the gas].
    """
    out = np.full(len(rows), np.nan)
    span = (rows["kind"] == "span").to_numpy()
    out[span & (rows["gas"] == "O2").to_numpy()] = 0.0
    found = _beside(rows[span], rows[~span & rows["value"].notna().to_numpy()], "backward")
    out[span] = np.where(np.isfinite(out[span]), out[span], found["value_other"].to_numpy(float))
    return out


def left_wrong_by_order(rows: pd.DataFrame) -> np.ndarray:
    """Return by how much a span adjustment is off since the zero was set after it, shape (n,).

    The zero as found after the span was set stood in the span too [unit of the gas]; NaN where the
    order was right or nobody wrote down what was found.

    Parameters
    ----------
    rows : DataFrame
        As in `zero_at_span`, with ``check``.
    """
    out = np.full(len(rows), np.nan)
    spans = (rows["check"] == "span_adjust").to_numpy()
    looked = rows[(rows["check"] == "zero_check") & rows["value"].notna()]
    zeroed = rows[rows["check"] == "zero_adjust"]
    after = _beside(rows[spans], looked, "forward")
    set_after = _beside(rows[spans], zeroed, "forward")["time_other"].notna().to_numpy()
    out[spans] = np.where(set_after, -after["value_other"].to_numpy(float), np.nan)
    out[out == 0.0] = np.nan
    return out


def _beside(rows: pd.DataFrame, others: pd.DataFrame, direction: str) -> pd.DataFrame:
    """Return for each row the nearest other row of its detector in the same round."""
    keys = ["analyser", "gas"]
    left = rows[["time", *keys]].reset_index(drop=True)
    right = others[["time", *keys, "value"]].rename(columns={"value": "value_other"})
    right = right.assign(time_other=right["time"]).reset_index(drop=True)
    return pd.merge_asof(
        left,
        right,
        on="time",
        by=keys,
        direction=direction,
        tolerance=pd.Timedelta(hours=ROUND_HOURS),
    )
