"""Thins a long series to what a picture can show, so that a single high visit stays visible."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class Envelope:
    """A series drawn bin by bin.

    Attributes
    ----------
    time, value : array, shape (m,)
        A line that runs through the lowest and the highest value of every bin, in the order in
        which they came; NaN where the line is to break.
    thinned : bool
        False when every value is there.
    """

    time: np.ndarray
    value: np.ndarray
    thinned: bool


def envelope(time: np.ndarray, value: np.ndarray, *, bins: int, gap: float) -> Envelope:
    """Return a line that no value of the series sticks out of.

    Parameters
    ----------
    time : array, shape (n,)
        Rising, in any unit.
    value : array, shape (n,)
        NaN rows are left out.
    bins : int
        Number of equal time bins; with up to twice as many values nothing is thinned.
    gap : float
        The line breaks between two values further apart than this [unit of time].

    Returns
    -------
    Envelope

    Examples
    --------
    >>> t = np.arange(1000.0)
    >>> v = np.zeros(1000)
    >>> v[137] = 42.0
    >>> float(envelope(t, v, bins=10, gap=50.0).value.max())
    42.0
    """
    keep = np.isfinite(value)
    time, value = time[keep], value[keep]
    thinned = time.size > 2 * bins
    if thinned:
        time, value = _extremes(time, value, bins)
        gap = max(gap, 1.5 * (time[-1] - time[0]) / bins)
    where = np.flatnonzero(np.diff(time) > gap) + 1
    return Envelope(
        np.insert(time, where, np.nan), np.insert(value.astype(float), where, np.nan), thinned
    )


def _extremes(time: np.ndarray, value: np.ndarray, bins: int) -> tuple[np.ndarray, np.ndarray]:
    edges = np.linspace(time[0], time[-1], bins + 1)
    which = np.clip(np.searchsorted(edges, time, "right") - 1, 0, bins - 1)
    order = np.lexsort((value, which))
    starts = np.flatnonzero(np.diff(which[order], prepend=-1))
    ends = np.append(starts[1:], time.size) - 1
    rows = np.unique(np.concatenate([order[starts], order[ends]]))
    return time[rows], value[rows]


def merge_spans(
    start: np.ndarray, end: np.ndarray, group: np.ndarray, *, gap: float
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Join neighbouring spans of one group that a picture could not tell apart.

    Parameters
    ----------
    start, end : array, shape (n,)
        Spans in order of start, in any unit of time.
    group : array, shape (n,)
        Spans of different groups are never joined.
    gap : float
        Spans closer than this are joined.

    Returns
    -------
    start, end, group : array, shape (m,)

    Examples
    --------
    >>> merge_spans(np.array([0.0, 2.0, 9.0]), np.array([1.0, 3.0, 9.5]), np.array(["w"] * 3),
    ...             gap=1.5)[:2]
    (array([0., 9.]), array([3. , 9.5]))
    """
    if start.size == 0:
        return start, end, group
    order = np.lexsort((start, group))
    start, end, group = start[order], end[order], group[order]
    fresh = np.ones(start.size, dtype=bool)
    same = group[1:] == group[:-1]
    block = np.concatenate([[0], np.cumsum(~same)])
    reach = _running_end(end, block)
    fresh[1:] = ~same | (start[1:] - reach[:-1] > gap)
    first = np.flatnonzero(fresh)
    last = np.append(first[1:], start.size) - 1
    out = np.argsort(start[first], kind="stable")
    return start[first][out], reach[last][out], group[first][out]


def _running_end(end: np.ndarray, block: np.ndarray) -> np.ndarray:
    """Return the furthest end so far within each block, shape (n,)."""
    lift = (np.nanmax(end) - np.nanmin(end) + 1.0) * block
    return np.asarray(np.maximum.accumulate(end + lift) - lift)
