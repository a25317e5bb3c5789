"""Left a rest: did the next point in the round show a trace of it?

A high sample that really went through the pipework leaves the ship's usual share of itself at the
next point; a disturbance leaves nothing.

Columns: readings, and a carry-over share known for this ship (from forty high samples on).
Measure: what the next turn showed as a share of the usual rest. Clearly present from 0.7, clearly
absent to 0.25, undecided at about one half; no data where the share is not known, the rest would
not clear the next point's noise, or for oxygen. Fooled by gas of the next point's own.
Source: first-order wash-out, common practice.
"""

import numpy as np

from alarmsift.evidence.sign import Sign, SignReading, Weight, graded
from alarmsift.evidence.windows import Windows

# The predicted trace must clear the next point's noise by this much to be looked for.
CLEAR = 4.0
# High samples that a share must rest on to be held against an alarm.
FEWEST = 40
# Oxygen has no excess to leave behind; hydrogen sulphide clings to wet metal and rubber, so that a
# missing trace proves nothing (common practice, no source).
NOT_TOLD = ("O2", "H2S")


def read(w: Windows) -> SignReading:
    """Return the next turn's excess over the predicted rest."""
    visits = w.ship.visits
    following = np.full(len(visits) + 1, -1, "int64")
    has = np.flatnonzero(visits.previous >= 0)
    following[visits.previous[has]] = has
    after = following[w.visit[:, w.at]]
    measure = np.full(len(w), np.nan)
    for gas in visits.gases:
        share = w.ship.carry[gas].share
        mine = np.flatnonzero((w.gas == gas) & (after >= 0))
        few = w.ship.carry[gas].pairs < FEWEST or w.ship.carry[gas].spread > 0.5 * share
        if not np.isfinite(share) or few or gas in NOT_TOLD or not len(mine):
            continue
        shown = w.ship.shown[gas][after[mine]]
        point = visits.point[after[mine]]
        noise = w.ship.noise[gas][point]
        expected = share * w.shown[mine, w.at]
        rest = shown / np.maximum(expected, 1e-9)
        other = point != w.point[mine]
        measure[mine] = np.where((expected > CLEAR * noise) & other, rest, np.nan)
    strength = graded(np.minimum(measure, 3.0), absent=0.25, present=0.7)
    return SignReading(strength, np.clip(measure, 0.0, None))


SIGN = Sign(
    key="left_rest",
    title="Trace at the next point",
    needs=("readings",),
    family="lone",
    unit="of the usual rest",
    applies="alarm",
    read=read,
    weights=(
        Weight("spike", -10, 0, "a disturbance goes through no pipework"),
        Weight("gas", 0, -4, "a real sample leaves its rest"),
        Weight("ambient_vapour", 11.5, 0, "a real sample leaves its rest"),
        Weight("test_gas", 6.5, -16.5, "a real sample leaves its rest"),
        Weight("moisture", 0, 7.5, "wet optics leave no sample behind"),
    ),
    present="the next point showed the usual rest of it: a real sample went through",
    absent="the next point showed no rest of it",
)
