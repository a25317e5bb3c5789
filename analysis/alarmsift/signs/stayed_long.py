"""Stayed long: did it last for many hours?

Gas and a background stay for as long as their source does; deck vapour is gone within an hour or
two, condensate within a few hours, tests and disturbances at once.

Columns: readings. Measure: hours of the unbroken excursion, from its first visit to its last (as
far as the window reaches). Clearly present from 6.5 h, clearly absent to 2 h, undecided at about
four and a quarter; no data where the excess is not clear of the noise. Fooled by gas that is
ventilated away quickly, and by logs that end during the alarm.
Source: V dC/dt = S - Q C (well-mixed space, ACGIH Industrial Ventilation, from memory).
"""

import numpy as np

from alarmsift.evidence.shape import clear_excess, run_of
from alarmsift.evidence.sign import Sign, SignReading, Weight, graded
from alarmsift.evidence.windows import Windows


def read(w: Windows) -> SignReading:
    """Return the hours of the excursion."""
    run = run_of(w)
    measure = np.where(clear_excess(w), run.hours, np.nan)
    return SignReading(graded(measure, absent=2.0, present=6.5), measure, run.first, run.last)


SIGN = Sign(
    key="stayed_long",
    title="Hours in a row",
    needs=("readings",),
    family="shape",
    unit="h",
    applies="alarm",
    read=read,
    weights=(
        Weight("gas", 0, -19.5, "gas stays until the source stops"),
        Weight("tight_setpoint", 0, 0, "a background stays for days"),
        Weight("ambient_vapour", -8, 2.5, "deck vapour is gone within an hour or two"),
        Weight("moisture", -14, 0, "condensate dries within a few hours"),
        Weight("water", -10, 0, "wet readings jump about: they break the run"),
    ),
    present="stayed for {m:.0f} h",
    absent="lasted for {m:.1f} h",
)
