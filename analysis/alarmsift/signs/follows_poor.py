"""Follows the previous point on a poor line: does too little of its own air arrive?

Where a choked or wet line delivers too little, the old sample stays in the detector and the point
repeats what the point before it showed.

Columns: readings (flow or suction make it surer). Measure: share of the previous point's excess
that this point repeats within five hours either way. Present where its course goes with that of
the point before (clearly from a correlation of 0.85, not at all under 0.5) and the flow is cut
below half; half as sure where no flow is logged. Undecided on a clean line; absent where the
point before was at rest or does not explain half the excess. No data where many points rose
together. Fooled by gas that spreads to the next space in the round.
Source: plug flow (transit time over dwell), common practice.
"""

import numpy as np

from alarmsift.evidence.follow import follow
from alarmsift.evidence.sign import Sign, SignReading, Weight
from alarmsift.evidence.windows import Windows


def read(w: Windows) -> SignReading:
    """Return the share repeated, on lines that are not known to be clean."""
    seen = follow(w)
    factor = 1.0 - seen.clean
    strength = np.where(seen.strength > 0, seen.strength * factor, seen.strength)
    return SignReading(strength, seen.share)


SIGN = Sign(
    key="follows_poor",
    title="Repeats the previous point, line poor",
    needs=("readings",),
    family="sample",
    unit="share",
    applies="alarm",
    read=read,
    weights=(
        Weight("blocked", 0, -32.5, "too little own air arrives: the old sample stays"),
        Weight("water", 6, 0, "too little own air arrives: the old sample stays"),
        Weight("moisture", 0, 0, "condensate does not wait for the point before"),
        Weight("spike", -22, 0, "a disturbance does not wait for the point before"),
    ),
    present="it repeats {m:.0%} of what the previous point shows, on a poor line",
    absent="it does not follow the previous point",
)
