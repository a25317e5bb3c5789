"""Lone visit: was it high once, with rest before and after?

An electrical disturbance or a lost digit lasts one visit; gas in a space can't come and go within
one round, unless its source is short or strong ventilation runs. While the next visit is not in,
nothing is proved.

Columns: readings. Measure: the larger neighbour visit as a share of the excess at the raise.
Rest counts up to 0.15 or two noise widths. Clearly present to 0.05 above rest, clearly absent from
0.3 above it (0.2 and 0.45 on a quiet point), undecided at about a third; no data while the next
visit is missing or the excess is not clear of the noise. Fooled by a whiff that was seen once, and
by a long round.
Source: well-mixed space, exponential decay C = C0 exp(-n t); common practice.
"""

import numpy as np

from alarmsift.evidence.shape import clear_excess, nearest_valid
from alarmsift.evidence.sign import Sign, SignReading, Weight, graded
from alarmsift.evidence.windows import Windows


def read(w: Windows) -> SignReading:
    """Return the larger neighbour over the raise; no data while the next visit is missing."""
    following = nearest_valid(w.after(w.x)[:, 1:])
    before = nearest_valid(w.before(w.x)[:, ::-1])
    rest = 2.0 * w.noise / np.maximum(w.x0, 1e-9)
    larger = np.fmax(following, before) / np.where(w.x0 > 0, w.x0, np.nan)
    larger = np.where(np.isfinite(following) & clear_excess(w), larger, np.nan)
    quiet = np.maximum(np.nan_to_num(rest), 0.15)
    strength = graded(larger - quiet, absent=0.3, present=0.05)
    return SignReading(strength, larger, None, np.full(len(w), w.at + 1))


SIGN = Sign(
    key="lone_visit",
    title="High for one visit only",
    needs=("readings",),
    family="shape",
    unit="share",
    applies="alarm",
    read=read,
    weights=(
        Weight("spike", 0, -27, "a disturbance lasts one visit"),
        Weight("carry_over", 3.5, 0, "a rest goes with the point before, often after one visit"),
        Weight("ambient_vapour", 0, 0, "deck vapour lasts for an hour or two"),
        Weight("zero_drift", -4, 0, "a zero walks over days"),
    ),
    present="high for one visit, at rest before and after (neighbours {m:.0%} of it)",
    absent="the visits beside it were high too ({m:.0%} of it)",
)
