"""The detector and the points told apart: shared zero, own backgrounds, noise.

reading(point, time) = background(point) + own(point, time) + zero(time) + noise, with one zero an
analyser and gas. What all points share and what changes slowly is the zero; what a point always
shows is its background; the rest is its own and may be gas.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from alarmsift.evidence.blocks import Blocks, at_visits, block_medians, rolling_median
from alarmsift.timeline.operations import Operations
from alarmsift.timeline.visits import Visits

# The zero walks over days and swings over the day; vapour on deck comes and goes within hours. A
# running median over this span follows the first and not the second (common practice, no source).
ZERO_SPAN_HOURS = 10.0
# The points that rise least say what the detector does: mean of these ranks among the points.
LOW_RANKS = (0.15, 0.55)
FEWEST_POINTS = 3
MANY_POINTS = 5
# A background that stays for days is followed by a running median over this span.
BACKGROUND_SPAN_HOURS = 96.0
RECENT_HOURS = 12.0
# A check is compared with what the points showed within so many hours of it (CP).
CHECK_HOURS = 12.0


@dataclass(frozen=True)
class ZeroModel:
    """One gas in one analyser.

    Attributes
    ----------
    gas : str
    analyser : int
    blocks : Blocks
        Block medians of the readings, shape (b, P).
    common : ndarray, shape (b,)
        What the points share in each block, before smoothing.
    zero : ndarray, shape (b,)
        The shared zero.
    background : ndarray, shape (P,)
        Long-run own level of each point.
    slow : ndarray, shape (b, P)
        Own level followed over days.
    noise : ndarray, shape (P,)
        Spread of single readings, never under what the display's step alone makes.
    step : float
        Display step.
    anchored : str
        What ties the zero: ``reference point``, ``zero checks`` or ``lowest points``; '' where
        there is no valid reading and no check.
    clipped : bool
        Whether the display never shows less than nought.
    """

    gas: str
    analyser: int
    blocks: Blocks
    common: np.ndarray
    zero: np.ndarray
    background: np.ndarray
    slow: np.ndarray
    noise: np.ndarray
    step: float
    anchored: str
    clipped: bool


def display_step(values: np.ndarray) -> float:
    """Return the step that the display rounds to; 0 for no values.

    Examples
    --------
    >>> display_step(np.array([0.0, 0.5, 1.5, 3.0]))
    0.5
    """
    seen = np.unique(np.round(values[np.isfinite(values)], 6))
    if len(seen) < 2:
        return 0.0
    for step in (10.0, 5.0, 2.0, 1.0, 0.5, 0.2, 0.1, 0.05, 0.02, 0.01, 0.001):
        if np.mean(np.abs(seen / step - np.round(seen / step)) < 1e-3) > 0.97:
            return step
    return float(np.min(np.diff(seen)))


def noise_of(values: np.ndarray, step: float) -> float:
    """Return the spread of single readings from their first differences, shape (n,).

    Half of the display's step is the floor, since a rounded series can look noiseless.
    """
    diff = np.diff(values[np.isfinite(values)])
    floor = max(step * 0.5, 1e-6)
    if len(diff) < 8:
        return floor
    mad = 1.4826 * float(np.median(np.abs(diff))) / np.sqrt(2.0)
    # Quantised series: most differences are nought, and the median says nothing; the trimmed
    # spread still does.
    trimmed = np.sort(np.abs(diff))[: int(0.9 * len(diff))]
    spread = float(np.sqrt(np.mean(trimmed**2))) / np.sqrt(2.0) * 1.25
    return max(mad, spread, floor)


def fit_zero(
    visits: Visits,
    operations: Operations,
    gas: str,
    *,
    analyser: int,
    reference: int | None,
    elsewhere: Sequence[int] | np.ndarray = (),
) -> ZeroModel:
    """Return the shared zero and the points' backgrounds of one gas in one analyser.

    Parameters
    ----------
    reference : int or None
        Index of the point that should always draw clean air.
    elsewhere : sequence of int
        Positions of the operations that are about another analyser.
    """
    value = visits.value[gas]
    mine = visits.analyser == analyser
    blocks = block_medians(visits, value, mine)
    nominal = 20.9 if gas == "O2" else 0.0
    table = blocks.median - nominal
    resets = _resets(operations, gas)
    background, common = _polish(table)
    zero = _smooth_within(common, blocks, resets)
    background = _nanmedian(table - zero[:, None], axis=0)
    own = operations.of("zero_check", "zero_adjust")
    own = own[((own["gas"] == gas) | (own["gas"] == "")) & ~own["position"].isin(elsewhere)]
    # What the detector shows too much: an oxygen check is made in clean air, or in nitrogen.
    usual = np.where((gas == "O2") & (own["value"] > 0.5 * nominal), nominal, 0.0)
    own = own.assign(value=own["value"] - own["reference"].fillna(pd.Series(usual, own.index)))
    seen = value[mine & np.isfinite(value)]
    clipped = bool(len(seen) and seen.min() >= 0 and gas != "O2")
    shift, anchored = _anchor(background, zero, common, blocks, _shown(own, clipped), reference)
    zero, common, background = zero + shift, common + shift, background - shift
    steps = display_step(value[mine])
    noise = np.full(len(visits.points), np.nan)
    for point in range(len(visits.points)):
        own_values = value[visits.of(point)][mine[visits.of(point)]]
        if np.isfinite(own_values).any():
            noise[point] = noise_of(own_values, steps)
    slow = _slow_level(table - zero[:, None], blocks)
    return ZeroModel(
        gas=gas,
        analyser=analyser,
        blocks=blocks,
        common=common,
        zero=zero,
        background=np.where(np.isfinite(background), background, 0.0),
        slow=slow,
        noise=np.where(np.isfinite(noise), noise, max(steps, 0.1)),
        step=steps,
        anchored=anchored,
        clipped=clipped,
    )


def _shown(checks: pd.DataFrame, clipped: bool) -> pd.DataFrame:
    """Return the checks that the readings could follow: a clipped display hides the rest."""
    return checks[~(checks["value"] < 0.0)] if clipped else checks


def _slow_level(own: np.ndarray, blocks: Blocks) -> np.ndarray:
    """Return the level that each point kept for days, shape (b, P).

    What it kept over the days before (not counting the last half day), or over the days around,
    whichever is lower: a rise of today is not yet a background.
    """
    span = max(int(round(BACKGROUND_SPAN_HOURS / blocks.width)) | 1, 3)
    lag = max(int(round(RECENT_HOURS / blocks.width)), 1)
    around = rolling_median(own, span)
    frame = pd.DataFrame(own)
    past = frame.rolling(span, min_periods=max(span // 6, 2)).median().shift(lag)
    # Before there is enough past, what it kept from the first row on has to do.
    start = frame.iloc[: max(span // 2, 2)].median()
    past = past.fillna(start)
    return np.fmin(around, past.to_numpy())


def _resets(operations: Operations, gas: str) -> np.ndarray:
    rows = operations.of("zero_adjust")
    return rows.loc[(rows["gas"] == gas) | (rows["gas"] == ""), "hours"].to_numpy(float)


def _polish(table: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Split (b, P) block medians into own levels (P,) and what the points share (b,)."""
    with np.errstate(all="ignore"):
        background = _nanmedian(table, axis=0)
        common = np.zeros(len(table))
        for _ in range(4):
            common = _low_mean(table - background[None, :])
            background = _nanmedian(table - common[:, None], axis=0)
    return background, common


