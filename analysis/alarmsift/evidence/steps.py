"""Find where a series changes its level for good; the only door to the change-point library.

Three stages, with one setting for every sensor:

1. *Candidates.* Isolated spikes are clipped, long series are thinned to block means, and an exact
   penalised search with a low penalty proposes too many steps on purpose.
2. *Judgement.* A candidate stays only if a step explains its surroundings far better than trend
   and persistent noise do (`alarmsift.evidence.step_gain`), and if the series does not move as
   much elsewhere as a matter of course (`usual_move`). The weakest goes first; its neighbours are
   judged again without it.
3. *Place.* Each step is put at the row that splits its surroundings best, at full resolution.

What fools it: an excursion of one or two rows is a spike, and under five rows (five blocks in a
series over 6000 rows) a regime may be missed; a step of one display step among flicker is not told
from rounding; a level that changes over many rows, however far, is a drift and not a step.

References
----------
.. [1] Killick, R., Fearnhead, P., Eckley, I. A., "Optimal detection of changepoints with a linear
   computational cost", *JASA* 107 (2012) 1590-1598.
.. [2] Chakar, S., Lebarbier, E., Levy-Leduc, C., Robin, S., "A robust approach for estimating
   change-points in the mean of an AR(1) process", *Bernoulli* 23 (2017) 1408-1447.
.. [3] Truong, C., Oudre, L., Vayatis, N., "Selective review of offline change point detection
   methods", *Signal Processing* 167 (2020) 107299.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import ruptures
from numpy.typing import ArrayLike, NDArray

from alarmsift.evidence.step_gain import gain_over_limit

Floats = NDArray[np.float64]

SHORTEST: Final = 5  # [rows] a regime that is searched for
LONGEST_SEARCH: Final = 6000  # [rows] above this, block means are searched
REACH: Final = 120  # [rows] looked at on either side of a candidate, at most
LOW_PENALTY: Final = 0.9  # [-] times channels x ln rows; a third of the usual 3, see stage 1
CLIP: Final = 4.0  # [-] robust standard deviations from the running median
MOVES: Final = (2, 4, 8, 16, 32)  # [rows] window lengths of the usual move
STANDS_OUT: Final = 3.0  # [-] usual moves that a sudden step must reach, in up to 100 rows
STANDS_OUT_MORE: Final = 0.4  # [-] more of them for each factor e of rows, more chances to err
STANDS_OUT_SLOW: Final = 0.5  # [-] more of them for a step with a passage of some rows
PASSAGES: Final = (4, 8, 12)  # [rows] that a level may take from old to new
LEAST_QUANTA: Final = 1.5  # [-] display steps, in a series that flickers between display steps


@dataclass(frozen=True)
class _Channels:
    """Standardised channels, shape (n, d); `seen` marks what was measured and not filled in."""

    values: Floats
    seen: NDArray[np.bool_]
    quanta: Floats  # shape (d,), display step in standard deviations


def change_points(values: ArrayLike) -> list[int]:
    """Return the rows at which a new level begins.

    Parameters
    ----------
    values : array, shape (n,) or (n, d)
        One sensor, or d sensors that share the rows. NaN is a missing value.

    Returns
    -------
    list of int
        Row numbers, rising; each is the first measured row of a new regime, never 0 and never n.
        Empty when nothing changed for good, and when there are fewer than ten measured rows.

    Examples
    --------
    >>> change_points([0.1, 0.0, 0.2, 0.1, 0.0, 0.1, 0.2, 0.0, 5.1, 5.0, 5.2, 5.1, 5.0, 5.1, 5.2])
    [8]
    """
    table = np.asarray(values, dtype=float)
    table = table.reshape(len(table), -1) if table.size else np.empty((0, 1))
    table = np.where(np.isfinite(table), table, np.nan)
    rows = np.flatnonzero(~np.isnan(table).all(axis=1))
    full = _channels(table[rows])
    if full is None:
        return []
    block = -(-len(rows) // LONGEST_SEARCH)
    searched = full if block == 1 else _thinned(full, block)
    found = _judged(searched, _candidates(searched.values))
    return [int(rows[at]) for at in _placed(full.values, [at * block for at in found], block)]


def _channels(table: Floats) -> _Channels | None:
    """Fill gaps, clip spikes, standardise; leave out channels that never move."""
    seen = np.isfinite(table)
    columns, masks, quanta = [], [], []
    for column, mask in zip(table.T, seen.T, strict=True):
        if np.count_nonzero(mask) < 2 * SHORTEST:
            continue
        measured = column[mask]
        filled = np.interp(np.arange(len(column)), np.flatnonzero(mask), clipped(measured))
        spread = filled.std()
        if spread > 1e-12 * np.abs(filled).max():
            columns.append((filled - filled.mean()) / spread)
            masks.append(mask)
            quanta.append(display_step(measured) / spread)
    if not columns:
        return None
    return _Channels(np.column_stack(columns), np.column_stack(masks), np.array(quanta))


def clipped(series: Floats) -> Floats:
    """Return the series, shape (n,), with isolated spikes drawn in to its running median."""
    around = np.lib.stride_tricks.sliding_window_view(np.pad(series, 2, mode="reflect"), 5)
    middle = np.median(around, axis=1)
    off = np.abs(series - middle)
    # the upper quantile speaks for displays that rest on one value more than half the time
    width = max(1.4826 * float(np.median(off)), 0.6 * float(np.quantile(off, 0.9)))
    return np.clip(series, middle - CLIP * width, middle + CLIP * width)


def display_step(series: Floats) -> float:
    """Return the smallest difference of values, shape (n,); 0 where the levels are clean blocks."""
    if np.count_nonzero(np.diff(series)) <= max(1, min(3, len(series) // 30)):
        return 0.0
    return float(np.diff(np.unique(series)).min())


def _thinned(full: _Channels, block: int) -> _Channels:
    """Return means of blocks of rows; a block counts as seen when any of its rows was."""
    rows = len(full.values) // block * block
    shape = (-1, block, full.values.shape[1])
    means = full.values[:rows].reshape(shape).mean(axis=1)
    seen = np.asarray(full.seen[:rows].reshape(shape).any(axis=1))
    return _Channels(means, seen, full.quanta)


def _candidates(values: Floats) -> list[int]:
    """Return more steps than there are: the exact search, at a low penalty."""
    rows, width = values.shape
    if rows < 2 * SHORTEST:
        return []
    search = ruptures.KernelCPD(kernel="linear", min_size=SHORTEST, jump=1).fit(values)
    return [int(end) for end in search.predict(pen=LOW_PENALTY * width * np.log(rows))[:-1]]


def usual_move(values: Floats, window: int) -> tuple[Floats, Floats]:
    """Return how the mean moves from one window to the next, and how much it usually does.

    Parameters
    ----------
    values : ndarray, shape (n, d)
        Channels without gaps.
    window : int
        Rows of either window [rows], at most n / 2.

    Returns
    -------
    moves : ndarray, shape (n - 2 window + 1, d)
        Mean after less mean before, for rows ``window`` to ``n - window``, median taken off.
    usual : ndarray, shape (d,)
        Robust standard deviation of the moves. A swing or a wander that goes on all the time has
        large usual moves, so that no part of it stands out.
    """
    total = np.vstack([np.zeros((1, values.shape[1])), np.cumsum(values, axis=0)])
    at = np.arange(window, len(values) - window + 1)
    moves = (total[at + window] - 2.0 * total[at] + total[at - window]) / window
    moves = moves - np.median(moves, axis=0)
    return moves, 1.4826 * np.median(np.abs(moves), axis=0)


def _standing_out(values: Floats, candidates: list[int]) -> Floats:
    """Return by how many usual moves each candidate stands out, shape (candidates, d)."""
    best = np.zeros((len(candidates), values.shape[1]))
    for window in MOVES:
        if len(values) < 4 * window:
            break
        moves, usual = usual_move(values, window)
        moves = np.where(np.abs(moves) > 1e-9, np.abs(moves), 0.0)
        share = np.divide(moves, usual, out=np.where(moves > 0, np.inf, 0.0), where=usual > 1e-9)
        for row, at in enumerate(candidates):
            near = share[max(at - window - window // 2 - 1, 0) : at - window + window // 2 + 2]
            if len(near):
                best[row] = np.maximum(best[row], near.max(axis=0))
    return best


def _judged(channels: _Channels, candidates: list[int]) -> list[int]:
    """Return the candidates that stay when the weakest is dropped until all are strong enough."""
    out = dict(zip(candidates, _standing_out(channels.values, candidates), strict=True))
    kept = list(candidates)
    strength = [_strength(channels, kept, place, out) for place in range(len(kept))]
    while kept and min(strength) < 1.0:
        weakest = int(np.argmin(strength))
        del kept[weakest], strength[weakest]
        for place in (weakest - 1, weakest):
            if 0 <= place < len(kept):
                strength[place] = _strength(channels, kept, place, out)
    return kept


def _strength(channels: _Channels, kept: list[int], place: int, out: dict[int, Floats]) -> float:
    """Return the gain over its limit of one candidate, seen between its neighbours."""
    rows, width = channels.values.shape
    at = kept[place]
    first = max(kept[place - 1] if place else 0, at - REACH)
    last = min(kept[place + 1] if place + 1 < len(kept) else rows, at + REACH)
    asked = STANDS_OUT + STANDS_OUT_MORE * float(np.log(max(rows, 100) / 100.0))
    best = 0.0
    for channel in np.flatnonzero(out[at] >= asked):
        mask = channels.seen[first:last, channel]
        before = int(np.count_nonzero(mask[: at - first]))
        around = channels.values[first:last, channel][mask]
        if min(before, len(around) - before) < SHORTEST:
            continue
        step = abs(around[before:].mean() - around[:before].mean())
        if step < LEAST_QUANTA * channels.quanta[channel]:
            continue
        passages = PASSAGES if out[at][channel] >= asked + STANDS_OUT_SLOW else ()
        best = max(
            best,
            gain_over_limit(
                around,
                before,
                passages=(0, *passages),
                rounding=float(channels.quanta[channel]),
                searched=(rows, width),
            ),
        )
    return best


def _placed(values: Floats, found: list[int], block: int) -> list[int]:
    """Move each step to the row nearby that splits its surroundings best."""
    placed: list[int] = []
    for number, at in enumerate(found):
        before = placed[-1] if placed else 0
        after = found[number + 1] if number + 1 < len(found) else len(values)
        radius = 2 * block + 3
        first, last = max(before, at - 5 * radius), min(after, at + 5 * radius)
        around = values[first:last] - values[first:last].mean(axis=0)
        split = np.arange(1, len(around))
        gain = (np.cumsum(around, axis=0)[:-1] ** 2).sum(axis=1) / (split * (len(around) - split))
        gain[np.abs(split + first - at) > radius] = -1.0
        placed.append(first + 1 + int(np.argmax(gain)))
    return placed
