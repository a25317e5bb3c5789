"""Water: a column of water stands in the sample line.

Counted from 2 kPa of suction that the clean resistance does not explain. Needs flow and suction.
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
                f"the line took at least 2 kPa more suction than when clean, "
                f"{hours_text(start, end)}; the loss came at once",
                "Drain the trap and sound the tank; keep the line disconnected while it is full.",
            )
        )
    return found(rows)


CONDITION = Condition("water", "Water in the line", find)
