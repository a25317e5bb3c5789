"""For how long a point was watched between two moments: alarms a day need the days."""

from __future__ import annotations

from typing import Final

import numpy as np

from alarmsift.timeline.visits import Visits

# After a visit a point counts as watched for so many rounds; what is longer is a gap.
ROUNDS: Final = 2.0


class Watched:
    """Hours watched of every point, counted once.

    Parameters
    ----------
    visits : Visits
    last : float
        End of the logs [h since origin].
    """

    def __init__(self, visits: Visits, last: float) -> None:
        self._last = last
        self._cycle = visits.cycle_hours if np.isfinite(visits.cycle_hours) else 1.0
        self._of = [
            self._counted(visits.hours[visits.of(point)]) for point in range(len(visits.points))
        ]

    def _counted(self, hours: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        gap = np.minimum(np.diff(hours, append=self._last), ROUNDS * self._cycle)
        ends = hours + np.maximum(gap, 0.0)
        times = np.stack([hours, ends], axis=1).ravel()
        total = np.stack([np.zeros(len(hours)), np.maximum(gap, 0.0)], axis=1).ravel().cumsum()
        return times, total

    def at(self, points: frozenset[int], hours: np.ndarray) -> np.ndarray:
        """Return days watched up to each moment, the mean over the points (none = all of them)."""
        chosen = [self._of[point] for point in sorted(points)] if points else self._of
        chosen = [one for one in chosen if len(one[0])]
        if not chosen:  # no reading: the calendar's days
            return np.asarray(hours, dtype=float) / 24.0
        return np.mean([np.interp(hours, *one) for one in chosen], axis=0) / 24.0
