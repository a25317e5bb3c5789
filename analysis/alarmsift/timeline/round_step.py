"""The steps of a round: how long a round takes, and what was drawn just before each visit."""

from __future__ import annotations

import numpy as np

# A usual gap this many times as long as a round has rounds missing in it; a step from point to
# point that this share of steps doesn't exceed has no row missing in it (CP).
HOLDS_MORE, SHORT_STEPS = 1.25, 0.25
# Such a round must be seen as a gap now and then: this share of gaps about as long (CP).
ABOUT, SEEN_SHARE = 0.3, 0.15
# A step this many times the usual one to that point holds another turn (CP).
MISSING_ROW = 1.6
# Turns of a point that are looked at together to tell what is usual (CP).
TURNS = 16
QUARTER_HOURS, ENOUGH_VISITS = 6.0, 50


def by_small(code: np.ndarray) -> np.ndarray:
    """Return the stable order of small codes (n,)."""
    small = len(code) == 0 or int(code.max()) < np.iinfo("int16").max
    return np.argsort(code.astype("int16") if small else code, kind="stable")  # radix sort


def just_before(
    analyser: np.ndarray, drawn: np.ndarray, hours: np.ndarray, point: np.ndarray
) -> np.ndarray:
    """Return for each visit the one that its analyser made just before; -1 where none is known.

    Where the step to a point took longer than usual, a row between the two is missing, or the round
    stood still: what was in the pipework just before is not known.
    """
    out = np.full(len(analyser), -1, "int64")
    grain = (
        1.0 / 60.0
        if len(hours) and np.allclose(hours * 60, np.round(hours * 60), atol=1e-6)
        else 0.0
    )
    for code in np.unique(analyser):
        mine = np.flatnonzero(analyser == code)
        if len(mine) < 2:
            continue
        step = np.diff(hours[mine])
        usual = _usual_step(step, point[mine[1:]])
        hole = step > np.maximum(MISSING_ROW * usual, usual + grain) + 1e-9
        seen = np.maximum.accumulate(np.where(drawn[mine], mine, -1))[:-1]
        # Rows that drew no air don't part the two, holes do.
        broken = np.maximum.accumulate(np.where(hole, mine[1:], -1))
        out[mine[1:]] = np.where(seen >= broken, seen, -1)
    return out


def _usual_step(step: np.ndarray, point: np.ndarray) -> np.ndarray:
    """Return the usual step to the point of each visit about that time [h], shape (n,).

    A short one of the few turns about it: where a round waits at points that are off, all steps to
    the next point are long for days; a lost row makes single ones so.
    """
    out = np.empty(len(step))
    for p in np.unique(point):
        mine = np.flatnonzero(point == p)
        blocks = np.full(-(-len(mine) // TURNS) * TURNS, np.inf)
        blocks[: len(mine)] = step[mine]
        short = np.sort(blocks.reshape(-1, TURNS), axis=1)[:, int(SHORT_STEPS * TURNS) - 1]
        short[~np.isfinite(short)] = np.quantile(step[mine], SHORT_STEPS)
        out[mine] = np.repeat(short, TURNS)[: len(mine)]
    return out


def round_hours(hours: np.ndarray, point: np.ndarray, analyser: np.ndarray) -> float:
    """Return the usual time between visits of one point [h]; 0.5 h when nothing repeats.

    The median gap; where so many rows are missing that it holds more than one round, what the
    analysers need for the points that they draw.
    """
    in_order = (np.diff(hours) >= 0).all()
    order = by_small(point) if in_order else np.lexsort((hours, point))
    gap = np.diff(hours[order])
    gap = gap[(np.diff(point[order]) == 0) & (gap > 0)]
    if not len(gap):
        return 0.5
    usual = float(np.median(gap))
    needed = [
        _needed_hours(hours[mine], point[mine])
        for mine in (np.flatnonzero(analyser == code) for code in np.unique(analyser))
        if len(mine) >= ENOUGH_VISITS
    ]
    whole = float(np.median(needed)) if needed else usual
    # Some rounds wait at the turns of points that are off; then no gap is as short as that.
    seen = np.mean(np.abs(gap - whole) < ABOUT * whole)
    return whole if usual > HOLDS_MORE * whole and seen > SEEN_SHARE else usual


def _needed_hours(hours: np.ndarray, point: np.ndarray) -> float:
    """Return the points drawn in a quarter of a day times the usual step between them [h]."""
    step = np.diff(hours)[np.diff(point) != 0]
    if not len(step):
        return np.inf
    block = ((hours - hours[0]) / QUARTER_HOURS).astype("int64")
    drawn = np.unique(block * (int(point.max()) + 1) + point) // (int(point.max()) + 1)
    count = np.unique(drawn, return_counts=True)[1]
    whole = float(np.median(count) * np.quantile(step, SHORT_STEPS))
    return whole if whole > 0 else np.inf
