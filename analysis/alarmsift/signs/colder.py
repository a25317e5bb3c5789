"""Colder: had the temperature fallen?

Humid sample air condenses when the cabinet or the line turns cold.

Columns: temperature. Measure: fall from nine to four hours before the raise to the raise [K].
Clearly present from 5 K, clearly absent to 1.5 K, undecided at about three; no data where no
temperature is logged. Fooled by dry air, which has nothing to condense.
Source: dew point of moist air (for example 30 degC at 80 %RH condenses at 26 degC: CoolProp,
HAPropsSI).
"""

import numpy as np

from alarmsift.evidence.shape import row_nanmedian
from alarmsift.evidence.sign import Sign, SignReading, Weight, graded
from alarmsift.evidence.windows import Windows


def read(w: Windows) -> SignReading:
    """Return the fall of temperature before the raise."""
    temperature = w.take(w.ship.visits.temperature)
    now = row_nanmedian(temperature[:, max(w.at - 2, 0) : w.at + 3])
    rel = w.rel
    past = row_nanmedian(np.where((rel > -9) & (rel < -4), temperature, np.nan))
    fall = past - now
    return SignReading(graded(fall, absent=1.5, present=5.0), fall)


SIGN = Sign(
    key="colder",
    title="Fall in temperature",
    needs=("temperature",),
    family="fresh",
    unit="K",
    applies="alarm",
    read=read,
    weights=(Weight("moisture", 12, -7.5, "humid air condenses in the cold"),),
    present="the temperature had fallen by {m:.0f} K",
    absent="the temperature had not fallen",
)
