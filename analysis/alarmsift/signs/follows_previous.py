"""Follows the previous point: does the reading move with the sample before it?

Where too little of a line's own air arrives, the old sample stays in the detector and the point
repeats what the point before it showed. Columns: readings. Measure: share of the previous
excess that this point repeats, where the previous one is clear of its noise. Source: first-order
detector and plug flow, common practice.
"""

import numpy as np

from alarmsift.evidence.sign import Sign, SignReading, Weight, graded
from alarmsift.evidence.windows import Windows


def read(w: Windows) -> SignReading:
    """Return the regression of the reading on the previous one around the raise."""
    span = (w.rel > -3.0) & (w.rel < 3.0)
    good = span & np.isfinite(w.x) & np.isfinite(w.prev)
    loud = good & (w.prev > 6.0 * w.noise[:, None])
    top = np.where(loud, w.prev, 0.0)
    slope = (top * np.where(loud, w.x, 0.0)).sum(axis=1) / np.maximum((top**2).sum(axis=1), 1e-9)
    # What it shows while the previous point is quiet is its own.
    quiet = good & (w.prev < 3.0 * w.noise[:, None])
    n_quiet, n_loud = quiet.sum(axis=1), loud.sum(axis=1)
    own = np.where(quiet, w.x, 0.0).sum(axis=1) / np.maximum(n_quiet, 1)
    explained = (
        slope
        * np.where(np.isfinite(w.prev[:, w.at]), w.prev[:, w.at], 0.0)
        / np.maximum(w.x0, 1e-9)
    )
    independent = own > 0.5 * w.x0
    measure = np.where(n_loud >= 1, np.clip(slope, 0.0, 1.5), np.nan)
    strength = graded(measure, absent=0.15, present=0.45)
    strength = np.where(independent | (explained < 0.5), np.minimum(strength, -0.3), strength)
    return SignReading(np.where(np.isfinite(measure), strength, np.nan), measure)


SIGN = Sign(
    key="follows_previous",
    title="Repeats the previous point",
    needs=("readings",),
    family="sample",
    unit="share",
    applies="alarm",
    read=read,
    weights=(
        Weight("blocked", 8, -2, "too little own air arrives: the old sample stays"),
        Weight("water", 6, -1, "too little own air arrives: the old sample stays"),
        Weight("test_gas", 2, 0, "the test stands at the points in turn"),
        Weight("gas", -7, 1, "own gas does not wait for the point before"),
        Weight("moisture", -5, 0, "condensate does not wait for the point before"),
        Weight("carry_over", -2, 0, "carry-over keeps a small share only"),
    ),
    present="it repeats {m:.0%} of what the previous point shows",
    absent="it does not follow the previous point",
)
