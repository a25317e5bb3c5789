"""Resampled: what did the extra look show?

A resample soon after the alarm is the first check while gas is possible.

Columns: operations with resample rows, readings. Measure: the first reading after it (within two
hours of the raise) as a share of the excess at the raise. Clearly present from 0.7, clearly absent
to 0.25, undecided at about one half; no data where nobody resampled. A clean resample is no
all-clear: fooled by gas that was ventilated away meanwhile. Source: common practice.
"""

import numpy as np

from alarmsift.evidence.shape import clear_excess
from alarmsift.evidence.sign import Sign, SignReading, Weight, graded, no_data
from alarmsift.evidence.windows import Windows


def read(w: Windows) -> SignReading:
    """Return the first reading after a resample within two hours of the raise."""
    rows = w.ship.operations.of("resample")
    if not len(rows):
        return no_data(len(w))
    when = np.full(len(w), np.nan)
    for point in np.unique(w.point):
        mine = np.flatnonzero(w.point == point)
        hours = np.sort(rows.loc[rows["point"] == point, "hours"].to_numpy(float))
        if not len(hours):
            continue
        at = np.searchsorted(hours, w.raised[mine] - 1e-3)
        found = hours[np.minimum(at, len(hours) - 1)]
        good = (at < len(hours)) & (found - w.raised[mine] < 2.0)
        when[mine] = np.where(good, found, np.nan)
    since = w.rel - (when - w.raised)[:, None]
    later = (since >= 0) & np.isfinite(w.x) & (w.rel > 1e-3)
    first = later.argmax(axis=1)
    value = w.x[np.arange(len(w)), first]
    ok = later.any(axis=1) & clear_excess(w)
    measure = np.where(ok, np.clip(value / np.maximum(w.x0, 1e-9), 0, None), np.nan)
    return SignReading(graded(measure, absent=0.25, present=0.7), measure, None, first)


SIGN = Sign(
    key="resampled",
    title="Outcome of the resample",
    needs=("operations: resample",),
    family="response",
    unit="share of the excess",
    applies="alarm",
    read=read,
    weights=(
        Weight("gas", 0, 0, "gas repeats on a resample"),
        Weight("ambient_vapour", 0, -7.5, "deck vapour repeats while it is there"),
        Weight("spike", -19.5, 2, "a disturbance does not repeat"),
        Weight("test_gas", -2.5, 0, "test gas is gone by then"),
    ),
    present="the resample showed it again ({m:.0%} of the excess)",
    absent="the resample was clean ({m:.0%} of the excess)",
)
