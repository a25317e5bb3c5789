"""Line poor: had the line lost conductance when it alarmed?

Water and blockages choke a line: flow falls while suction rises, relative to the line's own clean
value and to what the other lines do. A poor line is no proof against gas: the space can leak while
its line is choked, and then the reading is too small, not wrong.

Columns: flow and suction (flow alone is weaker). Measure: resistance as times the clean one.
Clearly present from 1.8, clearly absent to 1.2, undecided at about one and a half; no data with
neither column. Fooled by a line whose clean value was learnt while it was dirty.
Source: Hagen-Poiseuille, dp = 128 mu L Q / (pi d^4).
"""

import numpy as np

from alarmsift.evidence.shape import row_nanmedian
from alarmsift.evidence.sign import Sign, SignReading, Weight, graded
from alarmsift.evidence.windows import Windows


def read(w: Windows) -> SignReading:
    """Return the resistance over clean, worst of the raise and the visits right around it."""
    near = w.own[:, max(w.at - 1, 0) : w.at + 2]
    around = row_nanmedian(near)
    own = np.where(np.isfinite(w.own[:, w.at]), np.minimum(w.own[:, w.at], around), around)
    strength = graded(own, absent=-0.2, present=-0.6)
    strength = np.where(own > 0.15, -1.0, strength)
    return SignReading(strength, np.exp(-own))


SIGN = Sign(
    key="line_poor",
    title="Resistance of the line",
    needs=("flow", "suction"),
    family="line",
    unit="times clean",
    applies="both",
    read=read,
    weights=(
        Weight("water", 11.5, 0, "water in the line takes the suction"),
        Weight("blocked", 10, 0, "a blockage takes the flow"),
        Weight("gas", 0, 0, "gas does not choke a line; nor does a choked line exclude gas"),
        Weight("ambient_vapour", 0, 4, "deck vapour does not choke a line"),
        Weight("spike", -8, 0, "a disturbance does not choke a line"),
        Weight("tight_setpoint", -33.5, 0, "a background does not choke a line"),
        Weight("carry_over", -1.5, 3.5, "with a choked line the old sample is the line's doing"),
        Weight("test_gas", -2, 0, "a test does not choke a line"),
    ),
    present="the line's resistance was {m:.1f} times its clean value",
    absent="the line was clean (resistance {m:.2f} times its clean value)",
)
