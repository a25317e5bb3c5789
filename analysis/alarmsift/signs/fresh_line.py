"""Fresh line: was the line purged or reconnected shortly before?

Purge air and a newly connected line bring moisture; the first readings after it are not readings
of the space.

Columns: operations with purge, reconnect and maintenance rows, or a gap in the point's own visits.
Measure: hours since. Clearly present to 0.4 h, clearly absent from 2.5 h, undecided at about an
hour and a half; no data without an operations log and without a gap. Fooled by gas that built up
while the line was off, and by a purge that nobody wrote down. Source: common practice.
"""

import numpy as np

from alarmsift.evidence.sign import Sign, SignReading, Weight, graded, no_data
from alarmsift.evidence.windows import Windows

ROUNDED_HOURS = 0.12


def hours_since(w: Windows, *actions: str) -> np.ndarray:
    """Return hours since the last such row of each alarm's point (inf for never), shape (E,)."""
    rows = w.ship.operations.of(*actions)
    out = np.full(len(w), np.inf)
    for point in np.unique(w.point):
        mine = np.flatnonzero(w.point == point)
        hours = rows.loc[(rows["point"] == point) | (rows["point"] == -1), "hours"].to_numpy(float)
        hours = np.sort(hours)
        # Log entries are rounded, a few minutes late counts as before; later than that it is what
        # people did about the alarm.
        at = np.searchsorted(hours, w.raised[mine] + ROUNDED_HOURS, "right") - 1
        if len(hours):
            gap = w.raised[mine] - hours[np.maximum(at, 0)]
            out[mine] = np.where(at >= 0, np.maximum(gap, 0.0), np.inf)
    return out


def after_gap(w: Windows) -> np.ndarray:
    """Return hours since the point's line came back after a long gap (inf for none)."""
    seen = np.isfinite(w.x) | np.isfinite(w.own) | np.isfinite(w.flow_share)
    rel = np.where(seen, w.rel, np.nan)[:, : w.at + 1]
    # Turns that were skipped may leave rows: carry the last real visit forward over them.
    filled = np.fmax.accumulate(np.where(np.isfinite(rel), rel, -np.inf), axis=1)
    before = np.concatenate([filled[:, :1], filled[:, :-1]], axis=1)[:, 1:]
    step = np.where(np.isfinite(rel[:, 1:]) & np.isfinite(before), rel[:, 1:] - before, 0.0)
    long = step > max(3.0 * w.ship.visits.cycle_hours, 1.5)
    column = np.where(long, np.arange(step.shape[1])[None, :], -1).max(axis=1)
    back = rel[np.arange(len(w)), np.minimum(column + 1, rel.shape[1] - 1)]
    return np.where(column >= 0, -back, np.inf)


def read(w: Windows) -> SignReading:
    """Return the hours since the line was made fresh."""
    ops = w.ship.operations
    gap = after_gap(w)
    if not ops.logged:
        measure = np.where(np.isfinite(gap), gap, np.nan)
        return SignReading(graded(measure, absent=2.5, present=0.4), measure)
    if not len(w):
        return no_data(0)
    measure = np.minimum(hours_since(w, "purge", "reconnect", "maintenance"), gap)
    strength = graded(np.minimum(measure, 99.0), absent=2.5, present=0.4)
    return SignReading(strength, np.where(np.isfinite(measure), measure, 99.0))


SIGN = Sign(
    key="fresh_line",
    title="Purge or reconnection before it",
    needs=("operations: purge, reconnect",),
    family="fresh",
    unit="h",
    applies="alarm",
    read=read,
    weights=(
        Weight("moisture", 10, -4.5, "a purged or newly connected line is humid"),
        Weight("water", 0.5, 0, "water can enter a disconnected line"),
        Weight("spike", -17.5, 0, "a disturbance does not wait for a purge"),
        Weight("tight_setpoint", 0, 0, "a background was there before"),
    ),
    present="the line was purged or reconnected {m:.1f} h before",
    absent="the line was not freshly purged or reconnected",
)
