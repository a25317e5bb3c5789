"""Pump named: did the analyser report its pump?

A pump that fails is the one fault that the analyser sees for itself, whatever the lines do.

Columns: events (``level`` of faults). Measure: 1 where the fault is named for the pump, else 0.
Present for 1, undecided for every other name: a pump can fail unnamed. It always answers.
Source: IMO MSC.1/Circ.1370, 3.2.1 (list of alarm causes).
"""

import numpy as np

from alarmsift.evidence.sign import Sign, SignReading, Weight
from alarmsift.evidence.windows import Windows
from alarmsift.tables.labels import text_of


def read(w: Windows) -> SignReading:
    """Return whether the fault is named for the pump."""
    pump = text_of(w.episode["level"]).str.lower().str.contains("pump").to_numpy(bool)
    return SignReading(np.where(pump, 1.0, 0.0), pump.astype(float))


SIGN = Sign(
    key="pump_name",
    title="Pump named by the fault",
    needs=("events",),
    family="name",
    unit="yes or no",
    applies="fault",
    read=read,
    weights=(
        Weight("pump", 26, 0, "the analyser has seen its pump fail"),
        Weight("water", -8, 0, "a line's water is no pump fault"),
        Weight("blocked", -8, 0, "a line's blockage is no pump fault"),
    ),
    present="the analyser itself reported the pump",
    absent="the analyser did not report the pump",
)
