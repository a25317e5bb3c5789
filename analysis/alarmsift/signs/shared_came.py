"""Shared part came: within how long did what all points share come up?

Wet optics and deck vapour come within an hour or two; a zero walks over days, and with the day's
heat over half a day.

Columns: readings of at least three points. Measure: hours that the shared part took from a quarter
to three quarters of its height at the alarm, looked at eight days back. Clearly present (fast) to
1.5 h, clearly absent (slow) from 4 h, undecided at about two and a half; no data where the shared
part is under 0.35 of the reading. Fooled by a zero adjusted on dirty air, which steps. Source: a
sine takes a sixth of its period from a quarter to three quarters of its height (4 h of a day).
"""

import numpy as np

from alarmsift.evidence.shared_course import shared_course
from alarmsift.evidence.sign import Sign, SignReading, Weight, graded
from alarmsift.evidence.windows import Windows


def read(w: Windows) -> SignReading:
    """Return the hours of its rise."""
    hours = shared_course(w).came
    return SignReading(graded(np.minimum(hours, 200.0), absent=4.0, present=1.5), hours)


SIGN = Sign(
    key="shared_came",
    title="How what all points share came up",
    needs=("readings of three points",),
    family="zero_speed",
    unit="h",
    applies="alarm",
    read=read,
    weights=(
        Weight("moisture", 2.5, -5, "wet optics jump"),
        Weight("zero_drift", -3, 2.5, "a zero walks over days"),
        Weight("ambient_vapour", 1.5, -4, "deck vapour comes within the hour"),
    ),
    present="what all points share came up within {m:.1f} h",
    absent="what all points share took {m:.0f} h or more to come up",
)
