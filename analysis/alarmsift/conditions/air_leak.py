"""Air leak: air enters the line behind the probe, and every reading is diluted.

The leak adds flow at the same suction, so the line looks better than clean: counted from 15 % air.
How much better depends on where the joint is: near the analyser the conductance is 1/0.85 of the
clean one, near the probe it stays as it was and nothing shows here. So what shows is the least that
is drawn in.
"""

import numpy as np
import pandas as pd

from alarmsift.evidence.condition import Condition, found, hours_text
from alarmsift.evidence.ship import Ship
from alarmsift.evidence.too_good import too_good

# Where so much shows, it is over 15 % for sure; less may be a small leak near the analyser (CP).
SURE_SHARE, SURE, LEAST = 0.15, 0.9, 0.6
# Less than this may be scale that came off or the gauge: no word of it (CP) [-].
SHOWN_SHARE = 0.05


def find(ship: Ship, episodes: pd.DataFrame) -> pd.DataFrame:
    """Return the spans with too good a line."""
    rows: list[tuple[str, float, float, float, str, str]] = []
    if ship.line.columns == "none":
        return found(rows)
    for point, start, end, rise in too_good(ship):
        air = -float(np.expm1(-rise))
        if air < SHOWN_SHARE:
            continue
        rows.append(
            (
                ship.visits.points[point],
                start,
                end,
                SURE if air > SURE_SHARE else LEAST + (SURE - LEAST) * air / SURE_SHARE,
                "more flow than the line's clean resistance allows: at least "
                f"{air:.0%} of what is drawn is air from a leak, {hours_text(start, end)}; "
                "readings are too low by that share, or by more the nearer the joint is to the "
                "probe",
                "Close the line at the far end: flow must stop; look for the joint that leaks.",
            )
        )
    return found(rows)


CONDITION = Condition("air_leak", "Air leaking into the line", find)
