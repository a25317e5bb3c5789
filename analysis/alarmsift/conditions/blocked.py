"""Blocked: a line has at least twice its clean resistance, and water does not explain it."""

import numpy as np
import pandas as pd

from alarmsift.evidence.condition import Condition, found, hours_text
from alarmsift.evidence.poor_line import poor_spans
from alarmsift.evidence.ship import Ship


def find(ship: Ship, episodes: pd.DataFrame) -> pd.DataFrame:
    """Return the spans with a blocked line."""
    rows: list[tuple[str, float, float, float, str, str]] = []
    for span in poor_spans(ship):
        start, end = span.choked
        if span.water > 0 or np.isnan(start):
            continue
        rows.append(
            (
                ship.visits.points[span.point],
                start,
                end,
                1.0 / (1.0 + 10 ** (span.water / 10)),
                f"the line's resistance rose to {np.exp(-span.depth):.1f} times its clean value, "
                f"{hours_text(start, end)}",
                "Compare its flow with the neighbouring line, then blow the line through.",
            )
        )
    return found(rows)


CONDITION = Condition("blocked", "Blocked line", find)
