"""Made-up lines that were worked on, with their true level at every visit.

A line goes bad before the work, at once or over hours or days, and is put right, or not at all, or
for a while. Visits scatter about the level, and their errors follow on. The truth: *came back* once
the true level has lost half of what the work could win, else *held*. The level is measured half-
hourly, so that one who knows the scatter could tell nearly always; only, a line that draws well
need not have been through a night yet. Lines seen for under a day are therefore counted apart.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import stats

from alarmsift.repairs.line_level import level_ratio
from alarmsift.repairs.line_outcome import Line, line_levels, line_outcome
from alarmsift.repairs.recurrence import Recurrence

ROUND_HOURS = 0.5
CURED, USELESS = 0.5, 0.15
RETURN = stats.lognorm(s=1.0, scale=4.0)  # [d]


@dataclass(frozen=True)
class LineCase:
    """Visits [h], ln of line health, the hour of the work, the truth and the day of return."""

    hours: np.ndarray
    health: np.ndarray
    work: float
    truth: str
    back_day: float
    seen: float  # [d]


def draw_line(rng: np.random.Generator) -> LineCase:
    """Return one made-up line."""
    scatter = float(rng.choice([0.03, 0.06, 0.1]))
    keep = float(rng.uniform(0.0, 0.8))
    work = 24.0 * float(rng.uniform(1.5, 10.0))
    seen = 24.0 * float(np.exp(rng.uniform(np.log(0.5), np.log(25.0))))
    hours = np.arange(0.0, work + seen, ROUND_HOURS)
    bad, good = np.log(rng.uniform(0.1, 0.65)), np.log(rng.uniform(0.85, 1.05))
    wide = float(rng.choice([0.1, 6.0, 48.0, 120.0]))  # how long going bad takes [h]
    broke = min(float(rng.uniform(0.0, 0.8)) * work, max(work - wide, 0.0))
    luck = rng.random()
    away = 24.0 * float(RETURN.rvs(random_state=rng))
    away = np.inf if luck < CURED else 0.0 if luck < CURED + USELESS else away
    level = good + (bad - good) * np.clip((hours - broke) / wide, 0.0, 1.0)
    later = hours >= work
    if away > 0.0:
        level[later] = good
    if 0.0 < away < np.inf:
        again = bad * float(rng.uniform(0.7, 1.3)) - good
        level[later] += again * np.clip((hours[later] - work - away) / wide, 0.0, 1.0)
    half = (level[~later][-48:].mean() + good) / 2.0
    lost = np.flatnonzero(later & (hours > work + 1.0) & (level < half))
    day = (hours[lost[0]] - work) / 24.0 if len(lost) else np.inf
    error = rng.normal(0.0, 1.0, len(hours))
    for i in range(1, len(hours)):
        error[i] = keep * error[i - 1] + np.sqrt(1.0 - keep**2) * error[i]
    return LineCase(
        hours,
        level + scatter * error,
        work,
        "came_back" if len(lost) else "held",
        0.0 if away == 0.0 else float(day),
        seen / 24.0,
    )


def judged_line(case: LineCase) -> Recurrence:
    """Return what the tool says of a line."""
    line, job = Line(case.hours, case.health), (case.work, case.work)
    window = (0.0, float(case.hours[-1]))
    return line_outcome(line_levels(line, job, window), line, job, until=window[1])


def ratio_held(rng: np.random.Generator) -> bool:
    """Tell whether the interval of a line's ratio holds the truth, with errors that follow on."""
    keep = float(rng.uniform(0.0, 0.8))
    levels = np.log([float(rng.uniform(0.2, 0.7)), float(rng.uniform(0.7, 1.0))])
    series = []
    for level in levels:
        count = int(rng.integers(24, 97))
        error = rng.normal(0.0, 1.0, count)
        for i in range(1, count):
            error[i] = keep * error[i - 1] + np.sqrt(1.0 - keep**2) * error[i]
        series.append(level + 0.1 * error)
    found = level_ratio(*series)
    return bool(found.low <= np.exp(levels[1] - levels[0]) <= found.high)
