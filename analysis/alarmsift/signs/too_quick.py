"""Too quick for the space: how often must its air have been changed for gas to go that fast?

Gas leaves a space as fast as its air is changed. A closed tank or void changes its air a few times
a day, under ventilation or while ballast is discharged a few times an hour, a pump room twenty
times an hour. An alarm that was gone faster than that was not gas of the whole space.

Columns: points (kind), else the point's name; readings. Measure: air changes an hour that the fall
from the raise to the next visits needs, over what the space can have (6 a tank or void, as under
ventilation or ballast work, which are not always written down; 40 a pump room). Clearly present
(too quick) from 2 times, clearly absent to 0.5; no data where the kind of space is not known or the
excess is not clear of the noise. Fooled by a pocket of gas that passes the probe. Source:
C = C0 exp(-n t); SOLAS II-2/4.5.4.1, 20 air changes an hour in pump rooms (from memory); the others
are common practice.
"""

import numpy as np

from alarmsift.evidence.shape import nearest_valid
from alarmsift.evidence.sign import Sign, SignReading, Weight, graded
from alarmsift.evidence.windows import Windows
from alarmsift.timeline.kinds import kinds_of

# Air changes an hour that a space can have.
TANK, PUMP_ROOM = 6.0, 40.0
TANK_KINDS = ("ballast", "void", "cofferdam", "duct_keel")


def read(w: Windows) -> SignReading:
    """Return the air changes needed over those that the space can have."""
    kind = np.append(kinds_of(w.ship.visits.points, w.ship.logs.points), "")[w.point]
    after = w.after(w.x)[:, 1:]
    left = nearest_valid(after)
    good = np.isfinite(after[:, :6])
    column = w.at + 1 + (good.argmax(axis=1) if good.shape[1] else 0)
    column = np.minimum(column, w.rel.shape[1] - 1)
    hours = w.rel[np.arange(len(w)), column] - w.rel[:, w.at]
    rest = np.maximum(left, 2.0 * w.noise)
    clear = (w.x0 > 6.0 * w.noise) & np.isfinite(left) & (hours > 1e-3)
    with np.errstate(invalid="ignore", divide="ignore"):
        needed = np.log(np.where(clear, w.x0 / rest, np.nan)) / hours
    can = np.select([np.isin(kind, TANK_KINDS), kind == "pump_room"], [TANK, PUMP_ROOM], np.nan)
    measure = needed / can
    return SignReading(graded(measure, absent=0.5, present=2.0), measure)


SIGN = Sign(
    key="too_quick",
    title="Gone faster than the space can lose gas",
    needs=("readings", "points: kind"),
    family="too_quick",
    unit="times",
    applies="alarm",
    read=read,
    weights=(
        Weight("gas", -13.5, 5, "gas leaves a space only as fast as its air is changed"),
        Weight("tight_setpoint", -16.5, 0, "a background does not go"),
    ),
    present="it went {m:.0f} times faster than the space can lose gas",
    absent="it went no faster than the space can lose gas",
)
