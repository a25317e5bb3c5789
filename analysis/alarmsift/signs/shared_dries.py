"""Shared part dries out: was what all points share gone again within hours, by itself?

Deck vapour blows away and leaves nothing; wet optics dry out over one to a few hours, so that a
good part still shows; a zero that stepped (adjusted on dirty air, a knock, a new sensor) stays
where it is until somebody adjusts it.

Columns: readings of at least three points. Measure: share left of the jump in the shared part,
one and a half to four hours after the alarm, looked at only up to the next adjustment. Clearly
present (gone) to 0.08, clearly absent (still there) from 0.35, undecided at about a fifth; no
data where the shared part did not jump. Fooled by vapour that lingers on a still day, and by an
adjustment that nobody wrote down. Source: common practice.
"""

import numpy as np

from alarmsift.evidence.shape import row_nanmax, row_nanmedian
from alarmsift.evidence.sign import Sign, SignReading, Weight, graded
from alarmsift.evidence.windows import Windows
from alarmsift.evidence.zero import resets_of


def read(w: Windows) -> SignReading:
    """Return what was left of the jump."""
    cycle, hours = w.ship.visits.cycle_hours, w.ship.grid_hours
    measure = np.full(len(w), np.nan)
    owner = np.zeros(len(w.ship.visits.points), "int64")
    owner[w.ship.visits.point] = w.ship.visits.analyser
    for (gas, analyser), model in w.ship.zeros.items():
        mine = (w.gas == gas) & (np.append(owner, -1)[w.point] == analyser)
        rows = np.flatnonzero(mine & np.isfinite(w.value))
        if not len(rows):
            continue
        shared = w.ship.shared_fast[gas] + np.interp(hours, model.blocks.hours, model.zero)
        shared = -shared if gas == "O2" else shared
        resets = np.append(resets_of(w.ship.operations, gas), np.inf)
        until = resets[np.searchsorted(resets, w.raised[rows] - 0.3)]
        centre = (w.raised[rows] // cycle).astype(int)

        top = row_nanmax(_block(shared, centre, until, cycle, -0.5, 1.0))
        before = row_nanmedian(_block(shared, centre, until, cycle, -6.0, -2.0))
        later = row_nanmedian(_block(shared, centre, until, cycle, 1.5, 4.0))
        jump = top - before
        clear = jump > np.maximum(4.0 * np.nanmedian(w.ship.noise[gas]) / 2.0, 0.3 * w.value[rows])
        left = (later - before) / np.maximum(jump, 1e-9)
        measure[rows] = np.where(clear, np.clip(left, -0.5, 1.5), np.nan)
    return SignReading(graded(measure, absent=0.35, present=0.08), measure)


def _block(  # noqa: PLR0913, PLR0917  (a window of a series)
    shared: np.ndarray,
    centre: np.ndarray,
    until: np.ndarray,
    cycle: float,
    first: float,
    last: float,
) -> np.ndarray:
    """Return the shared part from ``first`` to ``last`` hours after each raise, (E, rounds)."""
    at = centre[:, None] + np.arange(int(first / cycle), int(last / cycle) + 1)[None, :]
    inside = (at >= 0) & (at < len(shared)) & (at * cycle < until[:, None] - 0.7)
    return np.where(inside, shared[np.clip(at, 0, len(shared) - 1)], np.nan)


SIGN = Sign(
    key="shared_dries",
    title="What all points share, hours later",
    needs=("readings of three points",),
    family="zero_speed",
    unit="share left",
    applies="alarm",
    read=read,
    weights=(Weight("moisture", -11, 0, "wet optics still show in part after some hours"),),
    present="what all points shared was gone some hours later ({m:.0%} left)",
    absent="of what all points shared {m:.0%} was left some hours later",
)
