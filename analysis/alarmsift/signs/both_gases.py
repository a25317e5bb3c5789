"""Both gases: did the other gas rise at the same visits?

Vapour from a sour cargo moves the flammable and the hydrogen-sulphide detector in a steady
ratio; so does a mixed test gas. Condensate, a disturbance or a walking zero moves one channel.

Columns: readings of two gases. Measure: the other gas's rise at the raise, in its noise widths.
Clearly present from 8, clearly absent to 2, undecided at about five; no data with one gas only.
Fooled by a sweet cargo, whose vapour moves one channel. Source: common practice.
"""

import numpy as np

from alarmsift.evidence.shape import nearest_valid, row_nanmedian
from alarmsift.evidence.sign import Sign, SignReading, Weight, graded
from alarmsift.evidence.windows import Windows


def read(w: Windows) -> SignReading:
    """Return the other gas's rise over the hours before, in its noise widths."""
    at_raise = np.fmax(nearest_valid(w.after(w.other), 1), row_nanmedian(w.after(w.other)[:, :4]))
    rest = row_nanmedian(w.before(w.other)[:, -40:-4])
    rise = at_raise - np.nan_to_num(rest)
    # Both may have been high for long: then the level says it.
    measure = np.fmax(rise, np.where(at_raise > 7.0, at_raise, rise))
    return SignReading(graded(measure, absent=2.0, present=8.0), measure)


SIGN = Sign(
    key="both_gases",
    title="The other gas at the same visits",
    needs=("readings of two gases",),
    family="channels",
    unit="noise widths",
    applies="alarm",
    read=read,
    weights=(
        Weight("gas", 2, -4.5, "sour vapour moves both"),
        Weight("ambient_vapour", 4, 0, "deck vapour moves both when the cargo is sour"),
        Weight("test_gas", 1, 0, "a mixed cylinder moves both"),
        Weight("spike", -14.5, 0, "a disturbance hits one channel"),
        Weight("moisture", -10, 0, "condensate affects infrared most"),
        Weight("tight_setpoint", -2, 0, "a background sits in one gas"),
        Weight("carry_over", 6.5, 0, "the rest of a sour sample holds both"),
    ),
    present="the other gas rose too ({m:.0f} noise widths)",
    absent="the other gas stayed at rest",
)
