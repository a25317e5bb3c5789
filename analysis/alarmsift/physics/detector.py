"""The detector's answer to a change of gas: a first-order lag, named by its T90.

A detector shows a step of gas as ``1 - exp(-t / tau)`` from the moment at which the gas arrives.
T90 is the time after which 90 % of the step is shown, as IEC 60079-29-1 words it.

References
----------
.. [1] Bentley, J. P., *Principles of Measurement Systems*, dynamic characteristics: first-order
   elements.
"""

from __future__ import annotations

from typing import Final, cast

import numpy as np

from alarmsift.physics.quantity import Quantity

LN10: Final = float(np.log(10.0))  # [-] exp(-LN10) leaves the last tenth


def time_constant(t90: Quantity) -> Quantity:
    """Return the time constant of a first-order detector [s].

    Parameters
    ----------
    t90 : float or ndarray
        Time to show 90 % of a step [s], above 0.

    Notes
    -----
    ``T90 / ln 10`` [1]_. Misfit: a wet or old electrochemical cell has a slow tail of its own, and
    a bead under a dirty guard is slower than its data sheet.

    References
    ----------
    .. [1] Bentley, *Principles of Measurement Systems*.

    Examples
    --------
    >>> round(float(time_constant(30.0)), 4)
    13.0288
    """
    return t90 / LN10


def share_shown(time: Quantity, t90: Quantity) -> Quantity:
    """Return the share of a step that the detector shows after a time [-].

    Parameters
    ----------
    time : float or ndarray
        Time since the gas reached the detector [s]; 0 or less gives 0.
    t90 : float or ndarray
        Time to show 90 % of a step [s], above 0.

    Notes
    -----
    ``1 - 10**(-t / T90)`` [1]_. For a point of a scan the time is the dwell less the line's
    transit: a line that runs slow is sampled late, and the reading comes out too small.

    References
    ----------
    .. [1] Bentley, *Principles of Measurement Systems*.

    Examples
    --------
    Dwell 60 s, transit 34 s, T90 30 s; then the same line at half its flow:

    >>> [round(float(share), 3) for share in share_shown(60 - np.array([34.0, 68.0]), 30.0)]
    [0.864, 0.0]
    """
    since = np.maximum(np.asarray(time, float), 0.0)
    return cast(Quantity, -np.expm1(-since * LN10 / t90)[()])


def shown(before: Quantity, present: Quantity, *, time: Quantity, t90: Quantity) -> Quantity:
    """Return what the detector shows after one sample has followed another.

    Parameters
    ----------
    before : float or ndarray
        What it showed of the sample before [any unit].
    present : float or ndarray
        What the present sample holds [the same unit].
    time : float or ndarray
        Time since the present sample reached the detector [s].
    t90 : float or ndarray
        Time to show 90 % of a step [s], above 0.

    Notes
    -----
    First-order lag [1]_; the part of `before` that is left is the carry-over.

    References
    ----------
    .. [1] Bentley, *Principles of Measurement Systems*.

    Examples
    --------
    40 %LFL before, clean air now, T90 30 s: after 20 s and after 60 s

    >>> [round(float(value), 3) for value in shown(40.0, 0.0, time=np.array([20.0, 60]), t90=30.0)]
    [8.618, 0.4]
    """
    return before + (present - before) * share_shown(time, t90)
