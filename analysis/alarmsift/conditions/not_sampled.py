"""Not sampled: a point without a valid reading for longer than the cycle limit, without a reason.

Source of the limit: each line at least every 30 min, IMO MSC.1/Circ.1370, 2.1.2.
"""

import numpy as np
import pandas as pd

from alarmsift.evidence.condition import Condition, found, hours_text
from alarmsift.evidence.ship import Ship
from alarmsift.timeline.coverage import explain_gaps, raw_gaps

# One missed turn is a hiccup; a silent failure misses several (CP).
MISSED_TURNS = 2.5


def find(ship: Ship, episodes: pd.DataFrame) -> pd.DataFrame:
    """Return the unexplained gaps of single points."""
    visits = ship.visits
    rows = []
    if not len(visits):
        return found(rows)
    limit = ship.logs.site.cycle_limit_min / 60.0
    gaps = raw_gaps(visits, max(limit, MISSED_TURNS * visits.cycle_hours))
    reason = explain_gaps(gaps, ship.logs, visits, ship.operations)
    last = float(visits.hours[-1])
    mine = gaps[reason == "not_sampled"]
    for p, start, end in mine.itertuples(index=False):
        stop = np.inf if end >= last - 1e-9 else float(end)
        rows.append(
            (
                visits.points[int(p)],
                float(start),
                stop,
                0.9,
                f"no valid reading while other points were sampled, {hours_text(start, stop)}",
                "See at the cabinet whether the point is in the scan and its valve opens.",
            )
        )
    return found(rows)


CONDITION = Condition("not_sampled", "Not sampled", find)
