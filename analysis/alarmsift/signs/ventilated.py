"""Ventilated: did it fall after the ventilation was started?

Ventilating a space carries its gas away; it does nothing to a detector, a line or the deck.

Columns: operations with ventilation rows, readings. Measure: share of the excess left one and a
half to four hours after the fan was started. Clearly present (fell) to 0.5, clearly absent from
0.9, undecided at about seven tenths; no data where no fan was started within twelve hours, or it
had gone before. Fooled by condensate that dries meanwhile.
Source: C = C0 exp(-n t) (ACGIH Industrial Ventilation, from memory).
"""

import numpy as np

from alarmsift.evidence.shape import clear_excess, row_nanmedian
from alarmsift.evidence.sign import Sign, SignReading, Weight, graded, no_data
from alarmsift.evidence.windows import Windows


def read(w: Windows) -> SignReading:
    """Return what was left after the fan was started during the excursion."""
    rows = w.ship.operations.of("ventilation_on")
    if not len(rows):
        return no_data(len(w))
    start = np.full(len(w), np.nan)
    for point in np.unique(w.point):
        mine = np.flatnonzero(w.point == point)
        hours = rows.loc[(rows["point"] == point) | (rows["point"] == -1), "hours"].to_numpy(float)
        hours = np.sort(hours)
        if not len(hours):
            continue
        at = np.searchsorted(hours, w.raised[mine] - 0.5)
        found = hours[np.minimum(at, len(hours) - 1)]
        good = (at < len(hours)) & (found - w.raised[mine] < 12.0)
        start[mine] = np.where(good, found, np.nan)
    since = w.rel - (start - w.raised)[:, None]
    before = row_nanmedian(np.where((since > -1.5) & (since <= 0.2), w.x, np.nan))
    after = row_nanmedian(np.where((since > 1.5) & (since < 4.0), w.x, np.nan))
    high = before > 0.5 * w.x0
    measure = np.where(high & clear_excess(w), after / np.maximum(before, 1e-9), np.nan)
    return SignReading(graded(measure, absent=0.9, present=0.5), np.clip(measure, 0, None))


SIGN = Sign(
    key="ventilated",
    title="Fell after ventilation",
    needs=("operations: ventilation rows",),
    family="response",
    unit="share left",
    applies="alarm",
    read=read,
    weights=(
        Weight("gas", 8.5, -5.5, "ventilation carries a space's gas away"),
        Weight("zero_drift", 0, 0, "a detector does not care"),
        Weight("tight_setpoint", 0, 0, "what a coating keeps giving off hardly falls"),
        Weight("blocked", -18, 0, "a line does not care"),
    ),
    present="fell to {m:.0%} within hours of ventilation",
    absent="did not fall after ventilation ({m:.0%} left)",
)
