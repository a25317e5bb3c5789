"""Chatter: alarms that come and go in a short time.

A point is read once a round, so its run lengths are counted in visits: by the clock an alarm that
is read every ten minutes could never chatter. Faults have no visits; they go by the clock.

References
----------
.. [1] Kondaveeti, Izadi, Shah, Shook, Kadali and Chen, *Chem. Eng. Res. Des.* 91 (2013) 2550-2558:
   the chatter index as the mean of one over the run length (from memory).
"""

from __future__ import annotations

import numpy as np

# Three raises within so many visits, both ends counted apart (the first and the third raise lie at
# most this far from each other). The least that three raises take is four visits. After the screen
# of three in a minute of EEMUA 191 and ANSI/ISA-18.2 (from memory), put into visits (CP).
RAISES, WITHIN_VISITS = 3, 6
# The same by the clock, bound included [s].
WITHIN_SECONDS = 60.0


def chatter_index(raised: np.ndarray) -> float:
    """Return the chatter index of one alarm: the mean of one over its run lengths [1/unit].

    Parameters
    ----------
    raised : ndarray, shape (n,)
        When it was raised, ascending: seconds, or the number of the point's visit.

    Returns
    -------
    float
        NaN for fewer than two raises. A run length of nought is left out: two rows of one moment
        are no run.

    Examples
    --------
    Every 20 seconds, three times a minute:

    >>> round(chatter_index(np.arange(0.0, 200.0, 20.0)), 4)
    0.05
    """
    runs = np.diff(np.asarray(raised, float))
    runs = runs[runs > 0]
    return float(np.mean(1.0 / runs)) if len(runs) else float("nan")


def bursts(raised: np.ndarray, *, within: float, raises: int = RAISES) -> np.ndarray:
    """Tell for each raise whether it begins a burst: so many raises no further apart, shape (n,).

    Examples
    --------
    >>> bursts(np.array([0.0, 5, 10, 12, 40, 100, 700]), within=60.0).tolist()
    [True, True, True, False, False, False, False]
    """
    times = np.asarray(raised, float)
    out = np.zeros(len(times), bool)
    ahead = raises - 1
    if len(times) > ahead:
        out[:-ahead] = times[ahead:] - times[:-ahead] <= within
    return out
