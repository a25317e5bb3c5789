"""Long flat: was the level at which it alarmed kept for days?

A harmless background stays at its level for days on end; a leak builds up, and dies away when its
source stops or the space is ventilated.

Columns: readings over several days. Measure: hours for which the point's block medians stayed near
that level, before and after together; a level found again after a gap or under something higher
was kept. Clearly present from 110 h, clearly absent to 10 h,
undecided at about two and a half days; no data where the reading is under 0.45 of the way to the
setpoint. Fooled by a steady leak into a steadily ventilated space, which is flat too (see
``new_level``), and by logs too short to show five days. Source: common practice.
"""

import numpy as np

from alarmsift.evidence.flat import flat_hours, flat_level
from alarmsift.evidence.sign import Sign, SignReading, Weight, graded
from alarmsift.evidence.windows import Windows


def read(w: Windows) -> SignReading:
    """Return the hours of the level, where it is at least half of the way to the setpoint."""
    hours = flat_hours(w)
    turn = np.where(w.rising, 1.0, -1.0)
    nominal = np.where(w.gas == "O2", 20.9, 0.0)
    way = np.abs(w.setpoint - nominal)
    level = turn * (w.value - nominal - w.zero)
    high = np.nan_to_num(level / np.maximum(way, 1e-9), nan=1.0) > 0.45
    # A level that the hours around do not share is no level.
    shared = flat_level(w) > 0.5 * level
    measure = np.where(high, np.where(shared, hours, 0.0), np.nan)
    return SignReading(graded(measure, absent=10.0, present=110.0), measure)


SIGN = Sign(
    key="long_flat",
    title="How long the level was kept",
    needs=("readings",),
    family="flat",
    unit="h",
    applies="alarm",
    read=read,
    weights=(
        Weight("tight_setpoint", 15.5, -8, "a background stays for days"),
        Weight("gas", -8.5, 0, "a leak builds up and dies away"),
        Weight("ambient_vapour", -13.5, 6.5, "deck vapour lasts an hour or two"),
        Weight("moisture", 0, 0, "condensate dries within hours"),
        Weight("spike", -13.5, 0, "a disturbance lasts one visit"),
        Weight("test_gas", -9, 0, "a test lasts minutes"),
    ),
    present="the point kept this level for {m:.0f} h",
    absent="the point kept this level for {m:.0f} h only",
)
