"""Does the lowest HC alarm of every cargo pump-room lie at 10 %LFL or under?"""

from alarmsift.evidence.lowest_setpoint import lowest_setpoints, under_ceiling
from alarmsift.evidence.rule import NOT_MET, Kept, Rule, Ruling

CEILING, OLDER = 10.0, 30.0  # %LFL


def check(kept: Kept) -> Ruling:
    """Return whether every point in a pump-room alarms in time."""
    lowest = lowest_setpoints(kept.ship, pump_rooms=True)
    ruling = under_ceiling(lowest, CEILING, nowhere="no point is known to be in a pump-room")
    if ruling.outcome == NOT_MET and (lowest["value"].dropna() <= OLDER).all():
        why = f"{ruling.why} A system fitted earlier may have been accepted at up to 30 %LFL."
        return Ruling(ruling.outcome, ruling.where, why)
    return ruling


RULE = Rule(
    key="pump_room_setpoint",
    title="The HC alarm of a cargo pump-room is set at 10 %LFL or under",
    source="SOLAS II-2/4.5.10",
    check=check,
)
