"""A space as a well-mixed room: V dC/dt = S - Q C, and what leaks on to the next one."""

from __future__ import annotations

import numpy as np

from alarmsift.simulate.recurrence import carry


def concentration(
    source: np.ndarray, air_changes: np.ndarray, step_h: float, *, seep: np.ndarray | None = None
) -> np.ndarray:
    """Return the concentration of every space over time.

    Exact between grid steps for a source and an air change that hold over the step.

    Parameters
    ----------
    source : ndarray, shape (n, spaces)
        Inflow over the volume [unit/h].
    air_changes : ndarray, shape (n, spaces)
        [1/h].
    step_h : float
        Grid step [h].
    seep : ndarray, shape (spaces, spaces), optional
        Exchange from column to row [1/h]; what comes back is left out.

    Returns
    -------
    ndarray, shape (n, spaces)

    Examples
    --------
    >>> c = concentration(np.full((241, 1), 10.0), np.full((241, 1), 1.0), 0.1)
    >>> round(float(c[-1, 0]), 2)
    10.0
    """
    first = _solve(source, air_changes, step_h)
    if seep is None or not first.any():
        return first
    return _solve(source + first @ seep.T, air_changes, step_h)


def _solve(source: np.ndarray, air_changes: np.ndarray, step_h: float) -> np.ndarray:
    rate = np.maximum(air_changes, 1e-6)
    kept = np.exp(-rate * step_h)
    fresh = source / rate * (1.0 - kept)
    used = source.any(axis=0)
    out = np.zeros(source.shape)
    if used.any():
        out[:, used] = carry(kept[:, used], fresh[:, used])
    return out


def follow(series: np.ndarray, hours: float, step_h: float) -> np.ndarray:
    """Return the series as felt behind a first-order lag of ``hours`` [h]; shape kept."""
    kept = float(np.exp(-step_h / max(hours, 1e-6)))
    return carry(np.full(series.shape, kept), series * (1.0 - kept))
