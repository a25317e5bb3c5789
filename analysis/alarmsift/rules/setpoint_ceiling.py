"""Does the lowest HC alarm of every space lie at 30 %LFL or under?

Pump-rooms have a rule of their own. A second level may lie higher.
"""

from alarmsift.evidence.lowest_setpoint import lowest_setpoints, under_ceiling
from alarmsift.evidence.rule import Kept, Rule, Ruling

CEILING = 30.0  # %LFL


def check(kept: Kept) -> Ruling:
    """Return whether every point that is not in a pump-room alarms in time."""
    lowest = lowest_setpoints(kept.ship, pump_rooms=False)
    return under_ceiling(lowest, CEILING, nowhere="no such point is in the logs")


RULE = Rule(
    key="setpoint_ceiling",
    title="The HC alarm is set at 30 %LFL or under",
    source="IMO FSS Code chapter 16; MSC.1/Circ.1370, 1.2.1",
    check=check,
)
