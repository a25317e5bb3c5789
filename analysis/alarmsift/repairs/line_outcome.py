"""Whether a line that drew badly was put right by a repair, and for how long."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import pandas as pd

from alarmsift.repairs.line_level import FEWEST, NO_LEVEL, LevelRatio, level_ratio
from alarmsift.repairs.recurrence import Recurrence

# Levels are taken over so long before and after; what comes right after the work is left out [h].
LEVEL_HOURS, SETTLE_HOURS = 24.0, 1.0
# Under this share of its clean value a line draws badly; a repair that wins back less than the
# second share of what was lost did not help; one that lost the third share of what it won is back
# (common practice, no source).
BAD: Final = 0.75
HELPED, LOST = 0.3, 0.6
# A line that draws well for so long was put right [d] (common practice, no source).
LONG_ENOUGH: Final = 3.0


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


def line_outcome(levels: LevelRatio, line: Line, *, end: float, until: float) -> Recurrence:
    """Return what became of the line after a job that ended at ``end``, seen to ``until`` [h]."""
    nan = float("nan")
    if not levels.before < BAD:  # well, or not known
        return Recurrence("no_trouble", nan)
    lost = -np.log(levels.before)
    won = np.log(levels.ratio)
    if won < HELPED * lost:
        return Recurrence("came_back", 0.0)
    later = (line.hours >= end + SETTLE_HOURS) & (line.hours < until)
    hours = line.hours[later]
    steady = pd.Series(line.health[later]).rolling(FEWEST, min_periods=FEWEST).median()
    bad = np.flatnonzero((steady < np.log(levels.after) - LOST * won).to_numpy())
    if len(bad):
        return Recurrence("came_back", float(hours[bad[0]] - end) / 24.0)
    seen = float(hours[-1] - end) / 24.0 if len(hours) else 0.0
    return Recurrence("held" if seen >= LONG_ENOUGH else "too_early", nan)
