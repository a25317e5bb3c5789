"""The level that values keep to most."""

from __future__ import annotations

import numpy as np


def shorth(values: np.ndarray) -> float:
    """Return the middle of the shortest half of the values: the level they keep to most.

    Examples
    --------
    >>> shorth(np.array([5.0, 5.1, 5.0, 4.9, 1.0, 0.5, 0.2]))
    5.0
    """
    ordered = np.sort(values[np.isfinite(values)])
    if not len(ordered):
        return float("nan")
    half = len(ordered) // 2 + 1
    if half >= len(ordered):
        return float(np.median(ordered))
    width = ordered[half - 1 :] - ordered[: len(ordered) - half + 1]
    start = int(np.argmin(width))
    return float(np.median(ordered[start : start + half]))
