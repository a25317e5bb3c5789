"""Wet or choked: did the line lose its flow the way water takes it, or the way a blockage does?

Ballast arrives within a visit or two, with a fill or a heavy sea, at both probes of a tank, and the
trap trips; scale and mud grow over days and then stand.

Columns: flow or suction, else low-flow alarms; operations make it surer. Measure: decibans for
water against a blockage in the spell of a poor line that covers the raise, from how it came, how
long it lasted and what was done then. Clearly present (water) from 8, clearly absent (a blockage)
to -8, undecided at nought; no data where the line was not poor. Fooled by a fill that nobody wrote
down and by a valve shut in a heavy sea. Source: common practice.
"""

import numpy as np

from alarmsift.evidence.poor_line import poor_spans
from alarmsift.evidence.sign import Sign, SignReading, Weight, graded
from alarmsift.evidence.windows import Windows


def read(w: Windows) -> SignReading:
    """Return the decibans for water of the spell around each raise."""
    measure = np.full(len(w), np.nan)
    margin = max(1.5 * w.ship.visits.cycle_hours, 0.2)
    for span in poor_spans(w.ship):
        inside = (w.raised >= span.start - margin) & (w.raised <= span.end + margin)
        measure[inside & (w.point == span.point)] = span.water
    return SignReading(graded(measure, absent=-8.0, present=8.0), measure)


SIGN = Sign(
    key="wet_or_choked",
    title="How the line lost its flow",
    needs=("flow, suction or low-flow alarms",),
    family="wet_or_choked",
    unit="dB",
    applies="both",
    read=read,
    weights=(
        Weight("water", 18, 0, "water comes at once, with a fill or a sea"),
        Weight("blocked", 0, 15.5, "scale and mud grow and stay"),
    ),
    present="the line lost its flow the way water takes it",
    absent="the line lost its flow the way a blockage takes it",
)
