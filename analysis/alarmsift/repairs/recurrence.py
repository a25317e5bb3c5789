"""Whether a trouble stayed away after a repair, came back, or nobody can tell yet.

From the alarms before the repair come two rates: that of the trouble (the stretch up to the repair
in which alarms came fastest) and that of the rest before it. Three stories are held against the
alarms after it: cured for good, not cured at all, cured for a while and back at some moment. Each
rate is known as well as its count allows and no better, so a single alarm before a repair never
proves that it held; even odds beforehand, so that only the alarms and their absence speak.

References
----------
.. [1] Raftery, A. E., Akman, V. E., "Bayesian analysis of a Poisson process with a change-point",
   *Biometrika* 73 (1986) 85-89.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy import special

# Share of the trouble's rate to which a cure brings it where little is known of the time before the
# trouble, and the most it can be (common practice, no source).
CURED, MOST_REST = 0.06, 0.4
# Alarms that the trouble's rate counts for at most: it may come back smaller or larger (common
# practice, no source).
MOST_COUNT: Final = 10.0
# Even odds of away and there before any alarm is seen, so that the alarms alone decide; where it is
# there, it was never cured with this chance, else it came back at some moment of the time seen, as
# likely between one and two days as between four and eight (common practice, no source).
NOT_CURED: Final = 0.6
SOONEST: Final = 0.3  # [d]
# How sure before anything is said, at the end; and at any one of many alarms, of which one may look
# so by chance (set on made-up repairs, tests/measure/repairs.py).
SURE_HELD, SURE_BACK, SURE_AT_ONCE = 0.7, 0.8, 0.98


@dataclass(frozen=True)
class Recurrence:
    """``outcome`` (held, came_back, too_early, no_trouble) and days until it was back."""

    outcome: str
    days: float


@dataclass(frozen=True)
class Trouble:
    """The trouble before a repair: clusters of alarms and rates [1/d], with and without it."""

    count: int
    rate: float
    rest_count: int
    rest: float


def trouble_before(ago: np.ndarray, watched: float) -> Trouble:
    """Return the trouble before a repair.

    Parameters
    ----------
    ago : ndarray, shape (n,)
        Watched days from each cluster of alarms to the repair.
    watched : float
        Watched days before the repair.
    """
    start = np.sort(ago)[::-1]  # the first alarm first
    if not len(start):
        return Trouble(0, 0.0, 0, 0.0)
    inside = len(start) - np.arange(len(start))
    # Half the mean way between alarms is added: the trouble began before its first alarm.
    length = np.minimum(start * (inside + 0.5) / np.maximum(inside, 1), watched)
    length = np.maximum(length, 0.02)
    outside = np.maximum(watched - length, 1e-6)
    fast = inside * np.log(inside / length)
    slow = np.arange(len(start))
    fast += np.where(slow > 0, slow * np.log(np.maximum(slow, 1) / outside), 0.0)
    fast[inside < np.minimum(3, len(start))] = -np.inf
    k = int(np.argmax(fast))
    rate = float(inside[k] / length[k])
    # Half an alarm of the belief that a cure leaves CURED of the rate.
    rest = (slow[k] + 0.5) / (outside[k] + 0.5 / (CURED * rate))
    return Trouble(int(inside[k]), rate, int(slow[k]), float(min(rest, MOST_REST * rate)))


def recurrence(trouble: Trouble, after: np.ndarray, watched: float) -> Recurrence:
    """Return what became of a trouble after a repair.

    Parameters
    ----------
    trouble : Trouble
        As it was before.
    after : ndarray, shape (n,)
        Watched days from the repair to each cluster of alarms, in order.
    watched : float
        Watched days after the repair.
    """
    if not trouble.count:
        return Recurrence("no_trouble", float("nan"))
    if watched <= 0.0:
        return Recurrence("too_early", float("nan"))
    # Back once is back, whatever followed: it is looked for as it was to be seen at each alarm too.
    for count, day in enumerate(after, start=1):  # clusters of alarms, not readings
        share, moment = _back(trouble, after[:count], float(day))
        if share >= SURE_AT_ONCE:
            return Recurrence("came_back", moment)
    share, moment = _back(trouble, after, watched)
    if share >= SURE_BACK:
        return Recurrence("came_back", moment)
    return Recurrence("held" if share <= 1.0 - SURE_HELD else "too_early", float("nan"))


def _back(trouble: Trouble, after: np.ndarray, watched: float) -> tuple[float, float]:
    """Return how likely the trouble is there at the end of the days watched, and since when."""
    later = np.geomspace(SOONEST, watched, 100)[:-1] if watched > SOONEST else np.zeros(0)
    moments = np.concatenate([[0.0], later])
    chance = np.full(len(moments), (1.0 - NOT_CURED) / max(len(later), 1))
    chance[0] = NOT_CURED if len(later) else 1.0
    quiet = np.searchsorted(after, moments, side="left")
    told = _likelihood(trouble, quiet, moments, count=len(after), watched=watched)
    there = np.log(chance) + told
    away = _gamma(len(after), watched, *_rest(trouble))
    moment = moments[int(np.argmax(there))]
    following = after[after >= moment]
    since = float(following[0]) if len(following) else float(moment)
    return float(special.expit(special.logsumexp(there) - away)), since


def _likelihood(
    trouble: Trouble, quiet: np.ndarray, moments: np.ndarray, *, count: int, watched: float
) -> np.ndarray:
    """Return ln of how well the alarms fit the trouble being back from each moment on."""
    size = min(float(trouble.count), MOST_COUNT)
    before = _gamma(quiet, moments, *_rest(trouble))
    return before + _gamma(count - quiet, watched - moments, size, size / trouble.rate)


def _rest(trouble: Trouble) -> tuple[float, float]:
    """Return shape and days of what is known of the rate without the trouble."""
    return trouble.rest_count + 0.5, (trouble.rest_count + 0.5) / trouble.rest


def _gamma(
    count: np.ndarray | int, days: np.ndarray | float, shape: float, known: float
) -> np.ndarray:
    """Return ln of the chance of such alarms in so many days at a rate known that well.

    The rate has a gamma law of this shape over so many ``known`` days.
    """
    ends = shape * np.log(known) - (shape + count) * np.log(known + days)
    return np.asarray(special.gammaln(shape + count) - special.gammaln(shape) + ends)
