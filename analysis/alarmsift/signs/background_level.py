"""Background level: is the point's own steady background the largest part of the reading?

A coating's solvent or old residue can keep a space just under its setpoint for weeks; then noise
alone crosses it. Judged against the point's own level followed over days.

Columns: readings. Measure: by how much the background leads (or, negative, trails) the largest
other part, as a share of the reading. Clearly present from -0.1 up, clearly absent to -0.5, and
never present where the background is well under half the way to the setpoint; undecided between;
no data where no reading stands behind the alarm. Fooled by a slow leak that goes on for days (see
the sign ``new_level``). Source: common practice.
"""

import numpy as np

from alarmsift.evidence.budget import budget
from alarmsift.evidence.sign import Sign, SignReading, Weight, graded
from alarmsift.evidence.windows import Windows


def read(w: Windows) -> SignReading:
    """Return the lead of the background, blank where it is under half the setpoint."""
    parts = budget(w)
    lead = parts.lead("background")
    turn = np.where(w.rising, 1.0, -1.0)
    nominal = np.where(w.gas == "O2", 20.9, 0.0)
    limit = np.abs(turn * (w.setpoint - nominal))
    enough = np.nan_to_num(parts.background / np.maximum(limit, 1e-9), nan=0.5) - 0.5
    measure = np.where(enough < 0, np.minimum(lead, 2.0 * enough), lead)
    return SignReading(graded(measure, absent=-0.5, present=-0.1), measure)


SIGN = Sign(
    key="background_level",
    title="The point's steady background in the reading",
    needs=("readings",),
    family="budget",
    unit="share",
    applies="alarm",
    read=read,
    weights=(
        Weight("tight_setpoint", 27.5, 0, "a background counts from half the setpoint up"),
        Weight("moisture", -1, 0, "condensate comes and goes within hours"),
    ),
    present="the point's steady background is the largest part of the reading (lead {m:.0%})",
    absent="the point's steady background does not explain the reading",
)
