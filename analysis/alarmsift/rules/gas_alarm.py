"""Did every reading over a setpoint raise its alarm?"""

from alarmsift.evidence.due_alarms import due_alarms
from alarmsift.evidence.rule import Kept, Rule, Ruling, counted, met, not_decidable, not_met


def check(kept: Kept) -> Ruling:
    """Return whether alarms that were due came; a lone reading may be a lost row of the list."""
    if not len(kept.ship.logs.events):
        return not_decidable("The logs hold no alarm list.")
    due = due_alarms(kept.ship, kept.laid_out)
    missed = [one.point for one in due for _, _, readings, _ in one.missed if readings > 1]
    if missed:
        return not_met(
            missed, f"{counted(len(missed), 'time')} readings over a setpoint raised no alarm."
        )
    if any(one.missed for one in due):
        return not_decidable("Single readings over a setpoint have no alarm; rows may be lost.")
    known = {(one.point, one.gas, one.level) for one in due}
    alarms = kept.episodes[kept.episodes["kind"] == "alarm"]
    keys = zip(alarms["point"], alarms["gas"], alarms["level"], strict=True)
    came = sum(key in known for key in keys)
    if not came:
        return not_decidable("No reading went over a setpoint that is written down.")
    return met(
        f"{counted(came, 'alarm')} came where the setpoint asks for one, and none is missing."
    )


RULE = Rule(
    key="gas_alarm",
    title="Gas over a setpoint raises an alarm",
    source="IMO MSC.1/Circ.1370, 3.2.1",
    check=check,
)
