"""Is every point read at least every 30 minutes while it is in the round?

Not held against it here: lines taken off, stops and calibrations, which are `unwatched`'s business.
"""

import numpy as np

from alarmsift.evidence.rule import Kept, Rule, Ruling, counted, met, not_decidable, not_met

INTERVAL_HOURS = 0.5
ROUNDED = 1.02  # clocks of scan and log are rounded (CP) [-]
FEWEST_VISITS = 3


def check(kept: Kept) -> Ruling:
    """Return whether rounds took at most half an hour."""
    visits, slow, few = kept.ship.visits, {}, []
    for p, name in enumerate(visits.points):
        mine = visits.of(p)
        step = np.diff(visits.hours[mine[visits.drawn[mine]]])
        if len(step) < FEWEST_VISITS - 1:
            few.append(name)
        elif np.median(step) > INTERVAL_HOURS * ROUNDED:
            slow[name] = float(np.median(step)) * 60.0
    rounds = kept.coverage[kept.coverage["reason"] == "slow_cycle"]
    longest = max([*slow.values(), *rounds["minutes"].astype(float)], default=0.0)
    where = [*slow, *rounds["point"].astype(str)]
    if where:
        return not_met(
            where, f"Rounds took over 30 minutes, the longest stretch {longest:.0f} minutes."
        )
    if few or not visits.points:
        return not_decidable(f"Too few readings at {counted(len(few), 'point')} to tell a round.")
    return met(f"The middle round takes {visits.cycle_hours * 60:.0f} minutes, none too long.")


RULE = Rule(
    key="scan_interval",
    title="Each line is analysed at least every 30 minutes",
    source="IMO MSC.1/Circ.1370, 2.1.2; FSS Code chapter 16",
    check=check,
)