def _nanmedian(table: np.ndarray, axis: int) -> np.ndarray:
    filled = np.isfinite(table).any(axis=axis)
    safe = np.where(np.expand_dims(filled, axis), table, 0.0)
    return np.asarray(np.where(filled, np.nanmedian(safe, axis=axis), np.nan))


def _low_mean(table: np.ndarray) -> np.ndarray:
    """Return, for each row, the mean of the low ranks among its filled cells, shape (b,)."""
    ordered = np.sort(table, axis=1)  # blanks go last
    count = np.isfinite(table).sum(axis=1)
    rank = np.arange(table.shape[1])[None, :]
    low = np.floor(LOW_RANKS[0] * (count - 1))[:, None]
    high = np.ceil(LOW_RANKS[1] * (count - 1))[:, None]
    use = (rank >= low) & (rank <= high) & (rank < count[:, None])
    total = np.where(use, np.nan_to_num(ordered), 0.0).sum(axis=1)
    # Of one or two points nothing shared can be told: gas at one of them would drag it along.
    fewest = min(FEWEST_POINTS, int(np.isfinite(table).any(axis=0).sum()))
    mean = np.where(count >= max(fewest, 1), total / np.maximum(use.sum(axis=1), 1), np.nan)
    if table.shape[1] < FEWEST_POINTS:
        return mean
    # A point can't hold less than nothing: the zero is no higher than the lowest points allow, be
    # there gas at all the others. Of many points the second lowest counts, so that one faulty line
    # does not rule; of a few (the others disconnected for ballast) the lowest.
    many = count >= MANY_POINTS
    for rows, floor in ((many, ordered[:, 1]), (~many, ordered[:, 0])):
        mean = np.where(rows, _capped(mean, floor), mean)
    return mean


