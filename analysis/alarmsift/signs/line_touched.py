"""Line touched: had the line lost even a little of its conductance?

Water need not fill a line to fool it: a slug or a wet filter already costs a tenth. A line that
stands at its clean value to within its own noise holds no water.

Columns: flow and suction. Measure: resistance as times the clean one, middle of the visits around
the raise. Clearly present from 1.15, clearly absent to 1.03, undecided at about 1.09; on a noisy
line all of these lie higher. No data with neither column. Fooled by a filter that clogs slowly.
Source: Hagen-Poiseuille; common practice.
"""

import numpy as np

from alarmsift.evidence.shape import row_nanmedian
from alarmsift.evidence.sign import Sign, SignReading, Weight, graded
from alarmsift.evidence.windows import Windows


def read(w: Windows) -> SignReading:
    """Return the resistance over clean; the limits widen with the line's own noise."""
    own = row_nanmedian(w.own[:, max(w.at - 1, 0) : w.at + 3])
    noise = np.append(w.ship.line.noise, np.nan)[w.point]
    loss = -own - np.maximum(1.5 * np.nan_to_num(noise) - 0.03, 0.0)
    return SignReading(graded(loss, absent=0.03, present=0.14), np.exp(-own))


SIGN = Sign(
    key="line_touched",
    title="Any loss of the line",
    needs=("flow", "suction"),
    family="line",
    unit="times clean",
    applies="both",
    read=read,
    weights=(
        Weight("water", 0, -13, "water in a line costs conductance, be it little"),
        Weight("blocked", 0.5, -20, "a blocked line is never at its clean value"),
        Weight("moisture", 0, 0, "condensate in the cell does not touch the line"),
    ),
    present="the line had lost some of its conductance (resistance {m:.2f} times clean)",
    absent="the line stood at its clean value (resistance {m:.2f} times clean)",
)
