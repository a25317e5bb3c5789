"""Find where a series changes its level for good; the only door to the change-point library.

Three stages, with one setting for every sensor:

1. *Candidates.* Isolated spikes are taken out, and exact searches with low penalties propose too
   many steps on purpose: all channels together, and each alone without its swing.
2. *Judgement.* A candidate stays only if a step explains its surroundings far better than trend
   and persistent noise do (`alarmsift.evidence.step_gain`), and if the series does not move as
   much elsewhere as a matter of course (`usual_move`). The weakest goes first; its neighbours are
   judged again without it.
3. *Place.* Each step is put at the row that splits its surroundings best, at full resolution.

Long series are searched once in full, piece by piece, and once more in block means, where small
steps between long regimes show.

What fools it: an excursion of one to four rows is a spike, and under ten rows a regime may be
missed; so may a step smaller than the swing or wander around it; a step of one display step among
flicker is not told from rounding; a level that changes over many rows, however far, is a drift.

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

from bisect import bisect_left
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

import numpy as np
import ruptures
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import ArrayLike, NDArray

from alarmsift.evidence.step_gain import gain_over_limit
from alarmsift.evidence.swing import rhythm, waves

Floats = NDArray[np.float64]

SHORTEST: Final = 5  # [rows] a regime that is searched for
LONGEST_SEARCH: Final = 6000  # [rows] above this, block means are searched
REACH: Final = 150  # [rows] looked at on either side of a candidate, at most
LOW_PENALTY: Final = 0.9  # [-] times channels x ln rows; a third of the usual 3, see stage 1
CLIP: Final = 4.0  # [-] robust standard deviations from the running median
PIECE: Final = 1200  # [rows] searched at once
OVERLAP: Final = 300  # [rows] of one piece with the next
QUIETER: Final = 0.35  # [-] share of the moves that hold no step, even among many steps
QUIETER_NORMAL: Final = 0.4538  # [-] what bounds that share of normal moves, in standard deviations
WILD: Final = 0.01  # [-] share of the noise, at either end, that says nothing of its shape
MOVES: Final = (2, 4, 8, 16, 32, 64, 128)  # [rows] window lengths of the usual move
STANDS_OUT: Final = 1.25  # [-] times the largest move of pure noise, for a sudden step
STANDS_OUT_SLOW: Final = 1.45  # [-] the same for a step with a passage of some rows
PASSAGES: Final = (4, 8, 12)  # [rows] that a level may take from old to new
RESTLESS: Final = 0.3  # [-] share of rows with another value than the row before
LEAST_QUANTA: Final = 1.5  # [-] display steps, in a series that flickers between display steps


@dataclass(frozen=True)
class _Channels:
    """Standardised channels, shape (n, d); `seen` marks what was measured and not filled in."""

    values: Floats
    seen: NDArray[np.bool_]
    quanta: Floats  # shape (d,), display step in standard deviations
    tails: Floats  # shape (d, 2), skewness and excess kurtosis of the noise [-]


@dataclass(frozen=True)
class _Course:
    """What a search knows of its channels: their swing, what is left without it, its pieces."""

    channels: _Channels
    swings: list[Floats | None]  # a channel each, shape (n, k) or none
    flat: Floats  # shape (n, d), without swing
    ends: list[int]  # where pieces of flat channels end, in the order of rows


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
    found = _found(full)
    block = -(-len(rows) // LONGEST_SEARCH)
    if block > 1:  # small steps between long regimes show in block means only
        coarse = [at * block for at in _found(_thinned(full, block))]
        found = _apart(_placed(full.values, coarse, 2 * block), 2 * block, kept=found)
    return [int(rows[at]) for at in found]


def _found(channels: _Channels) -> list[int]:
    """Return the steps at one resolution."""
    course = _course(channels)
    kept = _one_a_passage(channels.values, _judged(course, _candidates(course)))
    return _placed(channels.values, kept, 3)


def _course(channels: _Channels) -> _Course:
    """Cut each channel into level pieces, after its swing was taken off where it has one.

    Regular steps up and down look like a swing: whichever of the two stories needs fewer words
    is taken (the Bayesian information criterion).
    """
    rows = np.arange(len(channels.values), dtype=float)
    line = np.column_stack([np.ones_like(rows), rows / len(rows)])
    swings: list[Floats | None] = []
    flat = channels.values.copy()
    ends: list[int] = []
    for number, column in enumerate(channels.values.T):
        frequency = rhythm(column)
        found, swing = _pieces(column), None
        if frequency is not None:
            swing = waves(rows, frequency)
            told = np.hstack([line, swing])
            bare = column - swing @ np.linalg.lstsq(told, column, rcond=None)[0][2:]
            pieces = _pieces(bare)
            if _words(bare, pieces) + swing.shape[1] * np.log(len(rows)) < _words(column, found):
                flat[:, number], found = bare, pieces
            else:
                swing = None
        swings.append(swing)
        ends += found
    return _Course(channels, swings, flat, sorted(ends))


def _pieces(series: Floats) -> list[int]:
    """Return where the level pieces of a series, shape (n,), end; its noise is the yardstick."""
    if len(series) < 2 * SHORTEST:
        return []
    price = max(_long_noise(series), 1e-6) ** 2 * float(np.log(len(series)))
    return sorted(set(_searched(series[:, None], price)))


def _words(series: Floats, ends: list[int]) -> float:
    """Return the Bayesian information criterion of level pieces; less is better [-]."""
    first = np.array([0, *ends])
    count = np.diff([*first, len(series)])
    spread = (series**2).sum() - (np.add.reduceat(series, first) ** 2 / count).sum()
    noise = max(float(spread) / len(series), 1e-9)
    return float(len(series) * np.log(noise) + 2 * len(ends) * np.log(len(series)))


def _channels(table: Floats) -> _Channels | None:
    """Fill gaps, clip spikes, standardise; leave out channels that never move."""
    seen = np.isfinite(table)
    columns, masks, quanta, shapes = [], [], [], []
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
            shapes.append(tails(filled[mask] / spread))
    if not columns:
        return None
    return _Channels(
        np.column_stack(columns), np.column_stack(masks), np.array(quanta), np.array(shapes)
    )


def clipped(series: Floats) -> Floats:
    """Return the series, shape (n,), with isolated spikes laid on its running median."""
    around = _windows(series, 2 * SHORTEST - 1)
    middle = np.median(around, axis=1)
    off = np.abs(series - middle)
    # the upper quantile speaks for displays that rest on one value more than half the time,
    # the neighbours for a swing that moves by many noise widths from row to row
    width = max(1.4826 * float(np.median(off)), 0.6 * float(np.quantile(off, 0.9)))
    local = 1.4826 * np.median(np.abs(around - middle[:, None]), axis=1)
    return np.where(off > CLIP * np.maximum(width, local), middle, series)


def tails(series: Floats) -> tuple[float, float]:
    """Return skewness and excess kurtosis of the noise of a series, shape (n,) [-].

    Noise is what departs from the running median; what pure noise shows by chance is taken off.
    """
    noise = series - np.median(_windows(series, 5 * SHORTEST), axis=1)
    # the rows beside a step and a few wild ones are not the noise
    noise = np.clip(noise, *np.quantile(noise, (WILD, 1.0 - WILD)))
    noise = noise - noise.mean()
    spread = float(noise.std())
    if spread <= 1e-12 * float(np.abs(series).max()):
        return 0.0, 0.0
    chance = 2.0 * np.sqrt(6.0 / len(series))
    skewness = abs(float(np.mean(noise**3))) / spread**3
    excess = float(np.mean(noise**4)) / spread**4 - 3.0
    return max(skewness - chance, 0.0), max(excess - chance, 0.0)


def _windows(series: Floats, rows: int) -> Floats:
    """Return an odd number of rows around each, mirrored at the ends: shape (n, rows)."""
    half = min(rows // 2, len(series) - 1)
    return sliding_window_view(np.pad(series, half, mode="reflect"), 2 * half + 1)


def display_step(series: Floats) -> float:
    """Return the display step that a series, shape (n,), rests on; 0 where it does not rest.

    Clean blocks with a few changes do not rest on the display, nor does noise that changes the
    display most of the time: its mean is as good as that of the unrounded noise.
    """
    changes = np.count_nonzero(np.diff(series))
    if not max(1, min(3, len(series) // 30)) < changes < RESTLESS * len(series):
        return 0.0
    gaps = np.diff(np.unique(series))
    # smaller than that is the arithmetic of a unit, not the display
    return float(gaps.min(initial=np.inf, where=gaps > 1e-9 * np.abs(series).max()))


def _thinned(full: _Channels, block: int) -> _Channels:
    """Return means of blocks of rows; a block counts as seen when any of its rows was."""
    rows = len(full.values) // block * block
    shape = (-1, block, full.values.shape[1])
    means = full.values[:rows].reshape(shape).mean(axis=1)
    seen = np.asarray(full.seen[:rows].reshape(shape).any(axis=1))
    return _Channels(means, seen, full.quanta, full.tails / block)


def _candidates(course: _Course) -> list[int]:
    """Return more steps than there are.

    All channels are cut together with their whole spread for a yardstick, to which are added the
    pieces of each for itself.
    """
    rows, width = course.channels.values.shape
    if rows < 2 * SHORTEST:
        return []
    price = LOW_PENALTY * width * float(np.log(rows))
    together = _searched(course.channels.values, price) if width > 1 else []
    return _apart([*together, *course.ends], SHORTEST)


def _searched(values: Floats, penalty: float) -> list[int]:
    """Return the ends of an exact search over overlapping pieces of a series, shape (n, d)."""
    found: list[int] = []
    for first in range(0, max(len(values) - OVERLAP, 1), PIECE - OVERLAP):
        piece = values[first : first + PIECE]
        if len(piece) < 2 * SHORTEST:
            break
        search = ruptures.KernelCPD(kernel="linear", min_size=SHORTEST, jump=1).fit(piece)
        found += [first + int(end) for end in search.predict(pen=penalty)[:-1]]
    return found


def _apart(found: list[int], rows: int, *, kept: Iterable[int] = ()) -> list[int]:
    """Return the rows kept so far and those found, in order, without any too near to one before."""
    out = list(kept)
    for at in found:
        place = bisect_left(out, at)
        if all(abs(at - other) >= rows for other in out[max(place - 1, 0) : place + 1]):
            out.insert(place, at)
    return out


def _long_noise(series: Floats) -> float:
    """Return the standard deviation of independent noise that would move the means as much."""
    widths = [
        float(usual_move(series[:, None], window)[1][0]) * np.sqrt(window / 2.0)
        for window in (1, 4, 16)
        if len(series) >= 4 * window
    ]
    return max(widths, default=0.0)


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
    return moves, np.quantile(np.abs(moves), QUIETER, axis=0) / QUIETER_NORMAL


def _standing_out(values: Floats, candidates: list[int]) -> Floats:
    """Return each candidate's move over the largest that noise would show, (candidates, d)."""
    best = np.zeros((len(candidates), values.shape[1]))
    for window in MOVES:
        if len(values) < 4 * window:
            break
        moves, usual = usual_move(values, window)
        moves = np.where(np.abs(moves) > 1e-9, np.abs(moves), 0.0)
        # the largest of so many normal moves
        usual = usual * np.sqrt(2.0 * np.log(len(values) / window) + 1.0)
        share = np.divide(moves, usual, out=np.where(moves > 0, np.inf, 0.0), where=usual > 1e-9)
        for row, at in enumerate(candidates):
            near = share[max(at - window - window // 2 - 1, 0) : at - window + window // 2 + 2]
            if len(near):
                best[row] = np.maximum(best[row], near.max(axis=0))
    return best


def _judged(course: _Course, candidates: list[int]) -> list[int]:
    """Return the candidates that stay when the weakest is dropped until all are strong enough."""
    out = dict(zip(candidates, _standing_out(course.flat, candidates), strict=True))
    kept = list(candidates)
    strength = [_strength(course, kept, place, out) for place in range(len(kept))]
    while kept and min(strength) < 1.0:
        weakest = int(np.argmin(strength))
        del kept[weakest], strength[weakest]
        for place in (weakest - 1, weakest):
            if 0 <= place < len(kept):
                strength[place] = _strength(course, kept, place, out)
    return kept


def _one_a_passage(values: Floats, found: list[int]) -> list[int]:
    """Return one step, the first, for a level that went up or down in several within few rows.

    A sensor takes some rows to follow a sudden change; its passage is no regime.
    """
    kept: list[int] = []
    edges = [0, *found, len(values)]
    for at, after in zip(found, edges[2:], strict=True):
        if kept and at - kept[-1] <= PASSAGES[-1]:
            old = values[max(kept[-1] - PASSAGES[-1], 0) : kept[-1]].mean(axis=0)
            new = values[at : min(at + PASSAGES[-1], after)].mean(axis=0)
            most = int(np.argmax(np.abs(new - old)))
            between = float(values[kept[-1] : at, most].mean())
            if min(old[most], new[most]) < between < max(old[most], new[most]):
                continue
        kept.append(at)
    return kept


def _strength(course: _Course, kept: list[int], place: int, out: dict[int, Floats]) -> float:
    """Return the gain over its limit of one candidate, seen between its neighbours."""
    channels = course.channels
    rows, width = channels.values.shape
    at = kept[place]
    first = max(kept[place - 1] if place else 0, at - REACH)
    last = min(kept[place + 1] if place + 1 < len(kept) else rows, at + REACH)
    best = 0.0
    for channel in np.flatnonzero(out[at] >= STANDS_OUT):
        mask = channels.seen[first:last, channel]
        before = int(np.count_nonzero(mask[: at - first]))
        around = channels.values[first:last, channel][mask]
        if min(before, len(around) - before) < SHORTEST:
            continue
        step = abs(around[before:].mean() - around[:before].mean())
        if step < LEAST_QUANTA * channels.quanta[channel]:
            continue
        swing = course.swings[channel]
        passages = PASSAGES if out[at][channel] >= STANDS_OUT_SLOW else ()
        best = max(
            best,
            gain_over_limit(
                around,
                before,
                passages=(0, *passages),
                rounding=float(channels.quanta[channel]),
                searched=(rows, width),
                tails=(float(channels.tails[channel, 0]), float(channels.tails[channel, 1])),
                swing=None if swing is None else swing[first:last][mask],
            ),
        )
    return best


def _placed(values: Floats, found: list[int], radius: int) -> list[int]:
    """Move each step to the row nearby where it tells its surroundings best, beside a trend."""
    placed: list[int] = []
    for number, at in enumerate(found):
        before = placed[-1] if placed else 0
        after = found[number + 1] if number + 1 < len(found) else len(values)
        first, last = max(before, at - 10 * radius), min(after, at + 10 * radius)
        low, high = max(first + 1, at - radius), min(last - 1, at + radius)
        rows = np.arange(first, last)
        line = np.column_stack([np.ones(len(rows)), rows - at])
        told = np.column_stack([rows[:, None] >= np.arange(low, high + 1), values[first:last]])
        told = told - line @ np.linalg.lstsq(line, told, rcond=None)[0]
        steps, left = told[:, : high - low + 1], told[:, high - low + 1 :]
        size = np.maximum((steps**2).sum(axis=0), 1e-9)
        placed.append(low + int(np.argmax(((steps.T @ left) ** 2).sum(axis=1) / size)))
    return placed
