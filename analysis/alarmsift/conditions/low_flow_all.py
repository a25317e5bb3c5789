"""Low flow everywhere: the pump or the common filter takes flow from all points.

Counted under 75 % of the clean flow at all points: even the best lines get less.
"""

import numpy as np
import pandas as pd

from alarmsift.evidence.condition import Condition, found, hours_text
from alarmsift.evidence.shared_flow import best_share
from alarmsift.evidence.ship import Ship
from alarmsift.evidence.spans import spans_where

LIMIT = 0.75
CLOSE_HOURS, SHORTEST_HOURS = 12.0, 3.0


def find(ship: Ship, episodes: pd.DataFrame) -> pd.DataFrame:
    """Return the spans in which all lines of an analyser were low."""
    rows: list[tuple[str, float, float, float, str, str]] = []
    blocks, share = best_share(ship)
    if blocks is None:
        return found(rows)
    hours = blocks.hours - blocks.width / 2.0
    names = ship.visits.analysers
    low = np.asarray(share < LIMIT)
    spans = spans_where(hours, np.any(low, axis=1), close=CLOSE_HOURS, shortest=SHORTEST_HOURS)
    for start, end in spans:
        inside = (hours >= start) & (hours < end)
        weak = [n for n, a in zip(names, low[inside].any(axis=0), strict=True) if a]
        whose = f" of {' and '.join(weak)}" if len(names) > 1 else ""
        shown = "flow" if "flow" in ship.line.columns else "suction, and with it flow,"
        rows.append(
            (
                "analyser",
                start,
                end,
                0.95,
                f"{shown} at all points{whose} together was down to "
                f"{np.nanmin(share[inside]):.0%} of clean, {hours_text(start, end)}",
                "Look at the common filter, then at the pump.",
            )
        )
    return found(rows)


CONDITION = Condition("low_flow_all", "Low flow at all points", find)
