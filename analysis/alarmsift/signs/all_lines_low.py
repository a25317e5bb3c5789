"""All lines low: had the flow fallen at every point together?

A worn pump or a clogged common filter takes flow from all lines, the longest first; water and
blockages take it from one.

Columns: flow. Measure: middle flow of all lines at the raise as a share of their clean flow.
Clearly present down to 0.72, clearly absent from 0.95 up, undecided half way between; no data
where no flow is logged. Fooled by several lines that choke at once.
Source: pump curve and Hagen-Poiseuille.
"""

import numpy as np

from alarmsift.evidence.sign import Sign, SignReading, Weight, graded
from alarmsift.evidence.windows import Windows


def read(w: Windows) -> SignReading:
    """Return the common share of flow at the raise."""
    share = w.common_share[:, w.at]
    strength = graded(share, absent=0.95, present=0.72)
    return SignReading(np.where(np.isfinite(share), strength, np.nan), share)


SIGN = Sign(
    key="all_lines_low",
    title="Flow of all lines together",
    needs=("flow",),
    family="pump",
    unit="share of clean flow",
    applies="fault",
    read=read,
    weights=(
        Weight("pump", 16, -19, "a worn pump takes flow from all lines"),
        Weight("water", -0.5, 0, "water is in one line"),
        Weight("blocked", -11, 2.5, "a blockage is in one line"),
    ),
    present="all lines together were down to {m:.0%} of their clean flow",
    absent="the other lines kept their flow ({m:.0%} of clean)",
)
