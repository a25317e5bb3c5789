"""Was there a time when the sample before was as high, and left nothing?"""

from __future__ import annotations

import numpy as np

from alarmsift.evidence.windows import Windows

# The sample before counts as being as high from this share of what it was at the raise, and as
# having left nothing where the point showed less than this share of what it would have left (CP).
AS_HIGH, LEFT_NOTHING = 0.7, 0.4
CLEAR_OF_NOISE = 6.0
FEWEST = 3  # visits: one may be a second draw


def share_lost(w: Windows) -> np.ndarray:
    """Tell whether the point did not repeat the sample before it at other times, shape (E,).

    A line that is too long or a valve that passes keeps its share of the sample before for as long
    as it does so at all: gas of the point's own comes and goes by itself.
    """
    before = w.prev[:, w.at][:, None]
    with np.errstate(invalid="ignore", divide="ignore"):
        share = w.x0[:, None] / np.where(before > 0, before, np.nan)
        high = (w.prev >= AS_HIGH * before) & (share * w.prev > CLEAR_OF_NOISE * w.noise[:, None])
        lost = high & ~w.testing & (w.x < LEFT_NOTHING * share * w.prev)
    return np.asarray(lost.sum(axis=1) >= FEWEST)
