"""Spans out of series: where a state holds, with short gaps closed and short spells dropped."""

from __future__ import annotations

import numpy as np
import pandas as pd


def spans_where(
    hours: np.ndarray, flag: np.ndarray, *, close: float, shortest: float, open_end: bool = True
) -> np.ndarray:
    """Return the spans in which ``flag`` holds.

    Parameters
    ----------
    hours : ndarray, shape (n,)
        Times in order.
    flag : ndarray of bool, shape (n,)
    close : float
        Gaps up to this long are closed [h].
    shortest : float
        Spans shorter than this are dropped [h].
    open_end : bool
        Whether a span that holds at the last row has no end.

    Returns
    -------
    ndarray, shape (k, 2)
        Start and end [h]; the end is the first time at which it no longer holds, inf while open.

    Examples
    --------
    >>> h = np.arange(8.0)
    >>> f = np.array([0, 1, 1, 0, 1, 0, 0, 0], bool)
    >>> spans_where(h, f, close=1.0, shortest=0.0).tolist()
    [[1.0, 5.0]]
    """
    if not len(hours) or not flag.any():
        return np.zeros((0, 2))
    edge = np.diff(np.concatenate([[0], flag.astype(int), [0]]))
    begin, end = np.flatnonzero(edge == 1), np.flatnonzero(edge == -1)
    last = end >= len(hours)
    start = hours[begin]
    stop = np.where(last, np.inf if open_end else hours[-1], hours[np.minimum(end, len(hours) - 1)])
    fall = hours[np.maximum(end - 1, 0)]
    joined = np.append(True, start[1:] - fall[:-1] > close + 1e-9)
    first = np.flatnonzero(joined)
    final = np.append(first[1:] - 1, len(start) - 1)
    spans = np.stack([start[first], stop[final]], axis=1)
    length = np.minimum(spans[:, 1], hours[-1]) - spans[:, 0]
    return spans[length >= shortest]


def running_median(values: np.ndarray, width: int) -> np.ndarray:
    """Return the centred running median over ``width`` values, blanks left out, shape (n,)."""
    return np.asarray(pd.Series(values).rolling(width, center=True, min_periods=1).median())
