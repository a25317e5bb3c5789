"""How many alarms came in each period of ten minutes, and when they came as a flood.

Periods run by the clock (:00, :10, ...), one after the other, from that of the first moment of the
watch to that of the last.

References
----------
.. [1] ANSI/ISA-18.2 and IEC 62682 (from memory): a flood begins in a period of ten minutes with
   more than 10 alarms and ends in the first one with fewer than 5.
.. [2] HSE, *Chemicals Sheet 6*: better alarm handling: at most 10 in the first ten minutes.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

PERIOD_MINUTES = 10.0
FLOOD_ABOVE, FLOOD_UNDER = 10, 5
BUSY_HOUR = 30  # alarms an hour, ANSI/ISA-18.2 (from memory)


@dataclass(frozen=True)
class Floods:
    """Alarms by period of ten minutes.

    Attributes
    ----------
    counts : ndarray of int, shape (n,)
        Alarms in each period.
    flooded : ndarray of bool, shape (n,)
        Periods that belong to a flood.
    number : int
        Floods.
    most : int
        Alarms in the largest flood.
    """

    counts: np.ndarray
    flooded: np.ndarray
    number: int
    most: int


def counts_by(minutes: np.ndarray, start: float, end: float, *, period: float) -> np.ndarray:
    """Return alarms in each period by the clock from that of ``start`` to that of ``end``.

    Parameters
    ----------
    minutes : ndarray, shape (n,)
        When alarms were raised [min]; those outside the watch are left out.
    start, end : float
        The watch [min, same origin].
    period : float
        [min]; 0 is a border.
    """
    first, last = int(start // period), int(end // period)
    at = (np.asarray(minutes, float) // period).astype("int64") - first
    at = at[(at >= 0) & (at <= last - first)]
    return np.bincount(at, minlength=last - first + 1)


def floods(minutes: np.ndarray, start: float, end: float) -> Floods:
    """Return the floods of a watch.

    Parameters
    ----------
    minutes : ndarray, shape (n,)
        When alarms were raised [min].
    start, end : float
        The watch [min, same origin].

    Examples
    --------
    Eleven alarms in ten minutes, then seven, then four: one flood of two periods.

    >>> raised = np.concatenate([np.linspace(0, 9, 11), np.linspace(10, 19, 7), [20, 22, 24, 26]])
    >>> found = floods(raised, 0.0, 59.0)
    >>> found.counts.tolist(), found.flooded.tolist(), found.number, found.most
    ([11, 7, 4, 0, 0, 0], [True, True, False, False, False, False], 1, 18)
    """
    counts = counts_by(minutes, start, end, period=PERIOD_MINUTES)
    # A period begins a flood, ends one, or leaves it as it was: the last that says so counts.
    says = np.where(counts > FLOOD_ABOVE, 1, np.where(counts < FLOOD_UNDER, 0, -1))
    last = np.maximum.accumulate(np.where(says >= 0, np.arange(len(says)), -1))
    flooded = (last >= 0) & (says[np.maximum(last, 0)] == 1)
    begins = flooded & ~np.append(False, flooded[:-1])
    label = np.cumsum(begins)
    sizes = np.bincount(label[flooded], weights=counts[flooded]) if begins.any() else np.zeros(1)
    return Floods(counts, flooded, int(begins.sum()), int(sizes.max()))
