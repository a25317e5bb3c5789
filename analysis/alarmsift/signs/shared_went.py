"""Shared part went: did what all points share go again fast, with nobody adjusting?

Wet optics dry within hours once the heater runs again, whether they were wet for an hour or for
two days; a zero stays where it walked to until somebody adjusts it.

Columns: readings of at least three points; operations with zero and span rows make it surer.
Measure: hours that the shared part took to fall from three quarters to a quarter of its height at
the alarm, looked at four days ahead. Clearly present to 3 h with nobody adjusting, clearly absent
from 6 h, where it did not fall, or where the detector was adjusted; no data where it fell within
one step and there is no operations log (an adjustment that nobody wrote down), or the logs end
first. Fooled by an adjustment that was not written down. Source: common practice.
"""

import numpy as np

from alarmsift.evidence.shared_course import STEP_HOURS, shared_course
from alarmsift.evidence.sign import Sign, SignReading, Weight, graded
from alarmsift.evidence.windows import Windows


def read(w: Windows) -> SignReading:
    """Return the hours of its fall."""
    course = shared_course(w)
    strength = graded(np.minimum(course.went, 200.0), absent=6.0, present=3.0)
    strength = np.where(course.adjusted & np.isfinite(course.went), -1.0, strength)
    sudden = course.went <= 1.01 * max(STEP_HOURS, w.ship.visits.cycle_hours)
    # A fall within one step looks like an adjustment: a little less sure with a log, not without.
    strength = np.where(
        sudden & ~course.adjusted, 0.4 if w.ship.operations.logged else np.nan, strength
    )
    return SignReading(strength, course.went)


SIGN = Sign(
    key="shared_went",
    title="How what all points share went again",
    needs=("readings of three points",),
    family="zero_speed",
    unit="h",
    applies="alarm",
    read=read,
    weights=(
        Weight("moisture", 9, -3, "wet optics dry by themselves"),
        Weight("zero_drift", -4, 4, "a zero stays until somebody adjusts it"),
        Weight("ambient_vapour", 3.5, -3, "deck vapour blows away"),
    ),
    present="what all points share went again within {m:.1f} h by itself",
    absent="what all points share did not go by itself",
)
