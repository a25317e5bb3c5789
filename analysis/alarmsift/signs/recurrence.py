"""Recurrence: does this point alarm again and again with little to show for it?

Noise on a background near the setpoint, and a drifting zero at the points with the highest
background, raise many short alarms. Recurrence alone never speaks much against gas.

Columns: events. Measure: alarms of this point, gas and level within a day either way, this one
counted. Clearly present from 6, clearly absent for one alone, undecided at about four; it always
answers. Fooled by a leak that comes and goes with the ship's roll or the pump's work.
Source: common practice; chattering as in ANSI/ISA-18.2 (from memory), counted in visits.
"""

from alarmsift.evidence.sign import Sign, SignReading, Weight, graded
from alarmsift.evidence.windows import Windows


def read(w: Windows) -> SignReading:
    """Return alarms within 24 h either way."""
    count = w.episode["in_a_day"].to_numpy(float)
    return SignReading(graded(count, absent=1.5, present=6.0), count)


SIGN = Sign(
    key="recurrence",
    title="Alarms of this point in a day",
    needs=("events",),
    family="recurrence",
    unit="alarms",
    applies="alarm",
    read=read,
    weights=(
        Weight("tight_setpoint", 0, 0, "noise crosses again and again"),
        Weight("gas", -2, 0, "one leak, one alarm, as a rule"),
        Weight("spike", 0, 0, "disturbances are rare"),
        Weight("moisture", 0, 0, "one purge, one alarm, as a rule"),
    ),
    present="{m:.0f} alarms of this point within a day either way",
    absent="no other alarm of this point within a day",
)
