"""What the displayed value at the raise is made of: zero, background, carry-over, the rest.

The largest part names the cause, so the parts are measured before any shape is looked at.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from alarmsift.evidence.flat import flat_hours, flat_level
from alarmsift.evidence.follow import SAME_AIR, follow, previous_is_kin
from alarmsift.evidence.kept_now import kept_now
from alarmsift.evidence.windows import Windows

# Where the ship's own carry-over share can't be measured: a usual analyser keeps a few per cent
# of the previous sample (common practice, no source).
USUAL_CARRY = 0.03
# A level becomes a background while it is kept from the first to the second of these [h] (CP).
KEPT_FROM = (20.0, 48.0)


@dataclass(frozen=True)
class Budget:
    """Parts of the displayed deviation at the raise, shape (E,) each, in the gas's unit.

    ``total`` is the reading (for oxygen, what is missing to 20.9 %vol); ``own`` is what zero,
    background and carry-over leave unexplained.
    """

    total: np.ndarray
    zero: np.ndarray
    background: np.ndarray
    carried: np.ndarray
    own: np.ndarray

    def lead(self, part: str) -> np.ndarray:
        """Return by how much a part leads (or trails) the largest other part, over the total."""
        parts = {
            name: np.nan_to_num(getattr(self, name))
            for name in ("zero", "background", "carried", "own")
        }
        mine = parts.pop(part)
        rest = np.max(np.stack(list(parts.values())), axis=0)
        share = (mine - rest) / np.maximum(np.abs(self.total), 1e-9)
        return np.where(np.isfinite(self.total), share, np.nan)


@lru_cache(maxsize=2)
def budget(w: Windows) -> Budget:
    """Split the reading that raised each alarm into its parts."""
    turn = np.where(w.rising, 1.0, -1.0)
    nominal = np.where(w.gas == "O2", 20.9, 0.0)
    total = turn * (w.value - nominal)
    # What only the alarm list says can't be split: no reading stands behind it.
    total = np.where(np.isfinite(w.shown[:, w.at]), total, np.nan)
    slow = np.full(len(w), np.nan)
    share = np.full(len(w), USUAL_CARRY)
    at = w.visit[:, w.at]
    for gas in w.ship.visits.gases:
        mine = w.gas == gas
        slow[mine] = np.append(w.ship.slow[gas], np.nan)[at[mine]]
        known = np.append(w.ship.carry[gas].by_point, np.nan)[w.point[mine]]
        share[mine] = np.where(np.isfinite(known), known, USUAL_CARRY)
    share = np.maximum(share, np.maximum(_local_share(w), _share_now(w)))
    x0 = np.maximum(np.nan_to_num(w.x0), 0.0)
    slow = turn * np.nan_to_num(slow)
    # A level that was kept for days is the point's background, whenever it came.
    steady = np.nan_to_num(flat_level(w)) - turn * w.background
    span = KEPT_FROM[1] - KEPT_FROM[0]
    kept = np.clip((np.nan_to_num(flat_hours(w)) - KEPT_FROM[0]) / span, 0.0, 1.0)
    slow = np.clip(np.maximum(slow, steady * kept), 0.0, x0)
    carried = np.minimum(share * np.maximum(np.nan_to_num(w.prev[:, w.at]), 0.0), x0 - slow)
    zero = np.maximum(turn * w.zero, 0.0)
    background = np.maximum(turn * w.background, 0.0) + slow
    return Budget(total, zero, background, carried, np.nan_to_num(w.x0) - slow - carried)


def _local_share(w: Windows) -> np.ndarray:
    """Return the share of the previous sample that the point repeats just now, shape (E,).

    Only on a clean line, and not after a point of the same or the next space: there gas itself
    shows at both.
    """
    seen = follow(w)
    sure = (np.nan_to_num(seen.strength) > 0.5) & (seen.share < SAME_AIR) & ~previous_is_kin(w)
    return np.where(sure, np.nan_to_num(seen.share) * seen.clean, 0.0)


def _share_now(w: Windows) -> np.ndarray:
    """Return the share that other points keep of their samples at that time, 0 for unknown."""
    others = np.nan_to_num(kept_now(w).others)
    return np.where((others < SAME_AIR) & ~previous_is_kin(w), others, 0.0)


def own_matters(w: Windows) -> np.ndarray:
    """Return how far the shape of the excess bears on the cause, shape (E,).

    1 where the unexplained excess is the largest part of the reading, about half where another
    part is: the largest part names the cause.
    """
    # Without a reading to split, what the other logs say still counts, less surely.
    lead = np.nan_to_num(budget(w).lead("own"))
    return 0.5 + 0.5 * np.clip(0.5 + lead / 0.3, 0.15, 1.0)


def leftover(w: Windows) -> np.ndarray:
    """Return the unexplained excess as a share of the way to the setpoint, shape (E,).

    What zero, background and carry-over do not explain is possible gas.
    """
    nominal = np.where(w.gas == "O2", 20.9, 0.0)
    way = np.abs(w.setpoint - nominal)
    parts = budget(w)
    turn = np.where(w.rising, 1.0, -1.0)
    # A level that came within these logs and stayed may be a slow leak: it explains nothing.
    came = parts.background - np.maximum(np.nan_to_num(turn * w.background), 0.0)
    own = parts.own + np.maximum(came, 0.0)
    share = own / np.where(way > 0, way, np.nan)
    # Clear of the noise by itself, or needed to reach the setpoint at all.
    missing = way - parts.zero - (parts.background - np.maximum(came, 0.0)) - parts.carried
    clear = (own > CLEAR_OF_NOISE * w.noise) | (missing > CLEAR_OF_NOISE * w.noise)
    return np.where(clear, np.nan_to_num(share, nan=1.0), 0.0)


CLEAR_OF_NOISE = 2.5
# The others show the zero when their lower middle reaches this share of it (CP).
SHOWN_ELSEWHERE = 0.5
ELSEWHERE_HOURS = 2.0


def shared_elsewhere(w: Windows) -> np.ndarray:
    """Tell whether two other points or more, of other spaces, show the shared zero, shape (E,)."""
    visits = w.ship.visits
    out = np.zeros(len(w), bool)
    owner = np.zeros(max(len(visits.points), 1), "int64")
    owner[visits.point] = visits.analyser
    reach = max(int(round(ELSEWHERE_HOURS / visits.cycle_hours)), 2)
    for gas in visits.gases:
        rows = np.flatnonzero((w.gas == gas) & (w.point >= 0))
        if not len(rows):
            continue
        turn = -1.0 if gas == "O2" else 1.0
        grid = w.ship.grid[gas]
        mine = w.point[rows]
        centre = (w.raised[rows] // visits.cycle_hours).astype(int)
        at = np.clip(centre[:, None] + np.arange(-reach, reach + 1)[None, :], 0, len(grid) - 1)
        block = turn * grid[at]
        filled = np.isfinite(block)
        total = np.where(filled, block, 0.0).sum(axis=1)
        level = np.where(filled.any(axis=1), total / np.maximum(filled.sum(axis=1), 1), np.nan)
        hidden = w.ship.kin[mine] | (np.arange(grid.shape[1])[None, :] == mine[:, None])
        hidden |= owner[None, :] != owner[mine][:, None]
        shown = np.where(hidden, np.nan, level) + (turn * w.zero[rows])[:, None]
        ordered = np.sort(shown, axis=1)  # blanks go last
        count = np.isfinite(ordered).sum(axis=1)
        middle = ordered[np.arange(len(rows)), np.maximum((count - 1) // 2, 0)]
        enough = (count >= 2) & (middle >= SHOWN_ELSEWHERE * np.maximum(turn * w.zero[rows], 1e-9))
        out[rows] = enough
    return out
