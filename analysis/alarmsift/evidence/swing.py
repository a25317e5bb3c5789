"""Find the rhythm of a series, such as a daily swing, and say it as waves.

A swing shows in the spectrum as a narrow peak far above its surroundings; a step, a drift and
persistent noise have none. The period is measured, not taken from the clock: the rows of a series
need not be evenly spaced in time, and a plant has rhythms of its own.

References
----------
.. [1] Priestley, M. B., *Spectral Analysis and Time Series* (1981), section 6.1, on testing for
   jumps in the spectrum.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

LEAST_TURNS: Final = 3.0  # [-] periods in the series
LEAST_ROWS: Final = 8.0  # [rows] in a period; faster is noise
PEAK: Final = 40.0  # [-] power over its surroundings; noise reaches about ln n / ln 2
TONES: Final = 2  # [-] a wave and its first overtone


def rhythm(values: Floats) -> float | None:
    """Return the frequency of the strongest swing of a series, shape (n,) [1/row]; None if none."""
    rows = len(values)
    if rows < LEAST_TURNS * LEAST_ROWS * 2:
        return None
    bend = np.polynomial.legendre.legvander(np.linspace(-1, 1, rows), 3)
    bare = values - bend @ np.linalg.lstsq(bend, values, rcond=None)[0]
    padded = 4 * rows  # finer than one turn in the series
    power = np.abs(np.fft.rfft(bare * np.hanning(rows), padded)) ** 2
    turns = np.arange(len(power)) / 4.0
    around = _surroundings(power, turns)
    place = np.flatnonzero((turns >= LEAST_TURNS) & (turns <= rows / LEAST_ROWS))
    stands = power[place] / np.maximum(around[place], 1e-12 * power.max() + 1e-300)
    if not len(place) or stands.max() < PEAK:
        return None
    # the wave and not its overtone: the strongest among the peaks that stand out
    peaks = place[stands >= PEAK]
    return float(turns[peaks[np.argmax(power[peaks])]] / rows)


def _surroundings(power: Floats, turns: Floats) -> Floats:
    """Return the typical power within half to twice each frequency, the near ones left out."""
    logs = np.log(power + 1e-300)
    grid = np.geomspace(1.5, turns[-1], 60)
    typical = []
    for middle in grid:
        near = (turns >= middle / 2) & (turns <= middle * 2)
        near &= np.abs(turns - middle) > 2.0
        typical.append(np.median(logs[near]) if near.any() else logs.max())
    return np.exp(np.interp(np.log(np.maximum(turns, 1e-9)), np.log(grid), typical))


def waves(rows: Floats, frequency: float) -> Floats:
    """Return cosine and sine of a swing and its overtone at rows, shape (n, 2 tones)."""
    turn = 2.0 * np.pi * frequency * np.outer(rows, np.arange(1, TONES + 1))
    return np.hstack([np.cos(turn), np.sin(turn)])
