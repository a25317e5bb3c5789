"""Quick space: could gas come and go within one round here?

A pump room is ventilated twenty times an hour: a whiff from a seal is gone by the next turn. So a
short alarm there is no proof of a disturbance.

Columns: points (kind), else the point's name; readings. Measure: 1 for a pump room, else 0.
Present for an alarm of under four hours in a pump room; no data everywhere else, since another
kind of space proves nothing: it is never absent. Fooled by a pump room whose fan stands still.
Source: SOLAS II-2/4.5.4.1, 20 air changes an hour (from memory).
"""

import numpy as np

from alarmsift.evidence.shape import clear_excess, run_of
from alarmsift.evidence.sign import Sign, SignReading, Weight, no_data
from alarmsift.evidence.windows import Windows
from alarmsift.timeline.kinds import kinds_of


def read(w: Windows) -> SignReading:
    """Return whether a short alarm was in a pump room."""
    visits = w.ship.visits
    if not len(w):
        return no_data(0)
    quick = kinds_of(visits.points, w.ship.logs.points) == "pump_room"
    short = (run_of(w).hours < SHORT_HOURS) & clear_excess(w)
    here = np.append(quick, False)[w.point]
    return SignReading(np.where(short & here, 1.0, np.nan), here.astype(float))


# Longer than this is no whiff, ventilated as it is (CP).
SHORT_HOURS = 4.0


SIGN = Sign(
    key="quick_space",
    title="A space where gas comes and goes quickly",
    needs=("points: kind",),
    family="lone",
    unit="yes or no",
    applies="alarm",
    read=read,
    weights=(Weight("gas", 9.5, 0, "a whiff in a pump room is gone by the next round"),),
    present="it is a pump room: a whiff of gas is gone within a round",
    absent="",
)
