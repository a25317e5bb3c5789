"""Drying out: a jump, then an exponential fall over one to a few hours?

Condensate and a humid line do this after a purge, a reconnection or a fall in temperature. Gas
that is ventilated away falls likewise, but it had to come first.

Columns: readings. Measure: share of the variance that the exponential explains; nought where the
onset was no jump, the time constant is outside 0.15 to 6 h, or little fell. Clearly present from
0.9, clearly absent to 0.3, undecided between; no data for fewer than three visits or an excess
that is not clear of the noise. Fooled by a jump of gas into a ventilated space.
Source: common practice; the fit is log-linear on values well above the noise (NIST/SEMATECH
e-Handbook, 4.6, from memory).
"""

import numpy as np

from alarmsift.evidence.shape import clear_excess, decay_of, jump_share, run_of
from alarmsift.evidence.sign import Sign, SignReading, Weight, graded
from alarmsift.evidence.windows import Windows

# One to a few hours (common practice, no source).
TAU_HOURS = (0.15, 6.0)
# It must fall by a good part within the hours looked at; a plateau does not.
FALLEN = 0.35


def read(w: Windows) -> SignReading:
    """Return the fit, nought where the onset was no jump or the time constant does not suit."""
    run = run_of(w)
    decay = decay_of(w, run)
    enough = clear_excess(w) & (decay.visits >= 4) & (run.visits >= 3)
    suits = (decay.tau > TAU_HOURS[0]) & (decay.tau < TAU_HOURS[1]) & (decay.fallen > FALLEN)
    jumped = np.nan_to_num(jump_share(w), nan=1.0) > 0.6
    fit = np.where(suits & jumped, np.nan_to_num(decay.fit), 0.0)
    measure = np.where(enough, fit, np.nan)
    return SignReading(graded(measure, absent=0.3, present=0.9), measure, None, run.last)


SIGN = Sign(
    key="drying_out",
    title="Jump, then exponential fall",
    needs=("readings",),
    family="shape",
    unit="share",
    applies="alarm",
    read=read,
    weights=(
        Weight("moisture", 12.5, 0, "condensate jumps, then dries over hours"),
        Weight("tight_setpoint", -2, 0, "a steady background does not fall"),
    ),
    present="jumped, then fell along an exponential (fit {m:.0%})",
    absent="did not jump and then fall along an exponential",
)
