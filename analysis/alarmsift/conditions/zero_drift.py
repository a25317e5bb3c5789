"""Zero drift: a detector's zero is off by 3 %LFL or 1.5 ppm or more, up or down.

A negative zero hides gas. Needs three points or more, or zero checks.
"""

import numpy as np
import pandas as pd

from alarmsift.evidence.condition import Condition, detector_name, found, hours_text
from alarmsift.evidence.ship import Ship
from alarmsift.evidence.spans import spans_where
from alarmsift.evidence.zero import ZeroModel, resets_of

# By gas, in the gas's unit.
LIMIT = {"HC": 3.0, "H2S": 1.5}
DAY_HOURS = 24.0
STEADY_QUANTILE = 0.35
# A zero is off for days; spells closer than a day and a half are one [h] (CP).
CLOSE_HOURS, SHORTEST_HOURS = 18.0, 20.0


def find(ship: Ship, episodes: pd.DataFrame) -> pd.DataFrame:
    """Return the spans in which a zero was off."""
    rows: list[tuple[str, float, float, float, str, str]] = []
    for (gas, analyser), model in ship.zeros.items():
        limit = ship.logs.site.tolerance.get(gas, LIMIT.get(gas, np.nan))
        if not np.isfinite(limit) or not np.isfinite(model.blocks.median).any():
            continue
        hours = model.blocks.hours - model.blocks.width / 2
        resets = resets_of(ship.operations, gas)
        for sign, words in ((1.0, "too high"), (-1.0, "too low: it hides gas")):
            trend = sign * _steady_part(sign * model.zero, model, resets)
            flag = sign * trend >= limit
            for start, end in spans_where(hours, flag, close=CLOSE_HOURS, shortest=SHORTEST_HOURS):
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


def _steady_part(zero: np.ndarray, model: ZeroModel, resets: np.ndarray) -> np.ndarray:
    """Return the zero (upwards) that holds through the day, never across an adjustment, (b,).

    The low third of a day's blocks: vapour on deck comes in gusts, a zero stays.
    """
    span = max(int(round(DAY_HOURS / model.blocks.width)), 1)
    edges = np.unique(
        np.concatenate([[0], np.searchsorted(model.blocks.hours, resets), [len(zero)]])
    ).astype(int)
    out = np.empty(len(zero))
    for a, b in zip(edges[:-1], edges[1:], strict=True):
        window = pd.Series(zero[a:b]).rolling(span, center=True, min_periods=1)
        out[a:b] = window.quantile(STEADY_QUANTILE)
    return out


CONDITION = Condition("zero_drift", "Detector's zero off", find)
