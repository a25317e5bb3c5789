"""Many faults: did several points report low flow within the same hours?

A worn pump takes flow from all lines at once; water and blockages take it from one.

Columns: events. Measure: points with a flow fault within six hours either way, this one counted.
Clearly present from 6, clearly absent for one alone, undecided at four; it always answers.
Fooled by several spaces ballasted at once. Source: common practice.
"""

from alarmsift.evidence.sign import Sign, SignReading, Weight, graded
from alarmsift.evidence.windows import Windows


def read(w: Windows) -> SignReading:
    """Return the number of points with a fault at the time."""
    count = w.episode["fault_points"].to_numpy(float)
    return SignReading(graded(count, absent=1.5, present=6.0), count)


SIGN = Sign(
    key="many_faults",
    title="Points with flow faults at the time",
    needs=("events",),
    family="pump",
    unit="points",
    applies="fault",
    read=read,
    weights=(
        Weight("pump", 0, -13, "a worn pump takes flow from all lines"),
        Weight("blocked", -18, 4.5, "a blockage is in one line"),
        Weight("water", 0, 0, "water is in one line, or in the few being ballasted"),
    ),
    present="{m:.0f} points had a flow fault within six hours",
    absent="{m:.0f} point(s) had a flow fault within six hours",
)
