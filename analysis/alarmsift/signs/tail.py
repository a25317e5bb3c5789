"""Tail: was a little of it still there at the next visit?

A real sample that was seen once leaves a tail: some of it is still in the space or the line a
round later. A disturbance of the electronics leaves nothing at all.

Columns: readings. Measure: the next visit's excess over rest, in noise widths. Clearly present
from 6, clearly absent to 2.5, undecided at about four; no data where it was high at the next visit
too, or under eight noise widths high. Fooled by a space that is flushed within one round.
Source: mixing of a space (C = C0 exp(-n t)), common practice.
"""

import numpy as np

from alarmsift.evidence.shape import clear_excess, nearest_valid
from alarmsift.evidence.sign import Sign, SignReading, Weight, graded
from alarmsift.evidence.windows import Windows


def read(w: Windows) -> SignReading:
    """Return the next visit's excess over the rest before, in noise widths."""
    following = nearest_valid(w.after(w.x)[:, 1:])
    second = nearest_valid(w.after(w.x)[:, 2:])
    before = np.nan_to_num(nearest_valid(w.before(w.x)[:, ::-1]))
    measure = (following - np.fmin(before, np.fmax(second, 0.0))) / np.maximum(w.noise, 1e-9)
    lone = (following < 0.5 * w.x0) & clear_excess(w) & (w.x0 > 8.0 * w.noise)
    measure = np.where(lone, measure, np.nan)
    return SignReading(graded(measure, absent=2.5, present=6.0), measure, None, None)


SIGN = Sign(
    key="tail",
    title="A tail at the next visit",
    needs=("readings",),
    family="lone",
    unit="noise widths",
    applies="alarm",
    read=read,
    weights=(
        Weight("spike", -12.5, 11.5, "a disturbance leaves nothing"),
        Weight("gas", 0, -3.5, "gas leaves a tail"),
        Weight("moisture", 0, -18, "moisture leaves a tail"),
        Weight("test_gas", -8, 0, "a test is flushed by the next turn, or nearly"),
        Weight("ambient_vapour", 0, -15.5, "deck vapour leaves a tail"),
    ),
    present="a little of it was still there at the next visit ({m:.0f} noise widths)",
    absent="nothing of it was left at the next visit",
)
