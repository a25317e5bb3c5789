"""Headroom: by how much did the reading pass the setpoint, in noise widths?

Noise on a background or on a drifting zero passes by a hair; test gas, disturbances and leaks
seldom do.

Columns: readings, setpoints. Measure: reading less setpoint at the raise, in noise widths of the
point. Clearly present from 5, clearly absent to 1, undecided at about three; no data without a
reading or a setpoint. Fooled by a slow build-up, which also passes by a hair at first.
Source: normal noise (any statistics handbook).
"""

import numpy as np

from alarmsift.evidence.sign import Sign, SignReading, Weight, graded
from alarmsift.evidence.windows import Windows


def read(w: Windows) -> SignReading:
    """Return the margin in noise widths; present = passed by far."""
    turn = np.where(w.rising, 1.0, -1.0)
    margin = turn * (w.value - w.setpoint) / np.maximum(w.noise, 1e-9)
    return SignReading(graded(margin, absent=1.0, present=5.0), margin)


SIGN = Sign(
    key="headroom",
    title="Margin over the setpoint",
    needs=("readings", "setpoints"),
    family="size",
    unit="noise widths",
    applies="alarm",
    read=read,
    weights=(
        Weight("tight_setpoint", -4.5, 0, "noise passes by a hair"),
        Weight("zero_drift", -0.5, 0, "a walking zero passes by a hair"),
        Weight("test_gas", 7, 0, "test gas stands well above the setpoint"),
        Weight("spike", 2, -7.5, "a disturbance may go anywhere, seldom by a hair"),
    ),
    present="passed the setpoint by {m:.0f} noise widths",
    absent="passed the setpoint by {m:.1f} noise widths only",
)
