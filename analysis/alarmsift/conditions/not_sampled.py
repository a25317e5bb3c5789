"""Not sampled: a point without a valid reading for longer than the cycle limit, without a reason.

Source of the limit: each line at least every 30 min, IMO MSC.1/Circ.1370, 2.1.2.
"""

import pandas as pd

from alarmsift.evidence.condition import Condition, found, hours_text
from alarmsift.evidence.ship import Ship
from alarmsift.evidence.single_gaps import single_gaps


def find(ship: Ship, episodes: pd.DataFrame) -> pd.DataFrame:
    """Return the unexplained gaps of single points."""
    gaps = single_gaps(ship, episodes)
    return found(
        [
            (
                ship.visits.points[int(p)],
                float(start),
                float(end),
                0.9,
                f"no valid reading while other points were sampled, {hours_text(start, end)}",
                "See at the cabinet whether the point is in the scan and its valve opens.",
            )
            for p, start, end, silenced in gaps.itertuples(index=False)
            if not silenced
        ]
    )


CONDITION = Condition("not_sampled", "Not sampled", find)
