"""What the other points did at the time of an alarm."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from alarmsift.evidence.shape import row_nanmedian
from alarmsift.evidence.windows import Windows

# Deck vapour comes and goes within an hour or two; wet optics jump at once (diagnosis by
# experience: common practice, no source).
REACH_HOURS = 1.5
REST_HOURS = (3.0, 9.0)
# Another point rose if it gained this share of the alarm's own excess and clears its noise.
RISE_SHARE = 0.15
RISE_NOISE = 3.0


@dataclass(frozen=True)
class Together:
    """The other points around each raise.

    Attributes
    ----------
    share : ndarray, shape (E,)
        Share of the other points that rose with it; NaN where fewer than three can be seen.
    reference : ndarray, shape (E,)
        Rise of the reference point over the rise of the alarmed one; NaN without one.
    spread : ndarray, shape (E,)
        Spread of the rises over their middle, among the other points that rose (robust).
    middle : ndarray, shape (E,)
        Middle rise of the other points over the rise of the alarmed one.
    risen : ndarray, shape (E,)
        The same among those that rose.
    """

    share: np.ndarray
    reference: np.ndarray
    spread: np.ndarray
    middle: np.ndarray
    risen: np.ndarray


@lru_cache(maxsize=2)
def together(w: Windows) -> Together:
    """Measure the rise of every point around each raise, against its own rest before."""
    n = len(w)
    share, reference = np.full(n, np.nan), np.full(n, np.nan)
    spread, middle = np.full(n, np.nan), np.full(n, np.nan)
    risen_middle = np.full(n, np.nan)
    cycle = w.ship.visits.cycle_hours
    reach = max(int(round(REACH_HOURS / cycle)), 2)
    rest = (max(int(REST_HOURS[0] / cycle), reach + 1), max(int(REST_HOURS[1] / cycle), reach + 4))
    for gas in w.ship.visits.gases:
        rows = np.flatnonzero((w.gas == gas) & (w.point >= 0) & np.isfinite(w.x0))
        if not len(rows):
            continue
        sign = -1.0 if gas == "O2" else 1.0
        rise = _rises(sign * w.ship.grid[gas], w.raised[rows], cycle, reach, rest)
        noise = w.ship.noise[gas]
        own = np.maximum(w.x0[rows], 1e-9)
        mine = w.point[rows]
        others = rise.copy()
        others[np.arange(len(rows)), mine] = np.nan
        analyser = _same_analyser(w, mine)
        others[~analyser | w.ship.kin[mine] | _rest_of(w, mine)] = np.nan
        need = np.maximum(RISE_SHARE * own[:, None], RISE_NOISE * noise[None, :])
        seen = np.isfinite(others)
        enough = seen.sum(axis=1) >= 3
        rose = (others > need) & seen
        share[rows] = np.where(enough, rose.sum(axis=1) / np.maximum(seen.sum(axis=1), 1), np.nan)
        level = np.where(enough[:, None], others, np.nan)
        middle[rows] = row_nanmedian(level) / own
        risen = np.where(rose & enough[:, None], others, np.nan)
        risen[rose.sum(axis=1) < 3] = np.nan
        centre = row_nanmedian(risen)
        gap = np.abs(risen - centre[:, None])
        spread[rows] = 1.4826 * row_nanmedian(gap) / np.maximum(centre, 1e-9)
        risen_middle[rows] = centre / own
        if w.ship.reference is not None:
            ref = rise[:, w.ship.reference] / own
            reference[rows] = np.where(mine == w.ship.reference, np.nan, ref)
    return Together(share, reference, spread, middle, risen_middle)


def _rest_of(w: Windows, point: np.ndarray) -> np.ndarray:
    """Return which points may show a rest of the alarmed point's sample, shape (E, P).

    Left in where too few points would remain.
    """
    rest = w.ship.followers[point]
    left = rest.shape[1] - rest.sum(axis=1) - w.ship.kin[point].sum(axis=1) - 1
    return rest & (left >= 4)[:, None]


def _same_analyser(w: Windows, point: np.ndarray) -> np.ndarray:
    visits = w.ship.visits
    owner = np.zeros(len(visits.points), "int64")
    owner[visits.point] = visits.analyser
    return owner[None, :] == owner[point][:, None]


def _rises(
    grid: np.ndarray, raised: np.ndarray, cycle: float, reach: int, rest: tuple[int, int]
) -> np.ndarray:
    """Return each point's top around the raise less its middle before, shape (E, P).

    The top is of a running median of three rounds, so that one wild reading is no rise.
    """
    n_rounds = len(grid)
    centre = np.clip((raised // cycle).astype(int), 0, n_rounds - 1)
    near = centre[:, None] + np.arange(-reach, reach + 1)[None, :]
    block = _take(grid, near)
    three = np.stack([block[:, :-2], block[:, 1:-1], block[:, 2:]])
    smooth = _middle_of_three(three)
    filled = np.isfinite(smooth)
    top = np.where(filled, smooth, -np.inf).max(axis=1)
    before = _take(grid, centre[:, None] - np.arange(rest[0], rest[1] + 1)[None, :])
    base = _nanmedian_axis1(before)
    return np.where(np.isfinite(top), top, np.nan) - np.nan_to_num(base)


def _middle_of_three(three: np.ndarray) -> np.ndarray:
    """Return the median of three, the mean of two, the one that is there (axis 0)."""
    ordered = np.sort(three, axis=0)  # blanks go last
    count = np.isfinite(three).sum(axis=0)
    two = (ordered[0] + ordered[1]) / 2.0
    return np.where(count == 3, ordered[1], np.where(count == 2, two, ordered[0]))


def _take(grid: np.ndarray, rounds: np.ndarray) -> np.ndarray:
    inside = (rounds >= 0) & (rounds < len(grid))
    out = grid[np.clip(rounds, 0, len(grid) - 1)]
    out[~inside] = np.nan
    return out


def _nanmedian_axis1(block: np.ndarray) -> np.ndarray:
    filled = np.isfinite(block).any(axis=1)
    safe = np.where(filled[:, None, :], block, 0.0)
    with np.errstate(all="ignore"):
        middle = np.nanmedian(safe, axis=1)
    return np.where(filled, middle, np.nan)
