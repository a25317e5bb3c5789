"""Whether a trouble stayed away after a repair, came back, or nobody can tell yet.

Alarms come at two rates: that of the trouble, and that of the rest, which comes with it and
without it. Neither is known, nor the day on which the trouble began; the alarms before the repair
say of each what their number allows and no more (a grid over both, the beginning summed over), so
a single alarm before a repair asks for a silence far longer than the time before it. Three stories
are then held against the alarms after it: cured for good, not cured at all, cured for a while and
back at some moment. Even odds beforehand of being there and away, so that only the alarms and
their absence speak.

The odds by which the alarms make a return likelier rise above K at any one of many looks with a
chance under 1/K, if there was none [2]_: a return may be looked for at every alarm.

References
----------
.. [1] Raftery, A. E., Akman, V. E., "Bayesian analysis of a Poisson process with a change-point",
   *Biometrika* 73 (1986) 85-89.
.. [2] Ville, J., *Etude critique de la notion de collectif*, Gauthier-Villars (1939), ch. V.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy import special

from alarmsift.repairs.rates import CLUSTER_HOURS

# Rates of clusters of alarms that are thought of [1/d]: from one in a month, which is what is
# compared, to one after the other without a pause.
SELDOM, OFTEN = 1.0 / 30.0, 24.0 / CLUSTER_HOURS
# The rest comes at this share of the trouble's rate, every scale as likely (common practice, no
# source): with more of it there is no trouble to speak of.
LEAST_REST, MOST_REST = 0.003, 0.4
# A trouble that is back comes stronger or weaker by such a factor (standard deviation of its
# logarithm; common practice, no source).
AGAIN: Final = 0.4
# Where the trouble is there, it was never cured with this chance, else it came back at some moment
# of the time seen, as likely between one and two days as between four and eight (common practice,
# no source).
NOT_CURED: Final = 0.5
SOONEST: Final = 0.3  # [d]
# How sure before anything is said at the end. Even odds are hard on a repair, for most of them help
# at least for a while (common practice, no source), so a cure is said with less than a return is;
# how much less was set on made-up repairs (tests/measure/repairs.py). And at any one of many looks:
# one chance in fifty of erring.
SURE_HELD, SURE_BACK, SURE_AT_ONCE = 0.75, 0.85, 0.98
_STEP: Final = 1.25  # from rate to rate of the grid [-]
_RATES: Final = np.exp(np.arange(np.log(SELDOM * LEAST_REST), np.log(OFTEN * 4.0), np.log(_STEP)))
_TROUBLE: Final = _RATES[(_RATES >= SELDOM) & (_RATES <= OFTEN)]
_MOMENTS: Final = 100
_PIECES: Final = 4  # of each gap between alarms in which the trouble can have begun


@dataclass(frozen=True)
class Recurrence:
    """``outcome`` (held, came_back, too_early, no_trouble) and days until it was back.

    ``chance`` [-] is that of its being there at the end, by the alarms alone and even odds.
    """

    outcome: str
    days: float
    chance: float = float("nan")


@dataclass(frozen=True)
class Trouble:
    """What the alarms before a repair say of the rates after it.

    Attributes
    ----------
    count : int
        Clusters of alarms.
    rate, rest : float
        Mean rates of trouble and rest [1/d].
    weight : ndarray, shape (k, k)
        How likely each rate of the rest (row) is with each rate once the trouble is back (column),
        both of the grid; adds up to 1.
    """

    count: int
    rate: float
    rest: float
    weight: np.ndarray


def trouble_before(ago: np.ndarray, watched: float) -> Trouble:
    """Return the trouble before a repair.

    Parameters
    ----------
    ago : ndarray, shape (n,)
        Watched days from each cluster of alarms to the repair.
    watched : float
        Watched days before the repair.
    """
    if not len(ago):
        return Trouble(0, 0.0, 0.0, np.zeros((0, 0)))
    share = _RATES[None, :] / _TROUBLE[:, None]
    usual = ((share >= LEAST_REST) & (share <= MOST_REST)).astype(float)
    usual /= usual.sum(axis=1, keepdims=True)
    told = _before(np.sort(ago)[::-1], max(watched, float(ago.max()), 1e-6))
    belief = np.exp(told - told.max()) * usual
    belief /= belief.sum()
    again = np.exp(-0.5 * (np.log(share) / AGAIN) ** 2)
    again /= again.sum(axis=1, keepdims=True)
    weight = belief.T @ again
    return Trouble(
        count=len(ago),
        rate=float(belief.sum(axis=1) @ _TROUBLE),
        rest=float(belief.sum(axis=0) @ _RATES),
        weight=weight / weight.sum(),
    )


def _before(ago: np.ndarray, watched: float) -> np.ndarray:
    """Return ln of how well rates fit the alarms before, shape (trouble's rates, rest's rates).

    The trouble was there all the time watched, or began at some moment of it: even odds.
    """
    edges = np.concatenate([[watched], ago])
    wide = -np.diff(edges) / _PIECES
    into = (np.arange(_PIECES) + 0.5) / _PIECES
    start = (edges[:-1, None] + np.diff(edges)[:, None] * into).ravel()
    inside = np.repeat(len(ago) - np.arange(len(ago)), _PIECES)
    chance = np.repeat(wide, _PIECES) / max(watched - ago[-1], 1e-9)
    start, inside = np.append(start, watched), np.append(inside, len(ago))
    chance = np.append(0.5 * chance, 0.5)
    both = np.log(_TROUBLE[:, None] + _RATES[None, :])
    out = np.full(both.shape, -np.inf)
    for began, count, odds in zip(start, inside, chance, strict=True):  # clusters, not readings
        if odds > 0.0:
            fit = count * both + (len(ago) - count) * np.log(_RATES)[None, :]
            fit -= _TROUBLE[:, None] * began + _RATES[None, :] * watched
            out = np.logaddexp(out, fit + np.log(odds))
    return np.asarray(out)


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
            return Recurrence("came_back", moment, share)
    share, moment = _back(trouble, after, watched)
    if share >= SURE_BACK:
        return Recurrence("came_back", moment, share)
    return Recurrence("held" if share <= 1.0 - SURE_HELD else "too_early", float("nan"), share)


def _back(trouble: Trouble, after: np.ndarray, watched: float) -> tuple[float, float]:
    """Return how likely the trouble is there at the end of the days watched, and since when."""
    later = np.geomspace(SOONEST, watched, _MOMENTS)[:-1] if watched > SOONEST else np.zeros(0)
    moments = np.concatenate([[0.0], later, [watched]])  # the last: not back
    chance = np.full(len(moments), (1.0 - NOT_CURED) / max(len(later), 1))
    chance[0] = NOT_CURED if len(later) else 1.0
    chance[-1] = 1.0
    quiet = np.searchsorted(after, moments, side="left")
    quiet[-1] = len(after)
    rates = np.log(_RATES)[:, None]
    away = quiet * rates - _RATES[:, None] * moments
    there = (len(after) - quiet) * rates - _RATES[:, None] * (watched - moments)
    tops = away.max(axis=0) + there.max(axis=0)
    parts = np.exp(away - away.max(axis=0)), np.exp(there - there.max(axis=0))
    fit = np.einsum("im,ij,jm->m", parts[0], trouble.weight, parts[1], optimize=True)
    told = np.log(np.maximum(fit, 1e-300)) + tops + np.log(chance)
    moment = float(moments[int(np.argmax(told[:-1]))])
    following = after[after >= moment]
    since = float(following[0]) if len(following) else moment
    return float(special.expit(special.logsumexp(told[:-1]) - told[-1])), since
