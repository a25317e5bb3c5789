"""Each alarm's own point in block medians, the hours before and after it side by side."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from alarmsift.evidence.windows import Windows


def block_courses(
    w: Windows, reach: float, *, shift: float = 0.0, zero_out: bool = True
) -> Iterator[tuple[np.ndarray, np.ndarray, float]]:
    """Yield for each gas and analyser its alarms and their courses.

    Parameters
    ----------
    w : Windows
    reach : float
        Hours either way.
    shift : float
        Where the middle lies from the raise [h].
    zero_out : bool
        Take the shared zero out; else as displayed.

    Yields
    ------
    rows : ndarray of int, shape (k,)
        Rows of the windows.
    course : ndarray, shape (k, 2 r + 1)
        Block medians from clean air, alarms upwards; NaN where nothing was read.
    width : float
        Of a block [h].
    """
    owner = np.zeros(max(len(w.ship.visits.points), 1), "int64")
    owner[w.ship.visits.point] = w.ship.visits.analyser
    for (gas, analyser), model in w.ship.zeros.items():
        rows = np.flatnonzero((w.gas == gas) & (w.point >= 0) & (owner[w.point] == analyser))
        if not len(rows):
            continue
        width = model.blocks.width
        blocks = max(int(reach / width), 1)
        nominal = 20.9 if gas == "O2" else 0.0
        zero = model.zero[:, None] if zero_out else 0.0
        own = model.blocks.median - nominal - zero
        centre = ((w.raised[rows] + shift) // width).astype(int)
        at = centre[:, None] + np.arange(-blocks, blocks + 1)[None, :]
        turn = np.where(w.rising[rows], 1.0, -1.0)[:, None]
        course = turn * own[np.clip(at, 0, len(own) - 1), w.point[rows][:, None]]
        yield rows, np.where((at >= 0) & (at < len(own)), course, np.nan), width
