"""Water: a column of water stands in the sample line.

Counted from 2 kPa of suction that the clean resistance does not explain; with one of flow and
suction logged, from the loss that this makes; with neither, from the low-flow alarms.
"""

import numpy as np
import pandas as pd

from alarmsift.evidence.condition import Condition, found, hours_text
from alarmsift.evidence.poor_line import poor_spans
from alarmsift.evidence.ship import Ship


def find(ship: Ship, episodes: pd.DataFrame) -> pd.DataFrame:
    """Return the spans with water in a line."""
    rows: list[tuple[str, float, float, float, str, str]] = []
    for span in poor_spans(ship):
        start, end = span.wet
        if span.water <= 0 or np.isnan(start):
            continue
        rows.append(
            (
                ship.visits.points[span.point],
                start,
                end,
                1.0 / (1.0 + 10 ** (-span.water / 10)),
                f"{_measure(ship.line.columns)}, {hours_text(start, end)}; how it came speaks for "
                "water",
                "Drain the trap and sound the tank; keep the line disconnected while it is full.",
            )
        )
    return found(rows)


def _measure(columns: str) -> str:
    """Return what was seen of the line, by the columns that are logged."""
    return {
        "flow and suction": "the line took at least 2 kPa more suction than when clean",
        "flow": "the line lost flow that the others kept",
        "suction": "the line took more suction than when clean",
    }.get(columns, "low-flow alarms of this line alone")


CONDITION = Condition("water", "Water in the line", find)
