"""The movement of a detector's zero that most points show alike, however some of them stray.

Alarms are judged against a zero that gas can't lift, so it follows the lowest points; a point whose
own level fell drags that one down. Where a detector's drift is foretold the middle of the points is
the better guide: a polish [1]_, which a third of them on either side can't move.

References
----------
.. [1] Tukey, J. W., *Exploratory Data Analysis* (1977), chapter 11 (from memory).
"""

from __future__ import annotations

import numpy as np

from alarmsift.evidence.zero import FEWEST_POINTS, ZeroModel

# Middles of rows and columns by turns settle within so many rounds.
ROUNDS = 8
# Of the points on either side; the mean of the rest, for a median would stand still between the
# steps of a coarse display [-] (set on simulated ships).
LEFT_OUT = 0.35
# In this share of the blocks not most of the points hold gas (CP) [-].
RULE = 0.75
# The least of some medians of several readings lies no further under their middle [noise widths]
# (CP).
SLACK_NOISE = 1.5


def shared_zero(model: ZeroModel, zero: np.ndarray) -> np.ndarray:
    """Return the zero as most points show it in each block, shape (b,).

    NaN where fewer than three points were read, where half of them lay on the floor of a display
    that shows nothing under nought (such a block tells only that the zero is lower), and where
    some point shows far less, so that the others hold gas: no point shows less than the zero.

    Parameters
    ----------
    zero : ndarray, shape (b,)
        The zero that alarms are judged by: says at which level it lies as a rule.
    """
    table = model.blocks.median - (20.9 if model.gas == "O2" else 0.0)
    moved = _movement(table, clipped=model.clipped)
    seen = np.isfinite(moved)
    if not seen.any() or model.gas == "O2":
        return moved + (float(np.median((zero - moved)[seen])) if seen.any() else 0.0)
    least = np.full(len(table), np.nan)
    least[seen] = np.nanmin(table[seen], axis=1)
    over = moved - least
    most = -float(np.quantile(over[seen], RULE))
    level = min(float(np.median((zero - moved)[seen])), most)
    slack = max(2.0 * model.step, SLACK_NOISE * float(np.median(model.noise)))
    told = over + level <= slack
    if model.clipped:  # lower than that, and half of the points would lie on the floor
        told &= moved + level >= -max(float(np.median(model.background)), 0.0) - slack
    return np.where(told, moved + level, np.nan)


def _movement(table: np.ndarray, *, clipped: bool) -> np.ndarray:
    """Return what most points show alike in each block, but for its level, shape (b,)."""
    known = np.isfinite(table)
    floored = known & (table <= 0.0) & clipped
    table = np.where(floored, -np.inf, table)
    fewest = min(FEWEST_POINTS, int(known.any(axis=0).sum()))
    told = known.sum(axis=1) >= fewest
    told &= floored.sum(axis=1) < 0.5 * known.sum(axis=1)
    out = np.full(len(table), np.nan)
    if not told.any():
        return out
    rows = table[told]
    own = row_middle(rows.T)
    shared = np.zeros(len(rows))
    many = np.maximum(fewest, 0.5 * known[told].sum(axis=1))
    for _ in range(ROUNDS):
        own[~np.isfinite(own)] = np.nan  # a point that lies on the floor as a rule tells nothing
        shared = row_middle(rows - own)
        # Where most do, the few that are left tell of their own gas.
        few = (np.isfinite(own) & known[told]).sum(axis=1) < many
        shared[few | ~np.isfinite(shared)] = np.nan
        own = row_middle((rows - shared[:, None]).T)
    out[told] = shared
    return out


def row_middle(table: np.ndarray) -> np.ndarray:
    """Return the mean of the middle of each row, NaN left out, shape (r,).

    Where values of minus infinity reach into it, as much is left out above.

    Examples
    --------
    >>> row_middle(np.array([[3.0, np.nan, 1.0, 2.0], [-np.inf, 8.0, 2.0, 4.0]])).tolist()
    [2.0, 3.0]
    """
    ordered = np.sort(table, axis=1)  # NaN last
    count = (~np.isnan(table)).sum(axis=1)
    cut = np.maximum((count * LEFT_OUT).astype(int), np.isneginf(table).sum(axis=1))
    cut = np.minimum(cut, np.maximum(count - 1, 0) // 2)
    rank = np.arange(table.shape[1])[None, :]
    use = (rank >= cut[:, None]) & (rank < (count - cut)[:, None])
    total = np.where(use, ordered, 0.0).sum(axis=1)
    return np.where(count > 0, total / np.maximum(use.sum(axis=1), 1), np.nan)
