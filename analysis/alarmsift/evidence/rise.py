"""How fast did the reading of one point grow, and what inflow over its volume does that ask for?

The rise is cut out of the visits: from the first one that stands clear of noise to the first that
comes near the top. Over it the balance of a well-mixed space, ``dC/dt = s - n C``, is fitted for
every air change n on a grid; what n and s the readings allow makes the range of the rate. Seen for
less than one time constant 1/n, a rise fixes its rate and not n, nor where it would settle.

References
----------
.. [1] ACGIH, *Industrial Ventilation*, dilution ventilation: the balance.
.. [2] Venzon and Moolgavkar, *Applied Statistics* 37 (1988) 87-94: intervals by profile likelihood.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

# A rise begins at this many noise widths, or at this share of its top, whichever is higher, and
# ends at the first visit at this share of the top (CP).
CLEAR_NOISE, CLEAR_SHARE, TOP_SHARE = 4.0, 0.10, 0.90
# A reading that fell below this share of what was reached before begins another rise (CP).
FELL_TO = 0.7
# Three figures are fitted; a range needs two readings more.
FEWEST_VISITS = 5
# Two-sided 90 %: normal, and chi-square with one degree of freedom (any table).
Z_90, CHI2_90 = 1.645, 2.706
# Gas in a space is never quite even, and a display repeats itself within this share (CP) [-].
UNEVEN = 0.03
# How far a detector in order may be off, as a share of the reading: 10 % by IEC 60079-29-1 (from
# memory).
DETECTOR_SHARE = 0.10
# What a loss of sensitivity or a leaking joint may take from a reading before it counts as a
# condition and is told of [-]: readings are too small oftener than too large.
UNSEEN_LOSS = 0.15
TOO_LITTLE = float(np.hypot(DETECTOR_SHARE, 1.0 / (1.0 - UNSEEN_LOSS) - 1.0))
# Air changes over the whole rise [-]. Under nought the source itself grew, which a rate must allow.
AIR_CHANGES = np.concatenate([np.linspace(-2.0, 2.0, 41), np.geomspace(2.2, 12.0, 20)])


@dataclass(frozen=True)
class Rise:
    """One rise.

    Attributes
    ----------
    start, end : float
        First and last visit of it [h].
    visits : int
    before : float
        From the last quiet visit to ``start`` [h]; NaN when the logs begin in the rise.
    level, top : float
        At ``start`` and ``end`` [unit].
    growth, low, high : float
        Mean rate from start to end, and its 90 % range [unit/h]; NaN when too few visits.
    least : float
        The rate that it had at least [unit/h].
    middle : float
        Mean level from start to end [unit].
    air_low, air_high : float
        Air changes that the readings allow, 90 % [1/h]; 0 and inf where they tell nothing.
    """

    start: float
    end: float
    visits: int
    before: float
    level: float
    top: float
    growth: float
    low: float
    high: float
    least: float
    middle: float
    air_low: float
    air_high: float

    @property
    def hours(self) -> float:
        """Length of the rise [h]."""
        return self.end - self.start

    @property
    def settled(self) -> bool:
        """Tell whether the rise was surely watched for longer than one time constant."""
        return self.air_low * self.hours >= 1.0


def rise_of(
    hours: np.ndarray,
    value: np.ndarray,
    *,
    noise: float,
    raised: float,
    until: float,
) -> Rise | None:
    """Return the rise that led to an alarm; None when there is none to be seen.

    Parameters
    ----------
    hours, value : ndarray, shape (n,)
        Valid readings of the point, zero and background taken out, rising with danger [h], [unit].
    noise : float
        Standard deviation of one reading [unit].
    raised, until : float
        The raise, and how far to look for the top [h].

    Examples
    --------
    6 %LFL an hour, seen every 20 minutes, in a closed tank:

    >>> hours = np.arange(0.0, 12.0, 1 / 3)
    >>> seen = rise_of(hours, 6.0 * np.clip(hours - 5, 0, 5), noise=0.1, raised=8.0, until=12.0)
    >>> round(seen.growth, 2), seen.low < 6.0 < seen.high, seen.settled
    (6.0, True, False)
    """
    cut = _cut(hours, value, noise, raised, until)
    if cut is None:
        return None
    first, last, quiet = cut
    t, y = hours[first : last + 1] - hours[first], value[first : last + 1]
    before = float(hours[first] - hours[quiet]) if quiet >= 0 else np.nan
    slowest = t[-1] + (before if quiet >= 0 else 0.0)
    gained = y[-1] - (value[quiet] if quiet >= 0 else y[0])
    gained -= Z_90 * np.hypot(noise * np.sqrt(2.0), DETECTOR_SHARE * y[-1])
    least = float(max(gained, 0.0) / slowest) if slowest > 0 else 0.0
    figures = dict.fromkeys(("growth", "low", "high"), np.nan)
    figures |= {"air_low": 0.0, "air_high": np.inf}
    if len(t) >= FEWEST_VISITS and t[-1] > 0:
        figures = _fitted(t, y, noise)
    return Rise(
        start=float(hours[first]),
        end=float(hours[last]),
        visits=len(t),
        before=before,
        level=float(y[0]),
        top=float(y[-1]),
        least=least,
        middle=_mean_level(t, y),
        **figures,
    )


def running_middle(value: np.ndarray) -> np.ndarray:
    """Return each reading's median with its two neighbours, shape (n,)."""
    if len(value) < 3:
        return value.copy()
    side = np.stack([value[:-2], value[1:-1], value[2:]])
    return np.concatenate([[min(value[:2])], np.median(side, axis=0), [np.median(value[-2:])]])


