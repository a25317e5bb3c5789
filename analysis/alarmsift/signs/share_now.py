"""Share now: do other points keep the same share of the sample before them at that time?

A passing valve or a dead volume keeps a share of every sample while it lasts, at whatever point
comes next: at the point after the high one, and a share of that share at the one after it.

Columns: readings. Measure: what this point shows of the sample before it over what the other
points showed of theirs within six hours (both less zero and background), as a ratio of the larger
to the smaller. Clearly present to 1.8 where that share is well over the ship's usual one, clearly
absent from 4; no data where no other point came after a high sample then, or the share is no more
than usual. Fooled by gas that spreads from space to space in the order of the round.
Source: first-order wash-out of a dead volume, common practice.
"""

import numpy as np

from alarmsift.evidence.follow import SAME_AIR, previous_is_kin
from alarmsift.evidence.kept_now import kept_now
from alarmsift.evidence.sign import Sign, SignReading, Weight, graded
from alarmsift.evidence.windows import Windows

LEAST = 0.05  # under it is an ordinary rest


def read(w: Windows) -> SignReading:
    """Return how alike this point's share and the others' are."""
    kept = kept_now(w)
    fits = (kept.own > LEAST) & (kept.own < SAME_AIR)
    apart = np.maximum(kept.own, kept.others) / np.maximum(np.minimum(kept.own, kept.others), 0.01)
    measure = np.where(fits, apart, np.nan)
    strength = graded(measure, absent=4.0, present=1.8)
    return SignReading(np.where(previous_is_kin(w), np.minimum(strength, 0.0), strength), measure)


SIGN = Sign(
    key="share_now",
    title="Share kept of the sample before, here and elsewhere",
    needs=("readings",),
    family="sample",
    unit="times",
    applies="alarm",
    read=read,
    weights=(
        Weight("carry_over", 0, 0, "a passing valve keeps a share of every sample"),
        Weight("gas", -10, 0, "own gas is no fixed share of another point's"),
    ),
    present="other points keep the same share of the sample before them (within {m:.1f} times)",
    absent="other points keep another share of the sample before them ({m:.0f} times)",
)
