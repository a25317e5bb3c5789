"""For how long did a point keep the level at which it alarmed?"""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from alarmsift.evidence.block_course import block_courses
from alarmsift.evidence.shape import row_nanmedian
from alarmsift.evidence.windows import Windows

REACH_HOURS = 240.0
# A level counts as kept while block medians stay this near to it.
KEPT_SHARE = 0.18
KEPT_NOISE = 1.2
# Beyond a break the level is sought where it was kept so long before it [blocks], with its halves
# nearer to each other than this [tolerances], and where the reading that alarmed is so near to it.
ITSELF_BLOCKS, PASSED = 10, 0.5
NEAR_SHARE, NEAR_NOISE = 0.25, 3.0
# The level just before or after the raise, clear of the crossing itself.
BESIDE_HOURS = 4.0


def flat_hours(w: Windows) -> np.ndarray:
    """Return for how long the level that carried the alarm was kept [h], shape (E,)."""
    return _flat(w)[0]


def flat_level(w: Windows) -> np.ndarray:
    """Return that level, less the shared zero, alarms upwards, shape (E,)."""
    return _flat(w)[1]


@lru_cache(maxsize=2)
def _flat(w: Windows) -> tuple[np.ndarray, np.ndarray]:
    """Return hours and level, the longer of what held just before and just after the raise.

    On block medians, so that single readings do not break it; a test or a gap does not either.
    NaN where the point has no block near the raise.
    """
    reading = reading_over_zero(w)
    best, kept_level = np.full((2, len(w)), np.nan)
    for shift in (-BESIDE_HOURS, BESIDE_HOURS):
        hours, level = _around(w, shift)
        # What came after can't have carried an alarm below it.
        fits = level < 1.25 * reading + 2.0 * w.noise
        better = fits & np.isfinite(hours) & ~(hours <= best)
        best, kept_level = np.where(better, hours, best), np.where(better, level, kept_level)
    return best, kept_level


def _around(w: Windows, shift: float) -> tuple[np.ndarray, np.ndarray]:
    """Return for how long the level at ``shift`` hours from the raise was kept, and the level."""
    hours, kept_level = np.full((2, len(w)), np.nan)
    for rows, course, width in block_courses(w, REACH_HOURS, shift=shift):
        centre = course.shape[1] // 2
        level = row_nanmedian(course[:, centre - 1 : centre + 2])
        tolerance = np.maximum(KEPT_SHARE * level, KEPT_NOISE * w.noise[rows])
        off = (course - level[:, None]) / tolerance[:, None]
        over = reading_over_zero(w)[rows] - level
        near = over <= np.maximum(NEAR_SHARE * level, NEAR_NOISE * w.noise[rows])
        length = _kept(off, centre, seek=near) * width
        hours[rows] = np.where(np.isfinite(level), length, np.nan)
        kept_level[rows] = level
    return hours, kept_level


def reading_over_zero(w: Windows) -> np.ndarray:
    """Return the reading that alarmed, less the shared zero, alarms upwards, shape (E,)."""
    turn = np.where(w.rising, 1.0, -1.0)
    nominal = np.where(w.gas == "O2", 20.9, 0.0)
    return np.asarray(turn * (w.value - nominal - w.zero))


def _kept(off: np.ndarray, centre: int, *, seek: np.ndarray) -> np.ndarray:
    """Return how many blocks keep the level, from offsets in tolerances (E, blocks).

    A level that is found again under something higher was there all along, as it was in a gap;
    where it was left downwards it ends. It is sought beyond a break in the rows ``seek`` only, and
    only where what was kept without a break did not just pass it.
    """
    run, again = np.zeros((2, *off.shape), bool)
    within = np.abs(off) <= 1.0
    for way in (slice(centre, None), slice(centre, None, -1)):
        side = off[:, way]
        column = np.arange(side.shape[1])[None, :]
        # One block off the level does not end it; two in a row do.
        left, broken = _first_pair(side < -1.0), _first_pair(np.abs(side) > 1.0)
        run[:, way] |= within[:, way] & (column < broken)
        again[:, way] |= within[:, way] & (column >= broken) & (column < left)
    length = run.sum(axis=1)
    seek = seek & (length >= ITSELF_BLOCKS) & (np.abs(_lean(off, run)) < PASSED)
    return np.maximum(length - 1, 0) + np.where(seek, again.sum(axis=1), 0)


def _first_pair(state: np.ndarray) -> np.ndarray:
    """Return the column of the first two in a row, the width where there are none, (E, 1)."""
    pair = state[:, :-1] & state[:, 1:]
    return np.where(pair.any(axis=1), pair.argmax(axis=1), state.shape[1])[:, None]


def _lean(off: np.ndarray, run: np.ndarray) -> np.ndarray:
    """Return by how much the second half of a run lies over its first, shape (E,)."""
    order = np.cumsum(run, axis=1)
    late = order > order[:, -1:] / 2.0
    first, second = (
        np.where(half, off, 0.0).sum(axis=1) / np.maximum(half.sum(axis=1), 1)
        for half in (run & ~late, run & late)
    )
    return second - first
