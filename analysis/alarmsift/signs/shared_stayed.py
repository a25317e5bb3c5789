"""Shared part stayed: did what all points share come at once, and stand until somebody adjusted?

A zero that stepped (adjusted on dirty air, a knock, a new sensor) keeps its new level and ends in
one round, when it is set right, written down or not; wet optics come as fast, but dry over one to
a few hours, and deck vapour blows away.

Columns: readings of at least three points. Measure: share left one and a half to four hours after
the alarm. Clearly present from 0.9 and clearly absent to 0.7, where it came within three quarters
of an hour and did not fall over some rounds; absent where it fell over some rounds by itself; no
data where it came slower, or it was adjusted before. Fooled by a heater that stays off, where
somebody adjusts the wet detector. Source: common practice.
"""

import numpy as np

from alarmsift.evidence.shared_course import STEP_HOURS, shared_course
from alarmsift.evidence.sign import Sign, SignReading, Weight, graded
from alarmsift.evidence.windows import Windows

# What came within this many hours came at once.
AT_ONCE_HOURS = 0.75
# What falls over several rounds within this many hours dried by itself [h].
DRIES_WITHIN = 12.0


def read(w: Windows) -> SignReading:
    """Return the share that stayed."""
    course = shared_course(w)
    step = max(STEP_HOURS, w.ship.visits.cycle_hours)
    at_once = course.came <= max(AT_ONCE_HOURS, 1.01 * step)
    by_hand = (course.went <= 1.01 * step) | course.adjusted
    by_itself = ~by_hand & (course.went <= DRIES_WITHIN)
    strength = graded(course.kept, absent=0.7, present=0.9)
    strength = np.where(by_itself, np.fmin(strength, -1.0), strength)
    return SignReading(np.where(at_once, strength, np.nan), course.kept)


SIGN = Sign(
    key="shared_stayed",
    title="Whether what all points share came at once and stayed",
    needs=("readings of three points",),
    family="zero_speed",
    unit="share left",
    applies="alarm",
    read=read,
    weights=(
        Weight("zero_drift", 14, 0, "a zero that stepped stays until somebody adjusts it"),
        Weight("moisture", -8, 0, "wet optics dry over hours"),
    ),
    present="what all points share came at once and stayed ({m:.0%} left hours later)",
    absent="what all points share came at once and did not stay ({m:.0%} left hours later)",
)
