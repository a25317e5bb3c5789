"""Not sampled: a point without a valid reading for longer than the cycle limit, without a reason.

Source of the limit: each line at least every 30 min, IMO MSC.1/Circ.1370, 2.1.2.
"""

import numpy as np
import pandas as pd

from alarmsift.evidence.condition import Condition, found, hours_text
from alarmsift.evidence.ship import Ship
from alarmsift.evidence.single_gaps import single_gaps, stopped_gaps
from alarmsift.timeline.never_read import never_read, whole_span

IN_THE_SCAN = "See at the cabinet whether the point is in the scan and its valve opens."
NEVER = (
    "the points table has it, but no reading ever came: it is off the scan, or the readings write "
    "its name otherwise"
)


def find(ship: Ship, episodes: pd.DataFrame) -> pd.DataFrame:
    """Return the unexplained gaps of single points."""
    gaps = single_gaps(ship, episodes)
    never = never_read(ship.logs, ship.visits)
    return found(
        [(name, whole_span(ship.visits)[0], np.inf, 0.9, NEVER, IN_THE_SCAN) for name in never]
        + [
            (
                ship.visits.points[int(p)],
                float(start),
                float(end),
                0.9,
                f"no valid reading while other points were sampled, {hours_text(start, end)}",
                IN_THE_SCAN,
            )
            for p, start, end, silenced in gaps.itertuples(index=False)
            if not silenced
        ]
        + [
            (
                ship.visits.points[int(p)],
                float(start),
                float(end),
                0.9,
                f"the whole analyser stood still, {hours_text(start, end)}",
                "Ask why the analyser stood, and how the spaces were watched meanwhile.",
            )
            for p, start, end in stopped_gaps(ship).itertuples(index=False)
        ]
    )


CONDITION = Condition("not_sampled", "Not sampled", find)
