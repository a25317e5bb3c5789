"""Ballast: was the space being filled, or full, with its line still connected?

Ballast that reaches the probe enters the line, and shows until the line is drained.

Columns: operations with ballast rows. Measure: 1 when the point's space was filling (to six hours
after) or full (to twelve hours after) and the line was not disconnected, else 0. Present for 1,
absent for 0, never undecided; no data without ballast rows. Fooled by ballast work that nobody
wrote down. Source: IMO MSC.1/Circ.1370, 2.1.3-2.1.4 (means to keep ballast water out); the hours
are common practice.
"""

import numpy as np

from alarmsift.evidence.sign import Sign, SignReading, Weight, no_data
from alarmsift.evidence.windows import Windows

# Water shows until the line is drained: this long after a discharge (common practice, no source).
WET_TAIL_HOURS = 12.0


def read(w: Windows) -> SignReading:
    """Return whether water could have reached the probe."""
    ops = w.ship.operations
    if not len(ops.of("ballast_fill_start", "ballast_fill_end", "ballast_discharge_start")):
        return no_data(len(w))
    wet = ops.filling.active(w.point, w.raised, lag=6.0)
    wet |= ops.full.active(w.point, w.raised, lag=WET_TAIL_HOURS)
    connected = ~ops.disconnected.active(w.point, w.raised)
    measure = (wet & connected).astype(float)
    return SignReading(np.where(wet & connected, 1.0, -1.0), measure)


SIGN = Sign(
    key="ballast",
    title="Ballast in the space",
    needs=("operations: ballast rows",),
    family="water",
    unit="yes or no",
    applies="both",
    read=read,
    weights=(
        Weight("water", 7.5, 0, "ballast that reaches the probe enters the line"),
        Weight("blocked", 0, 0.5, "water explains a choked line here"),
        Weight("gas", 0, 0, "water is the plainer reason; the tank can still hold gas"),
    ),
    present="the space was filling or full of ballast with its line connected",
    absent="the space was not filled with its line connected",
)
