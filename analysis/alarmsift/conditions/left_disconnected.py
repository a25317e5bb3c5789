"""Left disconnected: the space is empty again and its line was not put back."""

import numpy as np
import pandas as pd

from alarmsift.evidence.condition import Condition, found, hours_text
from alarmsift.evidence.ship import Ship

# Reconnecting takes an hour or two after the tank is empty; longer is forgotten (CP).
GRACE_HOURS = 3.0
# A line off with no ballast movement within this time was not taken off for ballast (CP).
NO_FILL_HOURS = 24.0


def find(ship: Ship, episodes: pd.DataFrame) -> pd.DataFrame:
    """Return the spans in which a disconnected line's space was empty."""
    rows = []
    visits, ops = ship.visits, ship.operations
    if not ops.logged or not len(visits):
        return found(rows)
    empty = ops.of("ballast_discharge_end")
    fills = ops.of("ballast_fill_start", "ballast_fill_end", "ballast_discharge_start")
    last = float(visits.hours[-1])
    spans = ops.disconnected
    for p, off, on in zip(spans.point, spans.start, spans.end, strict=True):
        if p < 0:
            continue
        back = _back_on(ship, p, off, on)
        mine = empty.loc[(empty["point"] == p), "hours"].to_numpy(float)
        mine = mine[(mine > off) & (mine < min(back, last))]
        filled = fills.loc[fills["point"] == p, "hours"].to_numpy(float)
        around = ((filled > off - 6.0) & (filled < min(off + NO_FILL_HOURS, back))).any()
        start = float(mine[-1]) if len(mine) else (off if not around else np.inf)
        if min(back, last) - start < GRACE_HOURS:
            continue
        words = (
            "the space was logged empty"
            if len(mine)
            else "the line was taken off with no ballast movement"
        )
        rows.append(
            (
                visits.points[p],
                start,
                back,
                0.95,
                f"{words} and the line was not put back, {hours_text(start, back)}",
                "Reconnect the line and watch its first visits for water.",
            )
        )
    return found(rows)


def _back_on(ship: Ship, p: int, off: float, on: float) -> float:
    """Return when readings came back, whatever the log says of reconnecting."""
    visits = ship.visits
    mine = visits.of(p)
    mine = mine[visits.valid[mine] & (visits.hours[mine] > off + 2 * visits.cycle_hours)]
    first = float(visits.hours[mine[0]]) if len(mine) else np.inf
    return min(first, on) if np.isfinite(first) else np.inf


CONDITION = Condition("left_disconnected", "Left disconnected", find)
