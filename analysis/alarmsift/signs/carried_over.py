"""Carried over: does a rest of the previous sample explain the reading?

With a short dwell or a passing valve a constant share of the last sample stays in the pipework,
ship-wide. The share is measured on this ship's own high readings.

Columns: readings. Measure: predicted carry-over as a share of the excess at the raise. Clearly
present from 0.5, clearly absent to 0.05, undecided at about a quarter; where the ship's share is
not known, up to 0.09 of the sample before may be a rest and 0.3 of it can't; after the other point
of the same space present from 0.7 only and absent to 0.3. No data without a reading. Fooled by
gas that spreads to the next space in the round.
Source: first-order wash-out of a dead volume (mixed-tank exponential), common practice.
"""

import numpy as np

from alarmsift.evidence.budget import USUAL_CARRY, budget
from alarmsift.evidence.follow import previous_is_kin
from alarmsift.evidence.sign import Sign, SignReading, Weight, graded
from alarmsift.evidence.windows import Windows


def read(w: Windows) -> SignReading:
    """Return the predicted share; uncertain where the ship's own share is not known."""
    parts = budget(w)
    share = parts.carried / np.maximum(np.nan_to_num(w.x0), 1e-9)
    before = np.maximum(np.nan_to_num(w.prev[:, w.at]), 0.0)
    ratio = np.where(before > 0, w.x0 / np.maximum(before, 1e-9), np.inf)
    strength = graded(share, absent=0.05, present=0.5)
    for gas in w.ship.visits.gases:
        mine = w.gas == gas
        known = np.append(w.ship.carry[gas].by_point, np.nan)[w.point[mine]]
        unknown = np.flatnonzero(mine)[~np.isfinite(known)]
        # The ship's share is unknown: a usual one may be, a much larger ratio can't.
        possible = graded(ratio[unknown], absent=10 * USUAL_CARRY, present=3 * USUAL_CARRY)
        strength[unknown] = np.maximum(strength[unknown], np.clip(possible, -1.0, 0.4))
    # Gas of one space stands at both of its points: a rest must be most of it by itself.
    kin = graded(share, absent=0.3, present=0.7)
    strength = np.where(previous_is_kin(w), np.minimum(strength, kin), strength)
    strength = np.where(np.isfinite(w.x0), strength, np.nan)
    return SignReading(strength, share)


SIGN = Sign(
    key="carried_over",
    title="Rest of the previous sample",
    needs=("readings",),
    family="budget",
    unit="share",
    applies="alarm",
    read=read,
    weights=(
        Weight("carry_over", 9, -6, "a constant share of the sample before, ship-wide"),
        Weight("gas", -13.5, 0, "what the previous sample explains is not this space's gas"),
        Weight("spike", -14, 0, "there was a high sample just before"),
        Weight("moisture", -8.5, 0, "there was a high sample just before"),
    ),
    present="a rest of the previous sample explains {m:.0%} of the excess",
    absent="the previous sample does not explain the reading ({m:.0%} of the excess)",
)
