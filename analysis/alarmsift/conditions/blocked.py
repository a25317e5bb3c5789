"""Blocked: a line has at least twice its clean resistance, and water does not explain it."""

import numpy as np
import pandas as pd

from alarmsift.evidence.choking import alarm_ahead, flow_left, fresh_share
from alarmsift.evidence.condition import Condition, found, hours_text
from alarmsift.evidence.poor_line import PoorSpan, poor_spans
from alarmsift.evidence.ship import Ship

# Above this many times its clean resistance a line is as good as shut, and the display's rounding
# says no more.
SHUT = 50.0


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
                _why(ship, span),
                "Compare its flow with the neighbouring line, then blow the line through.",
            )
        )
    return found(rows)


def _why(ship: Ship, span: PoorSpan) -> str:
    """Return what is known of the line: resistance, flow left, own air, the alarm to come."""
    start, end = span.choked
    if np.isnan(span.depth):
        return (
            f"low-flow alarms of this line alone, {hours_text(start, end)}; neither flow nor "
            "suction is logged"
        )
    parts = [f"{_resistance(ship.line.columns, span.depth)}, {hours_text(start, end)}"]
    left, fresh = flow_left(ship, span), fresh_share(ship, span)
    if left is not None:
        parts.append(f"{left:.0%} of the clean flow was left")
    if fresh is not None:
        parts.append(
            f"of what a visit draws {fresh:.0%} is fresh air from the space"
            if fresh > 0
            else "a visit ends before air of the space arrives, so the reading is of old air"
        )
    elif left is not None:
        parts.append(f"about {min(left, 1.0):.0%} of the usual own air reaches the detector")
    ahead = alarm_ahead(ship, span)
    if ahead is not None:
        parts.append(
            "at this rate the low-flow alarm comes between "
            f"{_days(ahead[0])} and {_days(ahead[1])} after the last reading"
        )
    return "; ".join(parts)


def _resistance(columns: str, depth: float) -> str:
    """Return what the line lost, by the columns that are logged."""
    times = float(np.exp(-depth))
    if columns == "suction":
        return f"the line took {times:.1f} times the suction of a clean line"
    if columns == "flow":
        return "the line lost flow that the others kept, as with twice its resistance or more"
    grown = f"rose to {times:.1f} times" if times < SHUT else f"rose to over {SHUT:g} times"
    return f"the line's resistance {grown} its clean value"


def _days(hours: float) -> str:
    return f"{hours:.0f} h" if hours < 48 else f"{hours / 24:.1f} days"


CONDITION = Condition("blocked", "Blocked line", find)