def _capped(mean: np.ndarray, floor: np.ndarray) -> np.ndarray:
    """Return ``mean`` no further above ``floor`` than it usually is, shape (b,)."""
    gap = mean - floor
    known = np.isfinite(gap)
    if not known.any():
        return mean
    # The usual gap as the quiet half of the time shows it: gas only ever widens it.
    usual = float(np.quantile(gap[known], 0.4))
    wide = float(np.quantile(gap[known], 0.4) - np.quantile(gap[known], 0.1))
    cap = floor + usual + np.maximum(3.0 * wide, 0.5)
    return np.where(np.isfinite(mean), np.fmin(mean, cap), np.nan)


def _smooth_within(common: np.ndarray, blocks: Blocks, resets: np.ndarray) -> np.ndarray:
    """Return the running median of ``common`` that never looks across an adjustment."""
    span = max(int(round(ZERO_SPAN_HOURS / blocks.width)) | 1, 3)
    edges = np.unique(
        np.concatenate([[0], np.searchsorted(blocks.hours, resets), [len(common)]])
    ).astype(int)
    out = np.full(len(common), np.nan)
    for a, b in zip(edges[:-1], edges[1:], strict=True):
        out[a:b] = rolling_median(common[a:b], span)[:, 0]
    good = np.isfinite(out)
    if not good.any():
        return np.zeros(len(common))
    return np.asarray(np.interp(blocks.hours, blocks.hours[good], out[good]))


def _anchor(
    background: np.ndarray,
    zero: np.ndarray,
    common: np.ndarray,
    blocks: Blocks,
    checks: pd.DataFrame,
    reference: int | None,
) -> tuple[float, str]:
    """Return what to add to the zero (and take from the backgrounds), and what says so."""
    seen = bool(np.isfinite(background).any())
    if reference is not None and np.isfinite(background[reference]):
        return float(background[reference]), "reference point"
    hours = checks["hours"].to_numpy(float)
    shown = checks["value"].to_numpy(float)
    adjust = (checks["action"] == "zero_adjust").to_numpy()
    shown = np.where(adjust & np.isnan(shown), 0.0, shown)
    # As found holds before the check, as left after it.
    when = np.where(adjust, hours + blocks.width, hours - blocks.width)
    good = np.isfinite(shown) & _looked_at(when, blocks.hours[np.isfinite(common)])
    if good.any():
        gap = shown - np.interp(when, blocks.hours, zero)
        lowest = float(np.nanmin(background)) if seen else 0.0
        # A tank can't hold less than no gas: checks that say so are not believed.
        # Nor do all of them hold gas for the whole of the log.
        shift = np.clip(np.median(gap[good]), min(lowest, 0.0) - 3.0, max(lowest, 0.0) + 3.0)
        return float(shift), "zero checks"
    if not seen:
        return float("nan"), ""
    return float(np.nanquantile(background, 0.1)), "lowest points"


def _looked_at(when: np.ndarray, seen: np.ndarray) -> np.ndarray:
    """Tell which moments have readings of several points about them, shape (n,)."""
    if not len(seen):
        return np.zeros(len(when), bool)
    after = np.clip(np.searchsorted(seen, when), 0, len(seen) - 1)
    near = np.minimum(np.abs(seen[after] - when), np.abs(seen[np.maximum(after - 1, 0)] - when))
    return np.asarray(near <= CHECK_HOURS)


def zero_at(model: ZeroModel, resets: np.ndarray, hours: np.ndarray) -> np.ndarray:
    """Return the shared zero at times ``hours`` (n,), stepping at adjustments."""
    edges = np.sort(resets)
    segment_of_block = np.searchsorted(edges, model.blocks.hours, "right")
    segment = np.searchsorted(edges, hours, "right")
    out = np.full(len(hours), np.nan)
    rising = bool((segment[1:] >= segment[:-1]).all())
    for code in range(len(edges) + 1):
        inside = segment_of_block == code
        mine = slice(*np.searchsorted(segment, [code, code + 1])) if rising else segment == code
        if inside.any():
            out[mine] = np.interp(hours[mine], model.blocks.hours[inside], model.zero[inside])
    rest = np.isnan(out)
    out[rest] = at_visits(model.blocks, model.zero, hours[rest])
    return out


def resets_of(operations: Operations, gas: str) -> np.ndarray:
    """Return the hours of the zero adjustments of a gas, shape (k,)."""
    return np.sort(_resets(operations, gas))
