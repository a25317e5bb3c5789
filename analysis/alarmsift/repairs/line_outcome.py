"""Whether a line that drew badly was put right by a repair, and for how long.

A line is measured at every visit, so its state needs no guess: what has to be told from chance is
only a level among visits that scatter, and a line that draws well from one that is on its way back.

References
----------
.. [1] Roberts, S. W., "Control chart tests based on geometric moving averages", *Technometrics* 1
   (1959) 239-250 (moving averages as long as the scatter asks for).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import pandas as pd
from scipy import stats

from alarmsift.repairs.line_level import FEWEST, NO_LEVEL, LevelRatio, free_values, level_ratio
from alarmsift.repairs.recurrence import Recurrence

# Levels are taken over so long before and after; what comes right after the work is left out [h].
LEVEL_HOURS, SETTLE_HOURS = 24.0, 1.0
# Under this share of its clean value a line draws badly; a repair that wins back less than the
# second share of what was lost did not help; one that lost the third share of what it won is back
# (common practice, no source).
BAD: Final = 0.75
HELPED, LOST = 0.3, 0.6
# A line is judged after a whole day of rounds at the earliest; it was put right if by its trend it
# will draw well until so long after the work, and for another day [d] (common practice, no source).
SHORTEST, LONG_ENOUGH = 1.0, 3.0
# A level that is lost stands so many of its standard errors off: a chance in 30 000 at each of
# many looks.
SIGMAS: Final = 4.0
CONFIDENCE: Final = 0.90


@dataclass(frozen=True)
class Line:
    """Visits of the lines worked on: ``hours`` [h] and ``health``, ln of line health, in order."""

    hours: np.ndarray
    health: np.ndarray


def line_levels(line: Line, job: tuple[float, float], window: tuple[float, float]) -> LevelRatio:
    """Return the levels within a day before and after a job, inside the time compared [h]."""
    start, end = job
    first, last = max(window[0], start - LEVEL_HOURS), min(window[1], end + LEVEL_HOURS)
    before = (line.hours >= first) & (line.hours < start)
    after = (line.hours >= end + SETTLE_HOURS) & (line.hours < last)
    if not before.any() or not after.any():
        return NO_LEVEL
    return level_ratio(line.health[before], line.health[after])


def line_outcome(
    levels: LevelRatio, line: Line, job: tuple[float, float], *, until: float
) -> Recurrence:
    """Return what became of the line after a job from start to end, seen to ``until`` [h]."""
    start, end = job
    nan = float("nan")
    if not levels.before < BAD:  # well, or not known
        return Recurrence("no_trouble", nan)
    worst, best = float(np.log(levels.before)), float(np.log(levels.after))
    later = (line.hours >= end + SETTLE_HOURS) & (line.hours < until)
    hours, health = line.hours[later], line.health[later]
    first = hours < end + LEVEL_HOURS
    day_before = (line.hours >= start - LEVEL_HOURS) & (line.hours < start)
    count = visits_for(line.health[day_before], LOST * -worst)
    top = np.fmax.reduce(moving_level(health[first], count), initial=best)
    if best - worst < (1.0 - HELPED) * (top - worst):
        best = top  # lost again within the first day, whose mean says little
    else:
        count = max(count, visits_for(health[first], LOST * -worst))
    won = best - worst
    if won < HELPED * -worst:
        return Recurrence("came_back", 0.0)
    limit = best - LOST * won
    bad = np.flatnonzero(moving_level(health, count) < limit)
    if len(bad):
        # Half of the visits looked at had passed the limit by then.
        return Recurrence("came_back", float(hours[max(bad[0] - count // 2, 0)] - end) / 24.0)
    seen = float(hours[-1] - end) / 24.0 if len(hours) else 0.0
    if seen < SHORTEST:
        return Recurrence("too_early", nan)
    ahead = max(LONG_ENOUGH - seen, 1.0)
    low = foreseen((hours - end) / 24.0, health, ahead=ahead)
    return Recurrence("held" if low >= limit else "too_early", nan)


def moving_level(health: np.ndarray, count: int) -> np.ndarray:
    """Return the median of so many visits up to each; NaN where there are fewer."""
    return pd.Series(health).rolling(count, min_periods=count).median().to_numpy(float)


def visits_for(health: np.ndarray, loss: float) -> int:
    """Return how many visits tell a loss from scatter.

    Parameters
    ----------
    health : ndarray, shape (n,)
        ln of line health while the line drew well.
    loss : float
        Of ln of line health.

    Examples
    --------
    A scatter of 0.1 that swings from visit to visit, and a loss of 0.2: (4 * 0.1 / 0.2) ** 2 is 4,
    fewer than a level needs; of 0.05 as well: 64.

    >>> scatter = 0.1 * np.tile([1.0, -1.0], 500)
    >>> visits_for(scatter, 0.2), visits_for(scatter, 0.05)
    (5, 65)
    """
    if len(health) < FEWEST or health.std() == 0.0:
        return FEWEST
    each = len(health) / free_values(health)
    return max(int(np.ceil(each * health.var(ddof=1) * (SIGMAS / loss) ** 2)), FEWEST)


def foreseen(days: np.ndarray, health: np.ndarray, *, ahead: float) -> float:
    """Return the lower end of the level that a line's trend leads to.

    The straight line through the last LONG_ENOUGH days, as uncertain as its residuals and their
    correlation from visit to visit make it.

    Parameters
    ----------
    days, health : ndarray, shape (n,)
        Of the visits since the work, and ln of line health.
    ahead : float
        Days from the last visit on.

    Returns
    -------
    float
        Lower end of the CONFIDENCE interval of ln of line health; -inf for under FEWEST visits.
    """
    recent = days >= days[-1] - LONG_ENOUGH
    x, y = days[recent], health[recent]
    if len(x) < FEWEST:
        return -float("inf")
    fit = stats.linregress(x, y)
    off = y - (fit.intercept + fit.slope * x)
    free = max(free_values(off) - 2.0, 1.0)
    target = x[-1] + ahead
    spread = off.var() * (free + 2.0) / free
    part = 1.0 / (free + 2.0) + (target - x.mean()) ** 2 / (x.var() * (free + 2.0))
    reach = float(stats.t.ppf(0.5 + CONFIDENCE / 2.0, free)) * np.sqrt(spread * part)
    return float(fit.intercept + fit.slope * target - reach)
