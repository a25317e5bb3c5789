"""Zero drift: a detector's zero is off by 3 %LFL or 1.5 ppm or more, up or down.

A negative zero hides gas. Needs three points or more, or zero checks.
"""

import numpy as np
import pandas as pd

from alarmsift.evidence.condition import Condition, detector_name, found, hours_text
from alarmsift.evidence.ship import Ship
from alarmsift.evidence.spans import running_median, spans_where
from alarmsift.evidence.zero import ZeroModel, resets_of

# By gas, in the gas's unit.
LIMIT = {"HC": 3.0, "H2S": 1.5}
DAY_HOURS = 24.0


def find(ship: Ship, episodes: pd.DataFrame) -> pd.DataFrame:
    """Return the spans in which a zero was off."""
    rows = []
    for (gas, analyser), model in ship.zeros.items():
        limit = ship.logs.site.tolerance.get(gas, LIMIT.get(gas, np.nan))
        if not np.isfinite(limit) or not np.isfinite(model.blocks.median).any():
            continue
        trend = _without_day(model, resets_of(ship.operations, gas))
        hours = model.blocks.hours - model.blocks.width / 2
        for sign, words in ((1.0, "too high"), (-1.0, "too low: it hides gas")):
            flag = sign * trend >= limit
            for start, end in spans_where(hours, flag, close=18.0, shortest=6.0):
                inside = (hours >= start) & (hours < end)
                top = float(np.max(sign * trend[inside]))
                rows.append(
                    (
                        detector_name(ship, gas, analyser),
                        start,
                        end,
                        float(np.clip(0.5 + (top - limit) / limit, 0.5, 0.99)),
                        f"the zero of the {gas} detector was up to {top:.1f} {words}, "
                        f"{hours_text(start, end)}",
                        "Check the zero on clean air, write down the value as found, adjust.",
                    )
                )
    return found(rows)


def _without_day(model: ZeroModel, resets: np.ndarray) -> np.ndarray:
    """Return the zero with its day-night swing averaged out, never across an adjustment."""
    span = max(int(round(DAY_HOURS / model.blocks.width)), 1)
    edges = np.unique(
        np.concatenate([[0], np.searchsorted(model.blocks.hours, resets), [len(model.zero)]])
    ).astype(int)
    out = np.empty(len(model.zero))
    for a, b in zip(edges[:-1], edges[1:], strict=True):
        series = pd.Series(model.zero[a:b])
        out[a:b] = series.rolling(span, center=True, min_periods=max(span // 2, 1)).mean()
        missing = ~np.isfinite(out[a:b])
        out[a:b][missing] = running_median(model.zero[a:b], span)[missing]
    return out


CONDITION = Condition("zero_drift", "Detector's zero off", find)
