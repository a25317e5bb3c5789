"""Did the level at which it alarmed stand there, or was it only passed?"""

from __future__ import annotations

import numpy as np

from alarmsift.evidence.block_course import block_courses
from alarmsift.evidence.flat import KEPT_NOISE, KEPT_SHARE
from alarmsift.evidence.shape import row_nanmedian
from alarmsift.evidence.windows import Windows

# A background is shown all day before and after: the display falls no lower than this share of it,
# and does not come down from so many times of it (CP).
DAY_HOURS, SHOWN_ALL_DAY, FELL_FROM = 24.0, 0.7, 1.5
# What stood this much higher within the days before leaves a rest for days, unless the level had
# stood as long before that [h] (CP).
DAYS_HOURS, HIGHER, BEFORE_HOURS = 240.0, 2.0, 20.0


def only_passed(w: Windows) -> np.ndarray:
    """Tell whether the level at the raise came, went or was fallen to, shape (E,).

    False where nothing was read about the raise.
    """
    out = np.zeros(len(w), bool)
    for rows, shown, _ in block_courses(w, DAY_HOURS, zero_out=False):
        level = _middle(shown)
        lowest = np.fmin.reduce(shown, axis=1)
        highest = np.fmax.reduce(shown[:, : shown.shape[1] // 2], axis=1)
        out[rows] |= (lowest < SHOWN_ALL_DAY * level) | (highest > FELL_FROM * level)
    for rows, own, width in block_courses(w, DAYS_HOURS):
        level = _middle(own)
        past = own[:, : own.shape[1] // 2]
        seen = np.where(np.isfinite(past), past, -np.inf)
        at = seen.argmax(axis=1)
        tolerance = np.maximum(KEPT_SHARE * level, KEPT_NOISE * w.noise[rows])
        same = np.abs(past - level[:, None]) <= tolerance[:, None]
        earlier = np.arange(past.shape[1])[None, :] < at[:, None]
        had_stood = (same & earlier).sum(axis=1) * width >= BEFORE_HOURS
        high = seen[np.arange(len(rows)), at] > HIGHER * level
        out[rows] |= high & ~had_stood
    return out


def _middle(course: np.ndarray) -> np.ndarray:
    centre = course.shape[1] // 2
    return row_nanmedian(course[:, centre - 1 : centre + 2])
