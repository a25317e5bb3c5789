"""Moves with the others: does the point's own course follow what the other points do together?

Deck vapour is gusty, and the gusts show at every exposed point in the same minutes; so does what
happens to the detector. Gas in one space has its own course, even during cargo work.

Columns: readings of at least four points. Measure: correlation with the middle of the upper half
of the other points (own carry-over taken out), from six hours before to six hours after. Clearly
present from 0.9, clearly absent to 0.2 or where the others hardly moved, undecided between; no
data with too few points or rounds. Fooled by two courses that rise at the same time by chance.
Source: Pearson correlation; common practice.
"""

import numpy as np

from alarmsift.evidence.sign import Sign, SignReading, Weight, graded
from alarmsift.evidence.windows import Windows

REACH_HOURS = 6.0


def read(w: Windows) -> SignReading:
    """Return the correlation of own and others' course, where the others moved at all."""
    cycle = w.ship.visits.cycle_hours
    reach = max(int(round(REACH_HOURS / cycle)), 6)
    measure = np.full(len(w), np.nan)
    for gas in w.ship.visits.gases:
        rows = np.flatnonzero((w.gas == gas) & (w.point >= 0) & np.isfinite(w.x0))
        if not len(rows):
            continue
        grid = (-1.0 if gas == "O2" else 1.0) * w.ship.grid[gas]
        centre = (w.raised[rows] // cycle).astype(int)
        near = np.clip(centre[:, None] + np.arange(-reach, reach + 1)[None, :], 0, len(grid) - 1)
        block = grid[near]
        mine = w.point[rows]
        own = block[np.arange(len(rows)), :, mine]
        rest = w.ship.followers[mine]
        rest &= (rest.shape[1] - rest.sum(axis=1) - w.ship.kin[mine].sum(axis=1) >= 5)[:, None]
        hidden = w.ship.kin[mine] | rest | (np.arange(grid.shape[1])[None, :] == mine[:, None])
        others = np.where(hidden[:, None, :], np.nan, block)
        shared = _upper_middle(others)
        noise = float(np.nanmedian(w.ship.noise[gas]))
        value = _correlation(own, shared)
        moved = np.nanstd(np.where(np.isfinite(shared), shared, 0.0), axis=1) > 0.8 * noise
        measure[rows] = np.where(moved, value, np.where(np.isfinite(value), 0.0, np.nan))
    return SignReading(graded(measure, absent=0.2, present=0.9), measure)


def _upper_middle(block: np.ndarray) -> np.ndarray:
    """Return the mean of the upper half of the points at each round, shape (E, R)."""
    count = np.isfinite(block).sum(axis=2)
    ordered = np.sort(block, axis=2)  # blanks go last
    rank = np.arange(block.shape[2])[None, None, :]
    use = (rank >= count[:, :, None] // 2) & (rank < count[:, :, None])
    total = np.where(use, np.nan_to_num(ordered), 0.0).sum(axis=2)
    return np.where(count >= 3, total / np.maximum(use.sum(axis=2), 1), np.nan)


def _correlation(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    good = np.isfinite(a) & np.isfinite(b)
    n = np.maximum(good.sum(axis=1), 1)
    a0, b0 = np.where(good, a, 0.0), np.where(good, b, 0.0)
    da = np.where(good, a0 - (a0.sum(axis=1) / n)[:, None], 0.0)
    db = np.where(good, b0 - (b0.sum(axis=1) / n)[:, None], 0.0)
    size = np.sqrt((da**2).sum(axis=1) * (db**2).sum(axis=1))
    value = (da * db).sum(axis=1) / np.where(size > 0, size, np.nan)
    return np.where(good.sum(axis=1) >= 8, value, np.nan)


SIGN = Sign(
    key="moves_with_others",
    title="Course against that of the other points",
    needs=("readings of four points",),
    family="together",
    unit="correlation",
    applies="alarm",
    read=read,
    weights=(
        Weight("ambient_vapour", 9.5, 0, "gusts show at every exposed point"),
        Weight("gas", -9, 0, "a space's gas has its own course"),
        Weight("spike", -15.5, 0, "a disturbance is alone"),
        Weight("tight_setpoint", 0, 0, "a background does not move"),
        Weight("water", 0, 0, "one line's water is its own"),
    ),
    present="its course follows that of the other points (correlation {m:.2f})",
    absent="its course is its own (correlation with the other points {m:.2f})",
)
