"""Low flow everywhere: the pump or the common filter takes flow from all points.

Counted under 75 % of the clean flow at all points.
"""

import numpy as np
import pandas as pd

from alarmsift.evidence.condition import Condition, analyser_name, found, hours_text
from alarmsift.evidence.ship import Ship
from alarmsift.evidence.spans import running_median, spans_where

LIMIT = 0.75


def find(ship: Ship, episodes: pd.DataFrame) -> pd.DataFrame:
    """Return the spans in which all lines were low."""
    rows: list[tuple[str, float, float, float, str, str]] = []
    line = ship.line
    if "flow" not in line.columns:
        return found(rows)
    width = line.blocks.width
    for analyser in range(line.common_blocks.shape[1]):
        share = running_median(line.common_blocks[:, analyser], 3)
        hours = np.arange(len(share)) * width
        for start, end in spans_where(hours, share < LIMIT, close=12.0, shortest=3.0):
            inside = (hours >= start) & (hours < end)
            rows.append(
                (
                    analyser_name(ship, analyser),
                    start,
                    end,
                    0.95,
                    f"flow at all points together was down to {np.min(share[inside]):.0%} of "
                    f"clean, {hours_text(start, end)}",
                    "Look at the common filter, then at the pump.",
                )
            )
    return found(rows)


CONDITION = Condition("low_flow_all", "Low flow at all points", find)
