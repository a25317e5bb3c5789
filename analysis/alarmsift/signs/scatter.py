"""Scatter: did the readings jump about in the hours of the alarm?

A wet line or trap makes readings jump, scatter and then freeze; gas in a space is smooth, and so
is condensate that dries.

Columns: readings. Measure: mean change from visit to visit in the four hours from the raise, as a
share of the excess at the raise. Clearly present from 0.6, clearly absent to 0.2, undecided
at about two fifths; no data for fewer than four changes. Fooled by gusts of deck vapour.
Source: common practice.
"""

import numpy as np

from alarmsift.evidence.shape import clear_excess
from alarmsift.evidence.sign import Sign, SignReading, Weight, graded
from alarmsift.evidence.windows import Windows


def read(w: Windows) -> SignReading:
    """Return the mean change between successive visits in the four hours from the raise."""
    near = w.after(w.x)[:, : max(int(4.0 / w.ship.visits.cycle_hours), 4)]
    change = np.abs(np.diff(near, axis=1))
    live = np.isfinite(change) & (np.fmax(near[:, 1:], near[:, :-1]) > 0.3 * w.x0[:, None])
    count = live.sum(axis=1)
    total = np.where(live, change, 0.0).sum(axis=1) / np.maximum(count, 1)
    measure = np.where((count >= 4) & clear_excess(w), total / np.maximum(w.x0, 1e-9), np.nan)
    return SignReading(graded(measure, absent=0.2, present=0.6), measure)


SIGN = Sign(
    key="scatter",
    title="Scatter of the readings",
    needs=("readings",),
    family="shape",
    unit="share of the excess",
    applies="alarm",
    read=read,
    weights=(
        Weight("water", 6, -13.5, "a wet line makes readings jump, then freeze"),
        Weight("gas", 0, 0, "gas in a space is smooth"),
        Weight("moisture", 0, 0, "condensate dries smoothly"),
        Weight("ambient_vapour", 3.5, 0, "gusts make readings jump"),
    ),
    present="the readings jumped about ({m:.0%} of the excess from visit to visit)",
    absent="the readings were smooth",
)
