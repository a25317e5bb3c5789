"""The contract of a sign: one measured piece of evidence for or against the causes.

A sign measures something at every alarm (whole columns in, one number an alarm out), judges it as
*present*, *absent*, *undecided* or *no data*, and says in decibans how much either answer speaks
for or against each cause. Between present and absent the weight slides, so that a value near a
limit never tips a verdict by itself.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from alarmsift.evidence.windows import Windows

ANSWERS = ("present", "absent", "undecided", "no data")
# Under this strength either way an answer reads "undecided".
DECIDED = 0.3


@dataclass(frozen=True)
class Weight:
    """What a sign says about one cause.

    Attributes
    ----------
    cause : str
    present, absent : float
        Weight of evidence [decibans]: 10 log10 of how much likelier the answer is under this
        cause than otherwise (I. J. Good, Probability and the Weighing of Evidence, 1950, from
        memory).
    reason : str
    source : str
        ``CP`` = common practice, no source.
    """

    cause: str
    present: float
    absent: float
    reason: str
    source: str = "CP"


@dataclass(frozen=True)
class SignReading:
    """A sign at E alarms.

    Attributes
    ----------
    strength : ndarray, shape (E,)
        1 = clearly present, -1 = clearly absent, 0 = undecided, NaN = no data.
    measure : ndarray, shape (E,)
        The number behind it, in the sign's unit.
    first, last : ndarray of int or None, shape (E,)
        Columns of the windows that it rests on; None = the raising visit.
    """

    strength: np.ndarray
    measure: np.ndarray
    first: np.ndarray | None = None
    last: np.ndarray | None = None


@dataclass(frozen=True)
class Sign:
    """One sign.

    Attributes
    ----------
    key : str
        The file's name.
    title : str
        What is measured, for the reader.
    needs : tuple of str
        Columns or tables without which there is no data.
    family : str
        Signs of one family measure the same thing in several ways; together they are capped.
    unit : str
        Unit of the measure.
    applies : str
        ``alarm`` (gas alarms), ``fault`` or ``both``.
    read : callable
        Windows -> SignReading.
    weights : tuple of Weight
    present, absent : str
        Sentences for the reader, with ``{m}`` for the measure.
    """

    key: str
    title: str
    needs: tuple[str, ...]
    family: str
    unit: str
    applies: str
    read: Callable[[Windows], SignReading]
    weights: tuple[Weight, ...]
    present: str
    absent: str


def graded(measure: np.ndarray, *, absent: float, present: float) -> np.ndarray:
    """Return strengths: -1 at ``absent`` and beyond, 1 at ``present`` and beyond, NaN for NaN.

    Parameters
    ----------
    measure : ndarray, shape (E,)
    absent, present : float
        Limits in the unit of the measure; ``present`` may be the smaller one.

    Examples
    --------
    >>> graded(np.array([0.0, 1.0, 1.5, 3.0, np.nan]), absent=1.0, present=2.0)
    array([-1., -1.,  0.,  1., nan])
    """
    scaled = (np.asarray(measure, float) - absent) / (present - absent)
    return np.clip(2.0 * scaled - 1.0, -1.0, 1.0)


def no_data(n: int) -> SignReading:
    """Return the reading of a sign that has nothing to go by at n alarms."""
    blank = np.full(n, np.nan)
    return SignReading(blank, blank)


def answer_of(strength: np.ndarray) -> np.ndarray:
    """Return the answers in words, shape (E,)."""
    out = np.full(len(strength), "undecided", dtype=object)
    out[strength >= DECIDED] = "present"
    out[strength <= -DECIDED] = "absent"
    out[np.isnan(strength)] = "no data"
    return out
