"""Is the air inside the analyser's cabinet watched?"""

import numpy as np

from alarmsift.evidence.rule import Kept, Rule, Ruling, met, not_decidable, not_met
from alarmsift.timeline.kinds import kinds_of


def check(kept: Kept) -> Ruling:
    """Return whether a cabinet's point is read; a detector outside the round would not show."""
    ship, visits = kept.ship, kept.ship.visits
    kind = kinds_of(visits.points, ship.logs.points)
    read = [
        name
        for p, name in enumerate(visits.points)
        if kind[p] == "cabinet" and np.any(visits.drawn[visits.of(p)])
    ]
    listed = ship.logs.points
    listed = listed[listed["kind"].astype(object) == "cabinet"]["point"].astype(str)
    unread = [name for name in listed if name not in read]
    if unread:
        return not_met(unread, "The cabinet's point is in the table of points and never read.")
    if read:
        return met(f"{', '.join(read)} is read in the round.")
    return not_decidable("No point in the logs is the cabinet's; it may have its own detector.")


RULE = Rule(
    key="cabinet_air",
    title="The air inside the analyser's cabinet is watched",
    source="IMO MSC.1/Circ.1370, 3.2.3",
    check=check,
)
