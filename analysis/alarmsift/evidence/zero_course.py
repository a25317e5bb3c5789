"""The course of a detector's zero: what every point of the analyser shows at once, up or down.

A zero moves all points alike, the one of clean air too; gas and vapour never reach the least of
them as far. A display that shows nothing under nought hides a zero under nought: what is left of it
is what zero checks found, and that the display lies still.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from alarmsift.evidence.blocks import rolling_median
from alarmsift.evidence.ship import Ship
from alarmsift.evidence.span_checks import analyser_named
from alarmsift.evidence.zero import FEWEST_POINTS, MANY_POINTS, ZeroModel, resets_of

# Blocks that are looked at together: gusts are shorter, swings of the day longer (CP).
SMOOTH_BLOCKS = 3
# The quantile of the gap between what all share and the least of them that is the usual one [-].
USUAL = 0.5
# Readings above nought within this span [h]; under the first share of them the display is still, a
# display that usually has the second share moves, and one with the third part of its usual share
# is off its floor (CP).
STILL_HOURS, DEAD, MOVES, ALIVE = 12.0, 0.02, 0.5, 0.3
# Fewer than this share of the points say little of what all share: the others are off the line.
ENOUGH = 0.3


@dataclass(frozen=True)
class ZeroCourse:
    """One detector.

    Attributes
    ----------
    hours : ndarray, shape (b,)
        Start of each block [h since origin].
    width : float
        Of a block [h].
    zero : ndarray, shape (b,)
        What all points share, no higher than the least of them and the clean air allow [unit].
    resets : ndarray, shape (k,)
        Adjustments of the zero [h].
    alive : ndarray of bool, shape (b,)
        Whether the display stood above its floor: where it shows nothing under nought, a display
        on its floor does not say how far under it the zero is.
    dead : ndarray of bool, shape (b,)
        Whether it lay still at nought at every point though it usually moves.
    hidden : bool
        Whether the display hides a zero under nought.
    """

    hours: np.ndarray
    width: float
    zero: np.ndarray
    resets: np.ndarray
    alive: np.ndarray
    dead: np.ndarray
    hidden: bool


def zero_course(ship: Ship, gas: str, analyser: int) -> ZeroCourse:
    """Return the course of one detector's zero."""
    model = ship.zeros[gas, analyser]
    resets = resets_of(ship.operations, gas)
    own = model.blocks.median - (20.9 if gas == "O2" else 0.0) - model.background[None, :]
    shared = np.minimum(model.common, _least(own, model))
    if ship.reference is not None and np.isfinite(own[:, ship.reference]).any():
        shared = np.where(shared > 0.0, np.fmin(shared, own[:, ship.reference]), shared)
    zero = _smooth(shared, model, resets)
    share = _above_nought(ship, model)
    usual = float(np.quantile(share, 0.75))
    return ZeroCourse(
        hours=model.blocks.hours - model.blocks.width / 2.0,
        width=model.blocks.width,
        zero=zero,
        resets=resets,
        alive=share > ALIVE * usual if usual >= MOVES / 2.0 else np.zeros(len(share), bool),
        dead=(share <= DEAD) & (usual >= MOVES) & model.clipped,
        hidden=model.clipped,
    )


def _above_nought(ship: Ship, model: ZeroModel) -> np.ndarray:
    """Return the share of readings above nought in the half day around each block, shape (b,)."""
    visits = ship.visits
    value = visits.value[model.gas]
    mine = (visits.analyser == model.analyser) & np.isfinite(value)
    block = (visits.hours[mine] // model.blocks.width).astype("int64")
    size = len(model.zero)
    seen = np.bincount(block, minlength=size)[:size]
    above = np.bincount(block, weights=value[mine] > 0.0, minlength=size)[:size]
    span = max(int(round(STILL_HOURS / model.blocks.width)) | 1, 3)
    share = pd.Series(np.where(seen > 0, above / np.maximum(seen, 1), np.nan))
    return np.asarray(share.rolling(span, center=True, min_periods=1).median().ffill().fillna(1.0))


def zero_checks(ship: Ship, gas: str, analyser: int) -> pd.DataFrame:
    """Return what zero checks found and adjustments left: ``hours``, ``found`` [unit], ``left``."""
    rows = ship.operations.of("zero_check", "zero_adjust").drop_duplicates("position")
    rows = rows[(rows["gas"] == gas) | (rows["gas"] == "")]
    who = analyser_named(ship, rows)
    names = ship.visits.analysers
    told = names[analyser]
    rows = rows[(who == "") | (who == told) | ~np.isin(who, names)]
    left = (rows["action"] == "zero_adjust").to_numpy()
    # As left after an adjustment is right by meaning: what it reads is a rest.
    shown = np.where(left, 0.0, rows["value"].to_numpy(float))
    good = np.isfinite(shown)
    hours = rows["hours"].to_numpy(float)[good]
    return pd.DataFrame({"hours": hours, "found": shown[good], "left": left[good]})


def _least(own: np.ndarray, model: ZeroModel) -> np.ndarray:
    """Return the level of the least points, above nought as usual, shape (b,)."""
    ordered = np.sort(own, axis=1)
    count = np.isfinite(own).sum(axis=1)
    column = np.minimum(np.where(count >= MANY_POINTS, 1, 0), own.shape[1] - 1)
    enough = np.maximum(FEWEST_POINTS, ENOUGH * np.median(count[count > 0])) if count.any() else 1
    least = np.where(count >= enough, ordered[np.arange(len(own)), column], np.nan)
    gap = model.common - least
    usual = np.nanquantile(gap, USUAL) if np.isfinite(gap).any() else 0.0
    return np.asarray(least + max(float(usual), 0.0))


def _smooth(shared: np.ndarray, model: ZeroModel, resets: np.ndarray) -> np.ndarray:
    """Return the running median that never looks across an adjustment, gaps filled, shape (b,)."""
    cut = np.searchsorted(model.blocks.hours, resets)
    edges = np.unique(np.concatenate([[0], cut, [len(shared)]]))
    out = np.full(len(shared), np.nan)
    for a, b in zip(edges[:-1], edges[1:], strict=True):
        out[a:b] = rolling_median(shared[a:b], SMOOTH_BLOCKS)[:, 0]
        if a and not np.isfinite(out[a:b]).any():
            out[a:b] = 0.0  # nothing was seen since, but it was put right
    good = np.isfinite(out)
    if not good.any():
        return np.zeros(len(shared))
    return np.asarray(np.interp(model.blocks.hours, model.blocks.hours[good], out[good]))
