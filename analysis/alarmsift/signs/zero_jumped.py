"""Zero jumped: did what all points share come up within hours, or over days?

A detector's zero walks over days and swings with the day; wet optics jump for all points within a
visit or two, and deck vapour comes within the hour.

Columns: readings of at least three points. Measure: steepest rise of the shared part within an
hour and a half, in the four hours up to the alarm, as a share of what is shared now. Clearly
present from 0.5, clearly absent to 0.25 or where no rise clears the noise, undecided between; no
data where the shared part is under 0.35 of the reading. Fooled by a zero adjusted on dirty air,
which jumps as well (see ``shared_dries``). Source: common practice.
"""

import numpy as np

from alarmsift.evidence.shape import row_nanmax
from alarmsift.evidence.sign import Sign, SignReading, Weight, graded
from alarmsift.evidence.windows import Windows


def read(w: Windows) -> SignReading:
    """Return the fresh share of the shared part."""
    cycle = w.ship.visits.cycle_hours
    measure = np.full(len(w), np.nan)
    for (gas, analyser), model in w.ship.zeros.items():
        owner = np.append(_analyser(w), -1)[w.point]
        rows = np.flatnonzero((w.gas == gas) & (owner == analyser) & np.isfinite(w.value))
        if not len(rows):
            continue
        hours = w.ship.grid_hours
        shared = w.ship.shared_fast[gas] + np.interp(hours, model.blocks.hours, model.zero)
        shared = -shared if gas == "O2" else shared
        centre = (w.raised[rows] // cycle).astype(int)
        now = row_nanmax(_middle(_take(shared, centre, -2, 3)))
        # The steepest rise over an hour and a half, in the four hours up to the alarm.
        step, reach = max(int(1.5 / cycle), 2), max(int(4.0 / cycle), 3)
        course = _middle(_take(shared, centre, -reach - step - 1, 3))
        rise = row_nanmax(course[:, step:] - course[:, :-step])
        nominal = 20.9 if gas == "O2" else 0.0
        total = np.abs(w.value[rows] - nominal)
        matters = (now > 0.35 * total) & (rise > 1.5 * np.nanmedian(w.ship.noise[gas]))
        slow = (now > 0.35 * total) & ~matters
        share = rise / np.maximum(now, 1e-9)
        measure[rows] = np.where(matters, share, np.where(slow, 0.0, np.nan))
    return SignReading(graded(measure, absent=0.25, present=0.5), measure)


def _analyser(w: Windows) -> np.ndarray:
    owner = np.zeros(len(w.ship.visits.points), "int64")
    owner[w.ship.visits.point] = w.ship.visits.analyser
    return owner


def _take(series: np.ndarray, centre: np.ndarray, first: int, last: int) -> np.ndarray:
    at = centre[:, None] + np.arange(first, last)[None, :]
    return np.where((at >= 0) & (at < len(series)), series[np.clip(at, 0, len(series) - 1)], np.nan)


def _middle(block: np.ndarray) -> np.ndarray:
    return np.sort(np.stack([block[:, :-2], block[:, 1:-1], block[:, 2:]]), axis=0)[1]


SIGN = Sign(
    key="zero_jumped",
    title="How fast the shared part came up",
    needs=("readings of three points",),
    family="zero_speed",
    unit="share",
    applies="alarm",
    read=read,
    weights=(
        Weight("moisture", 6, 0, "wet optics jump for all points, then dry out"),
        Weight("zero_drift", 0, 11, "a zero walks over days"),
        Weight("ambient_vapour", 6.5, -1, "deck vapour comes within the hour"),
    ),
    present="{m:.0%} of what all points share came up within hours",
    absent="what all points share came up slowly",
)
