"""Cargo work: was cargo worked when it alarmed?

Vapour on deck comes from loading, discharging and gas-freeing, and hangs about for some hours.

Columns: operations with cargo rows. Measure: 1 during cargo work or within three hours after it,
else 0. Present for 1, absent for 0, never undecided; no data without cargo rows. Fooled by vapour
from another ship or the terminal, and by a leak during cargo work: it never speaks against gas.
Source: common practice.
"""

import numpy as np

from alarmsift.evidence.sign import Sign, SignReading, Weight, no_data
from alarmsift.evidence.windows import Windows


def read(w: Windows) -> SignReading:
    """Return whether cargo was worked."""
    ops = w.ship.operations
    if not len(ops.of("cargo_start", "cargo_end")):
        return no_data(len(w))
    active = ops.cargo.active(w.point, w.raised, lag=3.0)
    return SignReading(np.where(active, 1.0, -1.0), active.astype(float))


SIGN = Sign(
    key="cargo_work",
    title="Cargo work",
    needs=("operations: cargo rows",),
    family="cargo",
    unit="yes or no",
    applies="alarm",
    read=read,
    weights=(Weight("ambient_vapour", 0, -9, "vapour on deck comes from cargo work"),),
    present="cargo was being worked",
    absent="no cargo was being worked",
)
