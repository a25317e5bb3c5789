"""Did the other point of the space show it as well?"""

from __future__ import annotations

import numpy as np

from alarmsift.evidence.windows import Windows

# The other point shows it from this share of the excess, clear of the noise, within so many
# rounds of the raise (CP).
SHARE, CLEAR_OF_NOISE, ROUNDS = 0.3, 4.0, 2


def pair_rose(w: Windows) -> np.ndarray:
    """Tell whether another point of the same space stood over its level at the raise, shape (E,).

    What is in a line or in its filter is in one line; gas in the space is drawn by both.
    """
    visits = w.ship.visits
    out = np.zeros(len(w), bool)
    for gas in visits.gases:
        rows = np.flatnonzero((w.gas == gas) & (w.point >= 0))
        grid = w.ship.grid[gas]
        if not len(rows) or not len(grid):
            continue
        centre = (w.raised[rows] // visits.cycle_hours).astype(int)
        at = np.clip(centre[:, None] + np.arange(-ROUNDS, ROUNDS + 1)[None, :], 0, len(grid) - 1)
        turn = np.where(w.rising[rows], 1.0, -1.0)[:, None, None]
        highest = np.fmax.reduce(turn * grid[at], axis=1)
        mine = w.point[rows]
        own = np.arange(grid.shape[1])[None, :] == mine[:, None]
        noise = CLEAR_OF_NOISE * w.ship.noise[gas][None, :]
        shown = highest > np.maximum(SHARE * w.x0[rows][:, None], noise)
        out[rows] = (shown & w.ship.kin[mine] & ~own).any(axis=1)
    return out
