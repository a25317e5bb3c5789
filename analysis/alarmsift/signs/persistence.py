"""Persistence: for how many visits in a row did it stay?

Condensate and deck vapour last some visits, gas stays until its source stops or it is ventilated
away; tests and disturbances do not last to the next visit. How long is asked by ``stayed_long``.

Columns: readings. Measure: visits in the unbroken excursion (two low visits in a row end it;
readings while the round stood still are one visit). Absent for one, present from two, clearly from
three; no data where the excess is not clear of the noise. Fooled by a zero or background that
crosses for days. Source: V dC/dt = S - Q C (well-mixed space, ACGIH Industrial Ventilation, from
memory).
"""

import numpy as np

from alarmsift.evidence.shape import clear_excess, run_of
from alarmsift.evidence.sign import Sign, SignReading, Weight, graded
from alarmsift.evidence.windows import Windows


def read(w: Windows) -> SignReading:
    """Return the visits of the excursion."""
    run = run_of(w)
    measure = np.where(clear_excess(w), run.visits, np.nan)
    strength = graded(measure, absent=1.2, present=2.4)
    return SignReading(strength, measure, run.first, run.last)


SIGN = Sign(
    key="persistence",
    title="Visits in a row",
    needs=("readings",),
    family="shape",
    unit="visits",
    applies="alarm",
    read=read,
    weights=(
        Weight("ambient_vapour", 0, -17, "deck vapour lasts an hour or two"),
        Weight("moisture", 0, -13, "condensate dries over one to a few hours"),
        Weight("spike", -39, 0, "a disturbance lasts one visit"),
        Weight("test_gas", -20.5, 0, "a test lasts minutes"),
    ),
    present="stayed for {m:.0f} visits in a row",
    absent="stayed for {m:.0f} visit(s) only",
)
