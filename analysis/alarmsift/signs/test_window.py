"""Test window: was the analyser being calibrated or bump-tested?

Test gas is let in during a test, and its rest stands at the first points after it.

Columns: operations with zero and span rows, or readings with the status ``test``. Measure: minutes
to the nearest calibration row of the gas, either way; nought where the status says test. Rows are
written by hand, minutes late: clearly present to 8 min, clearly absent from 40 min, undecided at
about 24; no data where neither is logged. Fooled by a leak during a test, and by a test that
nobody wrote down. Source: common practice.
"""

import numpy as np

from alarmsift.evidence.sign import Sign, SignReading, Weight, graded, no_data
from alarmsift.evidence.windows import Windows
from alarmsift.timeline.operations import CALIBRATION_ACTIONS


def minutes_to_test(w: Windows, *, actions: tuple[str, ...]) -> np.ndarray:
    """Return minutes to the nearest row of a calibration of the gas, shape (E,)."""
    rows = w.ship.operations.of(*actions)
    out = np.full(len(w), np.inf)
    for gas in np.unique(w.gas):
        mine = np.flatnonzero(w.gas == gas)
        fits = (rows["gas"] == gas) | (rows["gas"] == "")
        hours = np.sort(rows.loc[fits, "hours"].to_numpy(float))
        if not len(hours):
            continue
        at = np.searchsorted(hours, w.raised[mine])
        left = np.abs(w.raised[mine] - hours[np.maximum(at - 1, 0)])
        right = np.abs(w.raised[mine] - hours[np.minimum(at, len(hours) - 1)])
        out[mine] = 60.0 * np.minimum(left, right)
    return out


def read(w: Windows) -> SignReading:
    """Return the minutes to the nearest calibration row; nought where the status says test."""
    marked = w.testing[:, w.at]
    if not len(w.ship.operations.of(*CALIBRATION_ACTIONS)) and not marked.any():
        return no_data(len(w))
    minutes = np.minimum(minutes_to_test(w, actions=CALIBRATION_ACTIONS), 9999.0)
    measure = np.where(marked, 0.0, minutes)
    return SignReading(graded(measure, absent=40.0, present=8.0), measure)


SIGN = Sign(
    key="test_window",
    title="Calibration or bump test",
    needs=("operations: calibration rows", "status"),
    family="test",
    unit="min",
    applies="alarm",
    read=read,
    weights=(
        Weight("test_gas", 15, -1.5, "test gas is applied in a test"),
        Weight("carry_over", 12, 0, "the first visits after test gas hold its rest"),
        Weight("spike", -28, 0, "there is a plainer reason at hand"),
        Weight("moisture", 0, 0, "there is a plainer reason at hand"),
        Weight("gas", -17, 0, "a leak does not wait for a test, but can meet one"),
    ),
    present="a calibration was logged within {m:.0f} min",
    absent="no calibration was logged near it",
)