def _cut(
    hours: np.ndarray, value: np.ndarray, noise: float, raised: float, until: float
) -> tuple[int, int, int] | None:
    """Return first and last row of the rise and the last quiet row before it (-1 = none)."""
    size = int(np.searchsorted(hours, until, "right"))
    at = int(np.searchsorted(hours, raised + 1e-6, "right")) - 1
    if at < 0 or size == 0 or at >= size:
        return None
    even = running_middle(value[:size])
    top = float(even[at:].max())
    if top <= CLEAR_NOISE * noise:
        return None
    last = at + int(np.argmax(even[at:] >= TOP_SHARE * top))
    low = np.flatnonzero(even[:last] < max(CLEAR_NOISE * noise, CLEAR_SHARE * top))
    quiet = int(low[-1]) if len(low) else -1
    first = quiet + 1
    reached = np.maximum.accumulate(even[first : last + 1])
    fell = even[first : last + 1] < FELL_TO * reached - CLEAR_NOISE * noise
    if fell.any():
        first += int(np.flatnonzero(fell)[-1])
        quiet = first - 1
    return first, last, quiet


def _fitted(t: np.ndarray, y: np.ndarray, noise: float) -> dict[str, float]:
    """Return rate, inflow over volume and air change with what the readings allow of each."""
    length = t[-1]
    middle = running_middle(y)
    weight = 1.0 / (noise**2 + (UNEVEN * middle) ** 2 + 1e-9)
    rates = AIR_CHANGES / length
    kept = np.exp(-np.outer(rates, t))
    filled = np.where(
        np.abs(rates)[:, None] < 1e-9,
        t[None, :],
        -np.expm1(-np.outer(rates, t)) / np.where(np.abs(rates) < 1e-9, 1.0, rates)[:, None],
    )
    start, source, cov, misfit = _least_squares(kept, filled, y, weight)
    best = int(misfit.argmin())
    rest = y - start[best] * kept[best] - source[best] * filled[best]
    scale = _scale(rest * np.sqrt(weight))
    allowed = misfit - misfit[best] <= CHI2_90 * scale
    # Mean rate over the rise: the end less the beginning.
    a, s = (kept[:, -1] - 1.0) / length, filled[:, -1] / length
    growth = a * start + s * source
    spread = a**2 * cov[:, 0] + 2 * a * s * cov[:, 1] + s**2 * cov[:, 2]
    low, high = _range(growth, Z_90 * np.sqrt(spread * scale), allowed)
    # What the two ends alone say, without any law of growth between them.
    ends, unsure = (middle[-1] - middle[0]) / length, noise * np.sqrt(2.0) / length
    low, high = min(low, ends - unsure), max(high, ends + unsure)
    size = abs(float(growth[best]))
    low = growth[best] - np.hypot(growth[best] - low, DETECTOR_SHARE * size)
    high = growth[best] + np.hypot(high - growth[best], TOO_LITTLE * size)
    closed = allowed & (rates >= 0)
    air = rates[closed] if closed.any() else np.zeros(1)
    return {
        "growth": float(growth[best]),
        "low": float(low),
        "high": float(high),
        "air_low": float(air.min()),
        "air_high": float(np.inf if closed[-1] else air.max()),
    }


def _mean_level(t: np.ndarray, y: np.ndarray) -> float:
    """Return the mean level over the time from the first to the last visit [unit]."""
    if len(t) < 2 or t[-1] <= 0:
        return float(y.mean())
    return float(np.trapezoid(y, t) / t[-1])


def _least_squares(
    kept: np.ndarray, filled: np.ndarray, y: np.ndarray, weight: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Fit ``y = start kept + source filled`` for every air change.

    Returns start and source, shape (n,); their variances and covariance, shape (n, 3), in the
    order start, both, source; the weighted squares left, shape (n,).
    """
    aa, ab, bb = (kept**2) @ weight, (kept * filled) @ weight, (filled**2) @ weight
    ya, yb = kept @ (weight * y), filled @ (weight * y)
    det = np.maximum(aa * bb - ab**2, 1e-300)
    start, source = (bb * ya - ab * yb) / det, (aa * yb - ab * ya) / det
    misfit = ((y - start[:, None] * kept - source[:, None] * filled) ** 2) @ weight
    return start, source, np.stack([bb, -ab, aa], axis=1) / det[:, None], misfit


def _scale(rest: np.ndarray) -> float:
    """Return by how much the squares outgrow noise: misfit, and readings that hang together."""
    free = max(len(rest) - 3, 1)
    spread = float((rest**2).sum()) / free
    tied = float((rest[1:] * rest[:-1]).sum() / max((rest**2).sum(), 1e-12))
    tied = min(max(tied, 0.0), 0.9)
    return max(spread, 1.0) * (1.0 + tied) / (1.0 - tied)


def _range(middle: np.ndarray, half: np.ndarray, allowed: np.ndarray) -> tuple[float, float]:
    """Return the range over what is allowed."""
    return float((middle - half)[allowed].min()), float((middle + half)[allowed].max())
