"""Points together: did other points rise with it?

Vapour drawn in from the deck and a detector with wet optics show at several points within the
hour; a leak into one space does not.

Columns: readings of at least four points. Measure: share of the other points that rose. Clearly
present from 0.45, clearly absent to 0.2, undecided at about a third; no data with fewer than three
other points. Fooled by a cargo operation that happens during a leak. Source: common practice.
"""

from alarmsift.evidence.sign import Sign, SignReading, Weight, graded
from alarmsift.evidence.together import together
from alarmsift.evidence.windows import Windows


def read(w: Windows) -> SignReading:
    """Return the share of the other points that rose."""
    share = together(w).share
    return SignReading(graded(share, absent=0.2, present=0.45), share)


SIGN = Sign(
    key="points_together",
    title="Other points at the same time",
    needs=("readings of four points",),
    family="together",
    unit="share",
    applies="alarm",
    read=read,
    weights=(
        Weight("ambient_vapour", 0, -11, "deck vapour reaches several points"),
        Weight("gas", -8, 0, "a leak is into one space"),
        Weight("spike", -1.5, 0, "a disturbance lasts one visit, at one point"),
        Weight("water", 0, 6.5, "water is in one line"),
        Weight("blocked", -18.5, 4, "a blockage is in one line"),
        Weight("tight_setpoint", -13, 0, "a background is in one space"),
        Weight("test_gas", -13, 0, "a test shows at the points in turn only"),
        Weight("carry_over", -4, 0, "carry-over shows at the next point only"),
    ),
    present="{m:.0%} of the other points rose with it",
    absent="the other points stayed at rest ({m:.0%} rose)",
)
