"""Two rounds in one log: points that keep no step with each other belong to different analysers.

Logs of ships with two analysers do not always say which row came from which. Within one analyser
every point has its place in the round; between two analysers, whose rounds differ a little in
length, the place wanders all the way round. Rounds that run in lockstep can't be told apart.
"""

from __future__ import annotations

import numpy as np

# Mean resultant length of the place in the round (0 = wanders evenly, 1 = fixed): out of step up to
# there (Mardia and Jupp, Directional Statistics, 2000, from memory; the limit CP).
OUT_OF_STEP = 0.35
# Fewer turns than this settle nothing, and a round of fewer points is no round (CP).
FEWEST_TURNS = 100
FEWEST_POINTS = 3
# Only rounds near the usual length count: a stop moves every place.
USUAL = 1.6
# Turns of a point that are looked at: some weeks.
LOOK = 3000


def rounds_of(hours: np.ndarray, point: np.ndarray, n_points: int) -> np.ndarray:
    """Return the number of the round that each point belongs to, shape (n_points,).

    Parameters
    ----------
    hours : ndarray, shape (n,)
        Times of visits that drew air, in order [h].
    point : ndarray of int, shape (n,)
        Which of the ``n_points``.

    Returns
    -------
    ndarray of int
        All zero where one analyser explains the log.
    """
    turns = np.bincount(point, minlength=n_points)
    one = np.zeros(n_points, "int64")
    known = np.flatnonzero(turns >= FEWEST_TURNS)
    if len(known) < 2 * FEWEST_POINTS:
        return one
    order = np.argsort(point, kind="stable")
    own = [part[:LOOK] for part in np.split(hours[order], np.cumsum(turns)[:-1])]
    lead = int(known[np.argmax(turns[known])])
    step = np.zeros((0, n_points))
    while len(step) < len(known):
        row = np.array([_in_step(own[lead], own[p]) for p in range(n_points)])
        step = np.vstack([step, row])
        closest = step.max(axis=0)
        lead = int(known[np.argmin(closest[known])])
        if closest[lead] > OUT_OF_STEP:
            break
    group = step.argmax(axis=0)
    for g in range(len(step)):
        apart = step[np.arange(len(step)) != g][:, (group == g) & (turns >= FEWEST_TURNS)]
        if apart.shape[1] < FEWEST_POINTS or (apart.size and np.median(apart) > OUT_OF_STEP):
            return one
    # A seldom visited point is in step with anything: it stays with the largest round.
    most = int(np.bincount(group[known]).argmax())
    return np.where(turns >= FEWEST_TURNS, group, most)


def _in_step(lead: np.ndarray, other: np.ndarray) -> float:
    """Return how fixed the place of one point is in the round of another, 0 to 1."""
    gap = np.diff(lead)
    at = np.searchsorted(lead, other, "right") - 1
    inside = (at >= 0) & (at < len(gap))
    at, other = at[inside], other[inside]
    usual = gap[at] <= USUAL * np.median(gap)
    if usual.sum() < FEWEST_TURNS / 2:
        return 1.0
    place = (other[usual] - lead[at[usual]]) / np.maximum(gap[at[usual]], 1e-9)
    return float(np.abs(np.exp(2j * np.pi * place).mean()))
