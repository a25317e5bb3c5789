"""Heavy sea: was the ship rolling hard enough to throw water at the probe?

Columns: operations with sea_state rows. Measure: 1 from sea state 6 (common practice, no source).
"""

import numpy as np

from alarmsift.evidence.sign import Sign, SignReading, Weight, no_data
from alarmsift.evidence.windows import Windows


def read(w: Windows) -> SignReading:
    """Return whether the last logged sea state was heavy."""
    ops = w.ship.operations
    if not len(ops.of("sea_state")):
        return no_data(len(w))
    heavy = ops.heavy_sea.active(w.point, w.raised, lag=6.0)
    return SignReading(np.where(heavy, 1.0, -0.5), heavy.astype(float))


SIGN = Sign(
    key="heavy_sea",
    title="Heavy sea",
    needs=("operations: sea_state",),
    family="water",
    unit="yes or no",
    applies="both",
    read=read,
    weights=(Weight("water", 9, 0, "slugs reach the probe when the ship rolls"),),
    present="the sea was heavy",
    absent="the sea was not logged as heavy",
)
