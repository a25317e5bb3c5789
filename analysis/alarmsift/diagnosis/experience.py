"""What was found at a point before: how it changes what later alarms there start with.

The more often gas was found at a point, the likelier the next alarm of that point and gas is gas:
a leak comes back until the pipe, the bulkhead or the coating is mended (CP). How much follows the
rule of succession (P. S. Laplace, 1774, from memory): one finding of gas weighs as much as all
that was believed before times three. It grows without limit.

The other way it is held short, however many nuisances were found: the tool must not learn to
ignore a point. And it is never what settles an alarm, see ``unmoved``.
"""

from __future__ import annotations

import numpy as np

from alarmsift.diagnosis.treat import NUISANCE_BELOW
from alarmsift.diagnosis.weighing import NAMED_FROM

# What was believed before weighs as much as this share of one finding [-] (CP).
BELIEF = 1.0 / 3.0
# A harmless finding weighs this much against gas [decibans], and all of them together no more
# than the second (CP). The sign of "nothing found" may add one: three in all.
EACH_LOWERS = 0.5
LOWERS_AT_MOST = 2.0


def prior_shift(gas_found: np.ndarray, other_found: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return by how much the prior of gas is raised and lowered [decibans], two of shape (E,).

    Parameters
    ----------
    gas_found, other_found : ndarray, shape (E,)
        Findings of gas, and of anything harmless, at the point and gas before the alarm. Once gas
        was found at a point nothing lowers it there.

    Examples
    --------
    >>> up, down = prior_shift(np.array([0, 1, 2, 0]), np.array([0, 0, 9, 9]))
    >>> up.round(1).tolist(), down.tolist()
    ([0.0, 6.0, 8.5, 0.0], [0.0, 0.0, 0.0, -2.0])
    """
    up = 10.0 * np.log10(1.0 + gas_found / BELIEF)
    down = 0.0 - np.minimum(EACH_LOWERS * other_found, LOWERS_AT_MOST)
    return up, np.where(gas_found > 0, 0.0, down)


def shifted(probability: np.ndarray, decibans: np.ndarray) -> np.ndarray:
    """Return the probabilities with more evidence added, shape (E, C).

    Parameters
    ----------
    probability, decibans : ndarray, shape (E, C)

    Examples
    --------
    >>> shifted(np.array([[0.5, 0.5]]), np.array([[-3.0103, 0.0]])).round(3).tolist()
    [[0.333, 0.667]]
    """
    out = probability * 10.0 ** (decibans / 10.0)
    return np.asarray(out / out.sum(axis=1, keepdims=True))


def unmoved(probability: np.ndarray, before: np.ndarray, real: np.ndarray) -> np.ndarray:
    """Tell where the same cause would be named, and gas ruled out, without any finding, shape (E,).

    Parameters
    ----------
    probability, before : ndarray, shape (E, C)
        With what findings lower, and without it.
    real : ndarray, shape (E,)
        P(gas) + P(ambient_vapour) without it.
    """
    same = probability.argmax(axis=1) == before.argmax(axis=1)
    return np.asarray(same & (before.max(axis=1) >= NAMED_FROM) & (real < NUISANCE_BELOW))
