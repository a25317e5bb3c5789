"""Equal rise: did all points rise alike, or each by its exposure?

Wet optics add the same to every reading; deck vapour adds much at exposed points and little at
others. Asked only where several points rose. Columns: readings of four points. Measure: spread of
the rises over their middle. Source: common practice.
"""

import numpy as np

from alarmsift.evidence.sign import Sign, SignReading, Weight, graded
from alarmsift.evidence.together import together
from alarmsift.evidence.windows import Windows


def read(w: Windows) -> SignReading:
    """Return the spread of the rises where at least a third of the points rose."""
    seen = together(w)
    spread = np.where(seen.share >= 0.34, seen.spread, np.nan)
    alike = np.where(seen.middle > 0.55, spread, np.maximum(spread, 0.6))
    measure = np.where(np.isfinite(spread), alike, np.nan)
    return SignReading(graded(measure, absent=0.5, present=0.18), measure)


SIGN = Sign(
    key="equal_rise",
    title="All points alike",
    needs=("readings of four points",),
    family="equal",
    unit="spread over middle",
    applies="alarm",
    read=read,
    weights=(
        Weight("moisture", 14, -10, "wet optics add the same to every reading"),
        Weight("zero_drift", 4, 0, "a zero is the same at every point"),
        Weight("ambient_vapour", -20, 5, "exposure differs from point to point"),
    ),
    present="all points rose alike (spread {m:.0%})",
    absent="the points rose by different amounts (spread {m:.0%})",
)
