"""Equal rise: did all points rise alike, or each by its exposure?

Wet optics and a zero add the same to every reading; deck vapour adds much at exposed points and
little at others.

Columns: readings of four points. Measure: spread of the rises over their middle, or more where
the alarmed point rose unlike the others. Clearly present to 0.18, clearly absent from 0.36,
undecided between; no data unless three other points rose. Fooled by deck vapour so thick and even
that all points are exposed alike. Source: common practice.
"""

import numpy as np

from alarmsift.evidence.sign import Sign, SignReading, Weight, graded
from alarmsift.evidence.together import together
from alarmsift.evidence.windows import Windows


def read(w: Windows) -> SignReading:
    """Return the spread of the rises where three or more points rose."""
    seen = together(w)
    # Alike among themselves, and like the alarmed point.
    off = np.abs(np.log(np.maximum(seen.risen, 1e-3)))
    measure = np.fmax(seen.spread, np.where(off > 0.45, 0.6, 0.5 * off))
    measure = np.where(np.isfinite(seen.spread), measure, np.nan)
    return SignReading(graded(measure, absent=0.36, present=0.18), measure)


SIGN = Sign(
    key="equal_rise",
    title="All points alike",
    needs=("readings of four points",),
    family="equal",
    unit="spread over middle",
    applies="alarm",
    read=read,
    weights=(
        Weight("moisture", 8, -1, "wet optics add the same to every reading"),
        Weight("zero_drift", 19, 0, "a zero is the same at every point"),
        Weight("ambient_vapour", -13, 0, "exposure differs from point to point"),
    ),
    present="all points rose alike (spread {m:.0%})",
    absent="the points rose by different amounts (spread {m:.0%})",
)
