"""Carried over: does a rest of the previous sample explain the reading?

With a short dwell or a passing valve a constant share of the last sample stays in the pipework,
ship-wide. The share is measured on this ship's own high readings.

Columns: readings. Measure: predicted carry-over as a share of the excess, at the raise or in the
middle of the visits while it stood, whichever is less: a rest goes on with the sample before it.
Clearly present from 0.5, clearly absent to 0.05, undecided at about a quarter; absent, too, where
the share moves on while the sample before stays high. Where the ship's share is not known, up to
0.09 of the sample before may be a rest and 0.3 of it can't; after the other point of the same space
present from 0.7 only and absent to 0.3. No data without a reading. Fooled by gas that spreads to
the next space in the round.
Source: first-order wash-out of a dead volume (mixed-tank exponential), common practice.
"""

import numpy as np

from alarmsift.evidence.budget import USUAL_CARRY, budget
from alarmsift.evidence.follow import previous_is_kin
from alarmsift.evidence.shape import row_nanmedian
from alarmsift.evidence.sign import Sign, SignReading, Weight, graded
from alarmsift.evidence.windows import Windows

# A rest stands out of the noise by this, and keeps its share within this factor from the first hour
# to the next ones (CP).
LOUD_NOISE, SAME_SHARE = 4.0, 1.6
SOON_HOURS, LATER_HOURS = 1.0, 4.0


def read(w: Windows) -> SignReading:
    """Return the predicted share; uncertain where the ship's own share is not known."""
    parts = budget(w)
    share = parts.carried / np.maximum(np.nan_to_num(w.x0), 1e-9)
    share = np.fmin(share, _while_it_stood(w, parts.carried))
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
    strength = np.where(_share_moved(w, parts.carried), np.minimum(strength, -0.6), strength)
    strength = np.where(np.isfinite(w.x0), strength, np.nan)
    return SignReading(strength, share)


def _while_it_stood(w: Windows, carried: np.ndarray) -> np.ndarray:
    """Return the share of the excess that the same rest explains at its visits, median, (E,)."""
    x, before = w.after(w.x), w.after(w.prev)
    kept = carried / np.maximum(before[:, :1].ravel(), 1e-9)
    stood = (w.after(w.rel) <= (w.cleared - w.raised)[:, None]) & (x > 0.0)
    explained = kept[:, None] * np.maximum(before, 0.0) / np.where(stood, x, np.nan)
    return row_nanmedian(explained)


def _share_moved(w: Windows, carried: np.ndarray) -> np.ndarray:
    """Tell where the reading went its own way while the sample before it stayed high, shape (E,).

    What is kept of a sample is a constant share of it; gas of the space comes and goes by itself.
    """
    x, before, rel = w.after(w.x), w.after(w.prev), w.after(w.rel)
    kept = carried / np.maximum(before[:, :1].ravel(), 1e-9)
    loud = kept[:, None] * before > LOUD_NOISE * w.noise[:, None]
    ratio = np.where(loud, x / np.where(loud, before, 1.0), np.nan)
    soon = row_nanmedian(np.where(rel <= SOON_HOURS, ratio, np.nan))
    later = row_nanmedian(np.where((rel > SOON_HOURS) & (rel <= LATER_HOURS), ratio, np.nan))
    later = np.maximum(later, 1e-9)
    return np.asarray(np.maximum(soon / later, later / np.maximum(soon, 1e-9)) > SAME_SHARE)


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
