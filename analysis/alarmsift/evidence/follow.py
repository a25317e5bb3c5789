"""Does a point repeat what the point before it in the round shows?"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from alarmsift.evidence.sign import graded
from alarmsift.evidence.together import together
from alarmsift.evidence.windows import Windows

SPAN_HOURS = 3.0


@dataclass(frozen=True)
class Follow:
    """Share of the previous excess that a point repeats, and how sure that is; shape (E,)."""

    share: np.ndarray
    strength: np.ndarray


@lru_cache(maxsize=2)
def follow(w: Windows) -> Follow:
    """Return how far each alarmed point followed the point before it around the raise."""
    span = (w.rel > -SPAN_HOURS) & (w.rel < SPAN_HOURS)
    good = span & np.isfinite(w.x) & np.isfinite(w.prev)
    loud = good & (w.prev > 6.0 * w.noise[:, None])
    top = np.where(loud, w.prev, 0.0)
    slope = (top * np.where(loud, w.x, 0.0)).sum(axis=1) / np.maximum((top**2).sum(axis=1), 1e-9)
    # What it shows while the previous point is quiet is its own.
    quiet = good & (w.prev < 3.0 * w.noise[:, None])
    own = np.where(quiet, w.x, 0.0).sum(axis=1) / np.maximum(quiet.sum(axis=1), 1)
    before = np.nan_to_num(w.prev[:, w.at])
    explained = slope * before / np.maximum(w.x0, 1e-9)
    # More than the point before it had can't come from there.
    bigger = w.x0 > 1.1 * before + 3.0 * w.noise
    measure = np.where(loud.sum(axis=1) >= 1, np.clip(slope, 0.0, 1.5), np.nan)
    strength = graded(measure, absent=0.12, present=0.4)
    apart = (own > 0.5 * w.x0) | (explained < 0.5) | bigger
    strength = np.where(apart, np.minimum(strength, -0.5), strength)
    crowd = np.nan_to_num(together(w).share) > 0.3
    strength = np.where(np.isfinite(measure) & ~crowd, strength, np.nan)
    # No high sample before it at all: it follows nothing.
    nothing = np.isnan(measure) & np.isfinite(w.x0) & (good.sum(axis=1) >= 1)
    return Follow(measure, np.where(nothing, -1.0, strength))
