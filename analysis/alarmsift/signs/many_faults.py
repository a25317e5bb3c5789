"""Many faults: did several points report low flow within the same hours?

Columns: events. Measure: points with a flow fault within six hours either way. Source: common
practice.
"""

from alarmsift.evidence.sign import Sign, SignReading, Weight, graded
from alarmsift.evidence.windows import Windows


def read(w: Windows) -> SignReading:
    """Return the number of points with a fault at the time."""
    count = w.episode["fault_points"].to_numpy(float)
    few = max(3.0, 0.25 * len(w.ship.visits.points))
    return SignReading(graded(count, absent=2.0, present=few + 1.0), count)


SIGN = Sign(
    key="many_faults",
    title="Points with flow faults at the time",
    needs=("events",),
    family="pump",
    unit="points",
    applies="fault",
    read=read,
    weights=(
        Weight("pump", 16, -11.5, "a worn pump takes flow from all lines"),
        Weight("blocked", -6, 0, "a blockage is in one line"),
        Weight("water", -6, 0, "several spaces can be ballasted at once"),
    ),
    present="{m:.0f} points had a flow fault within six hours",
    absent="{m:.0f} point(s) had a flow fault within six hours",
)
