"""Weighing: prior and weights of evidence to probabilities.

The prior and what the signs weigh are added in decibans, groups of signs that measure the same
thing are capped, and a softmax over the causes gives probabilities.

Sources: I. J. Good, *Probability and the Weighing of Evidence* (1950), and A. M. Turing's decibans
(both from memory); exclusive causes by Bayes' theorem.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from alarmsift.diagnosis.cause import Cause

# Most that one family of signs may say for or against a cause [decibans].
FAMILY_CAP = 45.0
# Under this a cause is not named.
NAMED_FROM = 0.5
NEVER = -200.0


@dataclass(frozen=True)
class Weighed:
    """Probabilities and the decibans behind them.

    Attributes
    ----------
    causes : tuple of str, length C
    signs : tuple of str, length S
    probability : ndarray, shape (E, C)
    decibans : ndarray, shape (E, S, C)
        What each sign said about each cause, before caps.
    """

    causes: tuple[str, ...]
    signs: tuple[str, ...]
    probability: np.ndarray
    decibans: np.ndarray


def weigh(
    strength: np.ndarray,
    is_fault: np.ndarray,
    *,
    signs: pd.DataFrame,
    weights: pd.DataFrame,
    causes: tuple[Cause, ...],
    without: tuple[str, ...] = (),
) -> Weighed:
    """Return the probabilities of the causes of E alarms.

    Parameters
    ----------
    strength : ndarray, shape (E, S)
        1 = present, -1 = absent, NaN = no data.
    is_fault : ndarray of bool, shape (E,)
    signs : DataFrame, S rows
        ``sign``, ``family``, ``applies``.
    weights : DataFrame
        ``sign``, ``cause``, ``present``, ``absent``.
    causes : tuple of Cause, length C
    without : tuple of str
        Causes left out: what would it be if it were none of these?
    """
    keys = tuple(cause.key for cause in causes)
    names = tuple(signs["sign"])
    present, absent = _matrix(weights, names, keys)
    live = np.nan_to_num(strength)
    fits = _applies(signs["applies"].to_numpy(object), is_fault)
    up = np.where(fits, np.clip(live, 0.0, 1.0), 0.0)
    down = np.where(fits, np.clip(-live, 0.0, 1.0), 0.0)
    decibans = up[:, :, None] * present[None] + down[:, :, None] * absent[None]
    family = signs["family"].to_numpy(object)
    total = np.zeros((len(strength), len(keys)))
    for name in dict.fromkeys(family):
        part = decibans[:, family == name, :].sum(axis=1)
        total += np.clip(part, -FAMILY_CAP, FAMILY_CAP)
    prior = np.array([cause.prior for cause in causes])
    score = total + prior[None, :]
    score = np.where(
        _applies(np.array([c.applies for c in causes], object), is_fault), score, NEVER
    )
    score[:, [key in without for key in keys]] = NEVER
    score = score * np.log(10.0) / 10.0
    score -= score.max(axis=1, keepdims=True)
    probability = np.exp(score)
    return Weighed(keys, names, probability / probability.sum(axis=1, keepdims=True), decibans)


def _matrix(
    weights: pd.DataFrame, signs: tuple[str, ...], causes: tuple[str, ...]
) -> tuple[np.ndarray, np.ndarray]:
    present, absent = np.zeros((2, len(signs), len(causes)))
    row = weights["sign"].map({name: i for i, name in enumerate(signs)}).to_numpy(int)
    column = weights["cause"].map({name: i for i, name in enumerate(causes)}).to_numpy(int)
    present[row, column] = weights["present"].to_numpy(float)
    absent[row, column] = weights["absent"].to_numpy(float)
    return present, absent


def _applies(applies: np.ndarray, is_fault: np.ndarray) -> np.ndarray:
    """Return which of n items apply to which of E alarms, shape (E, n)."""
    wanted = np.where(is_fault, "fault", "alarm").astype(object)
    return (applies[None, :] == "both") | (applies[None, :] == wanted[:, None])
