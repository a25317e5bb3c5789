"""A quantity that keeps part of its last value and takes the rest anew, for all rows at once."""

from __future__ import annotations

import numpy as np

_FORGOTTEN = 1e-9


def carry(kept: np.ndarray, fresh: np.ndarray) -> np.ndarray:
    """Return y with ``y[i] = kept[i] * y[i-1] + fresh[i]`` and ``y[-1] = 0``.

    Rows are joined in pairs, fours, eights...: log2(n) passes over whole columns, and fewer where
    little is kept.

    Parameters
    ----------
    kept : ndarray, shape (n,) or (n, d)
        Share of the last value that stays, 0 to 1 [-].
    fresh : ndarray, shape (n,) or (n, d)
        What comes in.

    Returns
    -------
    ndarray, shape of ``fresh``

    Examples
    --------
    >>> carry(np.array([0.5, 0.5, 0.5]), np.array([8.0, 0.0, 0.0])).tolist()
    [8.0, 4.0, 2.0]
    """
    y = np.array(fresh, dtype=float)
    a = np.array(np.broadcast_to(kept, y.shape), dtype=float)
    step = 1
    while step < len(y):
        y[step:] = y[step:] + a[step:] * y[:-step]
        a[step:] = a[step:] * a[:-step]
        a[:step] = 0.0
        if a.max(initial=0.0) < _FORGOTTEN:
            break
        step *= 2
    return y
