"""Shared zero: is the detector's own zero the largest part of the reading that alarmed?

All points and the reference point show the zero alike, so it can be measured without any one
point. When it is the largest part of the displayed value, the alarm is the detector's.

Columns: readings of at least three points. Measure: by how much the zero leads (or, negative,
trails) the largest other part, as a share of the reading. Clearly present from 0.1, clearly absent
to -0.05, undecided between; no data where no reading stands behind the alarm. Fooled by vapour
that stays at most points for a day, and by a display that never shows less than nought.
Source: the measuring model of the detector, common practice.
"""

from alarmsift.evidence.budget import budget
from alarmsift.evidence.sign import Sign, SignReading, Weight, graded
from alarmsift.evidence.windows import Windows


def read(w: Windows) -> SignReading:
    """Return the lead of the shared zero over the next largest part."""
    lead = budget(w).lead("zero")
    return SignReading(graded(lead, absent=-0.05, present=0.1), lead)


SIGN = Sign(
    key="shared_zero",
    title="Detector's shared zero in the reading",
    needs=("readings",),
    family="budget",
    unit="share",
    applies="alarm",
    read=read,
    weights=(
        Weight("zero_drift", 6.5, -5.5, "the largest part of the reading names the cause"),
        Weight("gas", -11.5, 0, "what the zero explains is not gas"),
        Weight("ambient_vapour", 0, 0, "slow and equal is the detector, gusty is the deck"),
        Weight("spike", -21.5, 0, "a walking zero needs no disturbance to alarm"),
        Weight("test_gas", 0, 0, "test gas stands far above any zero"),
    ),
    present="the detector's shared zero is the largest part of the reading (lead {m:.0%})",
    absent="the detector's shared zero is not the largest part of the reading",
)
