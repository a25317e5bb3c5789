"""Does the round go on while a point is in alarm, or does it stay there?"""

import numpy as np

from alarmsift.evidence.rule import Kept, Rule, Ruling, counted, met, not_decidable, not_met

ROUNDS = 2.0  # after a raise within which the other points must come again (CP)


def check(kept: Kept) -> Ruling:
    """Return whether other points were drawn in the two rounds after each gas alarm."""
    visits = kept.ship.visits
    alarms = kept.episodes[kept.episodes["kind"] == "alarm"]
    alarms = alarms[alarms["point"].isin(visits.points)]
    raised, drawn = visits.since(alarms["raised"]), visits.drawn
    last = float(visits.hours[-1]) if len(visits) else 0.0
    stood, went_on, silent = [], 0, 0
    for name, hour in zip(alarms["point"].astype(str), raised, strict=True):
        until = hour + ROUNDS * visits.cycle_hours
        point = visits.points.index(name)
        if until > last or len(visits.points) < 2:
            continue
        low, high = np.searchsorted(visits.hours, [hour + 1e-6, until], "right")
        seen = visits.point[low:high][drawn[low:high]]
        if (seen != point).any():
            went_on += 1
        elif len(seen) > ROUNDS:  # drawn again and again, and no other
            stood.append(name)
        else:
            silent += 1
    if stood:
        return not_met(stood, f"The round stood still after {counted(len(stood), 'gas alarm')}.")
    if not went_on:
        return not_decidable("No gas alarm with readings of other points after it is in the logs.")
    more = f"; after {silent} more there are no readings" if silent else ""
    return met(f"Other points were read after {counted(went_on, 'gas alarm')}{more}.")


RULE = Rule(
    key="scan_goes_on",
    title="The round goes on while a point is in alarm",
    source="IMO MSC.1/Circ.1370, 2.1.9",
    check=check,
)
