"""Line fell fast: did the line's health collapse within a few visits, or over days?

Water arrives within one or two rounds; scale and mud grow over days (a valve can shut at once).

Columns: flow and suction. Measure: share of the loss of conductance (on a log scale) that came
since twelve to six hours before the raise. Clearly present from 0.6, clearly absent to 0.3,
undecided between; no data where the line had not lost a third of its conductance. Fooled by a
valve that is shut by hand. Source: common practice.
"""

import numpy as np

from alarmsift.evidence.shape import row_nanmedian
from alarmsift.evidence.sign import Sign, SignReading, Weight, graded
from alarmsift.evidence.windows import Windows


def read(w: Windows) -> SignReading:
    """Return the share of the loss that is fresh."""
    near = w.own[:, max(w.at - 1, 0) : w.at + 3]
    now = np.where(np.isfinite(near), near, np.inf).min(axis=1)
    now = np.where(np.isfinite(now), now, np.nan)
    rel = w.before(w.rel)
    earlier = row_nanmedian(np.where((rel > -12) & (rel < -6), w.before(w.own), np.nan))
    recent = row_nanmedian(np.where((rel > -6) & (rel < -2), w.before(w.own), np.nan))
    past = np.where(np.isfinite(earlier), earlier, recent)
    fresh = (now - past) / np.where(now < -0.4, now, np.nan)
    measure = np.clip(fresh, 0.0, 1.0)
    return SignReading(graded(measure, absent=0.3, present=0.6), measure)


SIGN = Sign(
    key="line_fell_fast",
    title="How fast the line worsened",
    needs=("flow", "suction"),
    family="line",
    unit="share",
    applies="both",
    read=read,
    weights=(Weight("water", 4, -3, "water arrives within a round or two"),),
    present="{m:.0%} of the loss came within hours",
    absent="the line had been poor for longer ({m:.0%} of the loss is fresh)",
)
