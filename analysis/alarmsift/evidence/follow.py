"""Does a point repeat what the point before it in the round shows?"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from alarmsift.evidence.shape import row_nanmedian
from alarmsift.evidence.sign import graded
from alarmsift.evidence.together import together
from alarmsift.evidence.windows import Windows

SPAN_HOURS = 5.0
# From this share on it is no rest of a sample: the same air or gas stands at both points.
SAME_AIR = 0.7
# Flow under half its clean value no longer brings a line's own air in time (CP).
CUT_FLOW = 0.5


@dataclass(frozen=True)
class Follow:
    """How far each alarmed point repeated the point before it, shape (E,) each.

    ``share`` is the share of the previous excess that it repeated; ``strength`` how sure it is
    that it did (-1 to 1, NaN = can't be told); ``clean`` how surely the line brought its own air
    (1 = clean, 0 = cut, 0.5 = not logged).
    """

    share: np.ndarray
    strength: np.ndarray
    clean: np.ndarray


@lru_cache(maxsize=2)
def follow(w: Windows) -> Follow:
    """Return how far each alarmed point followed the point before it around the raise."""
    good = (np.abs(w.rel) < SPAN_HOURS) & np.isfinite(w.x) & np.isfinite(w.prev)
    loud = good & (w.prev > 6.0 * w.noise[:, None])
    top = np.where(loud, w.prev, 0.0)
    slope = (top * np.where(loud, w.x, 0.0)).sum(axis=1) / np.maximum((top**2).sum(axis=1), 1e-9)
    together_r = _correlation(np.where(good, w.x, np.nan), np.where(good, w.prev, np.nan))
    # What it shows while the previous point is quiet is its own.
    quiet = good & (w.prev < 3.0 * w.noise[:, None])
    own = np.where(quiet, w.x, 0.0).sum(axis=1) / np.maximum(quiet.sum(axis=1), 1)
    before = np.nan_to_num(w.prev[:, w.at])
    explained = slope * before / np.maximum(w.x0, 1e-9)
    # More than the point before it had can't come from there.
    bigger = w.x0 > 1.05 * before + 3.0 * w.noise
    steady = loud.sum(axis=1) >= 0.9 * np.maximum(good.sum(axis=1), 1)
    strength = graded(together_r, absent=0.5, present=0.85)
    strength = np.where(steady & ~(together_r > 0.85), np.minimum(strength, 0.0), strength)
    apart = (own > 0.5 * w.x0) | (explained < 0.5) | bigger
    strength = np.where(apart, np.minimum(strength, -0.6), strength)
    crowd = np.nan_to_num(together(w).share) > 0.3
    known = loud.any(axis=1) & np.isfinite(together_r)
    strength = np.where(known & ~crowd, strength, np.nan)
    nothing = ~loud.any(axis=1) & np.isfinite(w.x0) & (good.sum(axis=1) >= 1)
    share = np.where(loud.any(axis=1), np.clip(slope, 0.0, 1.5), np.nan)
    return Follow(share, np.where(nothing, -1.0, strength), _clean(w))


def previous_is_kin(w: Windows) -> np.ndarray:
    """Tell whether the point before it shares its space or is a neighbour, shape (E,)."""
    visits = w.ship.visits
    if not len(visits):
        return np.zeros(len(w), bool)
    here = w.visit[:, w.at]
    before = np.where(here >= 0, visits.previous[here], -1)
    related = w.ship.kin[np.maximum(w.point, 0), visits.point[np.maximum(before, 0)]]
    return np.asarray(related & (before >= 0) & (w.point >= 0))


def _clean(w: Windows) -> np.ndarray:
    own = row_nanmedian(w.own[:, max(w.at - 1, 0) : w.at + 2])
    flow = row_nanmedian(w.flow_share[:, max(w.at - 1, 0) : w.at + 2])
    by_flow = np.clip((flow - CUT_FLOW) / 0.25, 0.0, 1.0)
    by_own = np.clip((own + 1.2) / 0.6, 0.0, 1.0)
    return np.where(np.isfinite(flow), by_flow, np.where(np.isfinite(own), by_own, 0.5))


def _correlation(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    good = np.isfinite(a) & np.isfinite(b)
    n = np.maximum(good.sum(axis=1), 1)
    mean_a = np.where(good, a, 0.0).sum(axis=1) / n
    mean_b = np.where(good, b, 0.0).sum(axis=1) / n
    da = np.where(good, a - mean_a[:, None], 0.0)
    db = np.where(good, b - mean_b[:, None], 0.0)
    size = np.sqrt((da**2).sum(axis=1) * (db**2).sum(axis=1))
    return np.where(good.sum(axis=1) >= 5, (da * db).sum(axis=1) / np.maximum(size, 1e-9), np.nan)
