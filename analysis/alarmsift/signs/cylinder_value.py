"""Cylinder value: did the reading stand at the concentration of the usual test gas?

A detector that is fed test gas shows the cylinder's value, at whatever point is in turn.

Columns: operations with span rows (their ``reference``), readings. Measure: distance of the
reading, less the zero, from the nearest cylinder value, as a share of that value. Clearly present
within 0.03, clearly absent from 0.3, undecided between; no data while no cylinder value is known
for the gas. Fooled by a gas that happens to stand there, and by an analyser that is due for its
span adjustment. Source: IEC 60079-29-1 allows 10 % of the reading (from memory); common practice.
"""

import numpy as np

from alarmsift.evidence.sign import Sign, SignReading, Weight, graded, no_data
from alarmsift.evidence.windows import Windows


def read(w: Windows) -> SignReading:
    """Return the distance from the nearest cylinder value."""
    measure = np.full(len(w), np.nan)
    shown = w.value - np.nan_to_num(w.zero)
    for gas, values in w.ship.cylinders.items():
        mine = np.flatnonzero(w.gas == gas)
        if not len(values) or not len(mine):
            continue
        gap = np.abs(shown[mine][:, None] / values[None, :] - 1.0)
        measure[mine] = gap.min(axis=1)
    if np.isnan(measure).all():
        return no_data(len(w))
    return SignReading(graded(measure, absent=0.3, present=0.03), measure)


SIGN = Sign(
    key="cylinder_value",
    title="At the cylinder's value",
    needs=("operations: span rows",),
    family="test",
    unit="share",
    applies="alarm",
    read=read,
    weights=(Weight("test_gas", 11, -15.5, "test gas reads the cylinder's value"),),
    present="the reading stood within {m:.0%} of the test gas",
    absent="the reading was {m:.0%} away from the test gas",
)
