"""Reference point: did the point that always draws clean air rise as well?

If it did, the alarm is not of the space: deck vapour at the cabinet's intake, or the detector
itself.

Columns: readings of a reference point. Measure: its rise as a share of the alarmed point's.
Clearly present from 0.3, clearly absent to 0.08, undecided at about a fifth; no data without a
reference point. Fooled by carry-over from the last point of the round into the reference point.
Source: common practice.
"""

from alarmsift.evidence.sign import Sign, SignReading, Weight, graded
from alarmsift.evidence.together import together
from alarmsift.evidence.windows import Windows


def read(w: Windows) -> SignReading:
    """Return the reference point's rise over the alarmed point's."""
    ratio = together(w).reference
    return SignReading(graded(ratio, absent=0.08, present=0.3), ratio)


SIGN = Sign(
    key="reference_rose",
    title="The reference point at the same time",
    needs=("readings of a reference point",),
    family="together",
    unit="share",
    applies="alarm",
    read=read,
    weights=(
        Weight("ambient_vapour", 4, -13, "deck vapour reaches the cabinet too"),
        Weight("moisture", 0, 0, "wet optics show on clean air too"),
        Weight("gas", -1.5, 0, "the reference point draws from no space"),
        Weight("spike", 0, 0, "a disturbance hits one visit"),
    ),
    present="the reference point rose too ({m:.0%} as much)",
    absent="the reference point stayed at rest",
)
