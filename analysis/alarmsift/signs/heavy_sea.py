"""Heavy sea: was the ship rolling hard enough to throw water at the probe?

Water sloshing in a bilge or a part-filled tank reaches probes that it lies well below at rest.

Columns: operations with sea_state rows. Measure: 1 while a sea state of 6 or more was logged and
for six hours after, else 0. Present for 1, absent (half as surely) for 0, never undecided; no data
without sea_state rows. Fooled by a swell on the beam that nobody calls heavy.
Source: common practice, no source.
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
    weights=(Weight("water", 2, 0, "slugs reach the probe when the ship rolls"),),
    present="the sea was heavy",
    absent="the sea was not logged as heavy",
)
