"""Outlasts the test: was it high before the calibration, or still high long after it?

Test gas is gone a round after the test, and was not there before it. Gas in the space is cut short
by the zero gas and comes back with the next sample.

Columns: readings; operations with zero and span rows. Measure: minutes to the nearest calibration
row from the visit furthest from any: of the unbroken excursion, or of the three hours before it
where the point stood half as high already. Clearly present from 90 min, clearly absent to 30 min,
undecided at an hour; no data where no calibration is logged within 40 min of the alarm. Fooled by
a cylinder left open, and by an alarm of another cause shortly before. Source: common practice, no
source.
"""

import numpy as np

from alarmsift.evidence.shape import run_of
from alarmsift.evidence.sign import Sign, SignReading, Weight, graded
from alarmsift.evidence.windows import Windows
from alarmsift.timeline.operations import CALIBRATION_ACTIONS

NEAR, BEFORE_HOURS = 40.0, 3.0  # [min], [h]


def read(w: Windows) -> SignReading:
    """Return how far from any calibration row it stood high."""
    run, column = run_of(w), np.arange(w.visit.shape[1])
    inside = (column >= run.first[:, None]) & (column <= run.last[:, None])
    with np.errstate(invalid="ignore"):
        high = np.isfinite(w.x) & (w.x >= 0.5 * w.x0[:, None])
    before = (w.rel < 0) & (w.rel >= -BEFORE_HOURS)
    mine = high & (inside | before)
    mine[:, w.at] = True
    hours = w.raised[:, None] + np.where(mine & np.isfinite(w.rel), w.rel, 0.0)
    measure = np.full(len(w), np.nan)
    rows = w.ship.operations.of(*CALIBRATION_ACTIONS)
    for gas in np.unique(w.gas):
        fits = ((rows["gas"] == gas) | (rows["gas"] == "")).to_numpy()
        tests = np.concatenate([[-np.inf], np.sort(rows["hours"].to_numpy(float)[fits]), [np.inf]])
        of = np.flatnonzero(w.gas == gas)
        at = np.searchsorted(tests, hours[of])
        minutes = 60.0 * np.minimum(hours[of] - tests[at - 1], tests[at] - hours[of])
        near = minutes[:, w.at] <= NEAR
        measure[of] = np.where(near, minutes.max(axis=1), np.nan)
    return SignReading(graded(measure, absent=30.0, present=90.0), measure, run.first, run.last)


SIGN = Sign(
    key="outlasts_test",
    title="High before or long after the test",
    needs=("readings", "operations: calibration rows"),
    family="test",
    unit="min",
    applies="alarm",
    read=read,
    weights=(
        Weight("test_gas", -20, 3, "test gas is gone a round after the test"),
        Weight("carry_over", -14, 0, "the rest of test gas fades within a round or two"),
        Weight("gas", 6, 0, "gas comes back when the zero gas is shut"),
    ),
    present="stood {m:.0f} min clear of any calibration row",
    absent="was high only within {m:.0f} min of the calibration rows",
)
