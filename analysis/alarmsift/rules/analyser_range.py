"""Does the HC analyser measure up to twice the setpoint?"""

import numpy as np

from alarmsift.evidence.lowest_setpoint import lowest_setpoints
from alarmsift.evidence.rule import Kept, Rule, Ruling, met, not_decidable, not_met
from alarmsift.timeline.visits import OK, OVER, TEST

TIMES = 2.0


def check(kept: Kept) -> Ruling:
    """Return whether readings, in service or in a test, went as far as twice the setpoint."""
    visits = kept.ship.visits
    lowest = lowest_setpoints(kept.ship, pump_rooms=False)["value"].dropna()
    if "HC" not in visits.gases or not len(lowest):
        return not_decidable("No HC setpoint is written down.")
    asked = TIMES * float(lowest.max())
    raw, status = visits.raw["HC"], visits.status["HC"]
    over = np.isfinite(raw) & (status == OVER)
    # An over-range row shows the top of the display or more.
    top = float(raw[over].min()) if over.any() else np.inf
    good = raw[np.isin(status, (OK, TEST)) & np.isfinite(raw)]
    best = float(good.max()) if len(good) else 0.0
    if top < asked and best < asked:
        return not_met(["detector HC"], f"It was over range at {top:g} %LFL; {asked:g} are asked.")
    if best >= asked:
        return met(f"A reading of {best:g} %LFL stands in the logs; {asked:g} are asked.")
    return not_decidable(f"No reading came near {asked:g} %LFL, twice the setpoint.")


RULE = Rule(
    key="analyser_range",
    title="The HC analyser measures up to twice the setpoint",
    source="IMO MSC.1/Circ.1370, 2.2.1",
    check=check,
)
