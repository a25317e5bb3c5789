"""Air leak: air enters the line behind the probe, and every reading is diluted.

The leak adds flow at the same suction, so the line looks better than clean: counted from 15 % air.
A joint leaking near the probe does not show here. Needs flow and suction.
"""

import numpy as np
import pandas as pd

from alarmsift.evidence.condition import Condition, found, hours_text
from alarmsift.evidence.ship import Ship
from alarmsift.evidence.spans import running_median, spans_where

# 15 % air: conductance 1/0.85 of the clean one.
LEAK_LOG = float(-np.log(0.85))


def find(ship: Ship, episodes: pd.DataFrame) -> pd.DataFrame:
    """Return the spans with too good a line."""
    rows = []
    line = ship.line
    if line.columns != "flow and suction":
        return found(rows)
    blocks = line.blocks
    for p, name in enumerate(ship.visits.points):
        series = blocks.median[:, p]
        good = np.isfinite(series)
        if good.sum() < 6:
            continue
        hours = blocks.hours[good] - blocks.width / 2
        smooth = running_median(series[good], 5)
        margin = max(LEAK_LOG, 4.0 * line.noise[p] / np.sqrt(4.0))
        for start, end in spans_where(hours, smooth >= margin, close=12.0, shortest=8.0):
            inside = (hours >= start) & (hours < end)
            air = 1.0 - np.exp(-float(np.median(smooth[inside])))
            rows.append(
                (
                    name,
                    start,
                    end,
                    0.9,
                    f"flow rose to more than the line's clean resistance allows: about {air:.0%} "
                    f"of what is drawn is air from a leak, {hours_text(start, end)}; readings are "
                    "too low by that share",
                    "Close the line at the far end: flow must stop; look for the joint that leaks.",
                )
            )
    return found(rows)


CONDITION = Condition("air_leak", "Air leaking into the line", find)
