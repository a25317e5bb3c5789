"""Sudden onset: did the whole excess come within one visit, or did it creep up?

A leak into a space builds up over hours, 1 - exp(-t/tau); condensate, a slug of water, test gas
and disturbances jump. A pump seal or a hatch can let gas jump too, so a jump does not speak
against gas.

Columns: readings. Measure: largest share of the excess that came within one visit, up to the
raise. Clearly present from 0.95, clearly absent to 0.6, undecided at about three quarters; no data
where the excess is not clear of the noise or nobody saw it come. Fooled by a long round, in which
a creep looks like a jump. Source: well-mixed space (ACGIH Industrial Ventilation, from memory).
"""

import numpy as np

from alarmsift.evidence.shape import jump_share
from alarmsift.evidence.sign import Sign, SignReading, Weight, graded
from alarmsift.evidence.windows import Windows


def read(w: Windows) -> SignReading:
    """Return the share that came in one visit."""
    share = jump_share(w)
    return SignReading(graded(share, absent=0.6, present=0.95), share, np.full(len(w), w.at - 3))


SIGN = Sign(
    key="sudden_onset",
    title="Came within one visit",
    needs=("readings",),
    family="shape",
    unit="share",
    applies="alarm",
    read=read,
    weights=(
        Weight("ambient_vapour", -6, 4.5, "gusts climb over some visits, or within one"),
        Weight("moisture", 1, 0, "condensate jumps at the first visit, then dries"),
        Weight("spike", 0, 0, "a disturbance comes within one visit"),
        Weight("test_gas", 14, 0, "test gas has square edges"),
        Weight("water", 3.5, 0, "a slug of water arrives at once"),
    ),
    present="{m:.0%} of the excess came within one visit",
    absent="it crept up: only {m:.0%} of the excess came within the raising visit",
)
