"""Further rise: did it go on rising after the alarm, or fall from its first reading?

A build-up has most of its way to go when it passes the setpoint; condensate is at its top at
once and falls, and test gas is gone by the next turns.

Columns: readings. Measure: highest of the excursion from the raise on (running median of three,
so that one wild reading is no rise) as times the excess at the raise. Clearly present from 1.08,
clearly absent to 0.92; undecided where it stood level; no data for fewer than four visits or an
excess that is not clear of the noise. Fooled by gas whose source stopped just as it alarmed.
Source: well-mixed space (ACGIH Industrial Ventilation, from memory).
"""

import numpy as np

from alarmsift.evidence.shape import clear_excess, row_nanmax, run_of
from alarmsift.evidence.sign import Sign, SignReading, Weight, graded
from alarmsift.evidence.windows import Windows


def read(w: Windows) -> SignReading:
    """Return top over raise, for excursions of at least four visits."""
    run = run_of(w)
    after = w.after(w.x)
    three = np.sort(np.stack([after[:, :-2], after[:, 1:-1], after[:, 2:]]), axis=0)[1]
    column = np.arange(three.shape[1])[None, :] + w.at
    top = row_nanmax(np.where(column < run.last[:, None], three, np.nan))
    measure = np.where(
        clear_excess(w) & (run.visits >= 4), top / np.where(w.x0 > 0, w.x0, np.nan), np.nan
    )
    return SignReading(graded(measure, absent=0.92, present=1.08), measure, None, run.last)


SIGN = Sign(
    key="further_rise",
    title="Went on rising",
    needs=("readings",),
    family="shape",
    unit="times the excess at the raise",
    applies="alarm",
    read=read,
    weights=(
        Weight("gas", 0, -3, "a build-up has most of its way to go at the setpoint"),
        Weight("moisture", -3, 3, "condensate is at its top at once, then falls"),
        Weight("test_gas", -7, 0, "test gas is gone by the next turns"),
    ),
    present="rose to {m:.1f} times the excess at the raise",
    absent="was at its top when it alarmed, and fell",
)
