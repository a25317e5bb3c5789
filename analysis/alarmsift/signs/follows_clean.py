"""Follows the previous point on a clean line: is the line too long, or a valve passing?

Where a clean line repeats a share of what the point before it shows, the sample before was not
flushed out.

Columns: readings (flow or suction make it surer). Measure: share of the previous point's excess
that this point repeats within five hours either way. Present where its course goes with that of
the point before (clearly from a correlation of 0.85, not at all under 0.5) on a line that brings
its own air; half as sure where no flow is logged. Undecided on a poor line; absent where the
point before was at rest, or does not explain half the excess, or nearly all of it is repeated:
then the same air stands at both. No data where many points rose together (everything follows
everything). Fooled by gas that spreads to the next space in the round.
Source: first-order detector and plug flow, common practice.
"""

import numpy as np

from alarmsift.evidence.follow import SAME_AIR, follow, previous_is_kin
from alarmsift.evidence.sign import Sign, SignReading, Weight
from alarmsift.evidence.windows import Windows


def read(w: Windows) -> SignReading:
    """Return the share repeated, on lines that are not known to be poor."""
    seen = follow(w)
    other = ~previous_is_kin(w) & (np.nan_to_num(seen.share) < SAME_AIR)
    factor = seen.clean * np.where(other, 1.0, 0.2)
    strength = np.where(seen.strength > 0, seen.strength * factor, seen.strength)
    # Nearly all of it is no rest: the same air stands at both.
    strength = np.where(np.nan_to_num(seen.share) > 0.85, -1.0, strength)
    return SignReading(strength, seen.share)


SIGN = Sign(
    key="follows_clean",
    title="Repeats the previous point, line clean",
    needs=("readings",),
    family="sample",
    unit="share",
    applies="alarm",
    read=read,
    weights=(
        Weight("carry_over", 0, -18.5, "the sample before was not flushed out"),
        Weight("gas", -39, 7, "own gas does not wait for the point before"),
        Weight("spike", -21, 0, "a disturbance does not wait for the point before"),
        Weight("tight_setpoint", 0, 0, "a background does not wait for the point before"),
    ),
    present="it repeats {m:.0%} of what the previous point shows, on a clean line",
    absent="it does not follow the previous point",
)
