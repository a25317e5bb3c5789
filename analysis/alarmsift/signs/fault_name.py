"""Fault name: did the analyser itself report water?

A water trap that trips says water; a pump fault says pump; low flow says only that the point is
not being watched.

Columns: events (``level`` of faults). Measure: 1 where the fault is named for water, a trap or
moisture, else 0. Present for 1; undecided for a flow fault, which may be anything; absent for
every other name. It always answers. Fooled by a trap that trips on dirt.
Source: IMO MSC.1/Circ.1370, 3.2.1 (list of alarm causes).
"""

import numpy as np

from alarmsift.evidence.sign import Sign, SignReading, Weight
from alarmsift.evidence.windows import Windows
from alarmsift.tables.labels import text_of


def read(w: Windows) -> SignReading:
    """Return whether the fault is named for water."""
    level = text_of(w.episode["level"]).str.lower()
    water = level.str.contains("water|trap|wet|moist").to_numpy(bool)
    strength = np.where(water, 1.0, np.where(level.str.contains("flow").to_numpy(bool), 0.0, -0.4))
    return SignReading(strength, water.astype(float))


SIGN = Sign(
    key="fault_name",
    title="Water named by the fault",
    needs=("events",),
    family="name",
    unit="yes or no",
    applies="fault",
    read=read,
    weights=(
        Weight("water", 12.5, -5, "the trap has seen water"),
        Weight("pump", 0, 0, "a worn pump does not trip a trap"),
    ),
    present="the analyser itself reported water",
    absent="the analyser did not report water",
)
