"""How much of its clean flow the best of an analyser's lines still gets: what the pump is worth.

A line that is choked or wet has its own reason for less; what even the best lines lack, the pump or
the common filter takes. Where only suction is logged it stands for the flow: a weak pump, or a
filter behind the gauge, lets both fall together. A filter before the gauge lets suction rise, which
says nothing here.
"""

from __future__ import annotations

import numpy as np

from alarmsift.evidence.blocks import Blocks, block_medians, rolling_median
from alarmsift.evidence.ship import Ship

# The best lines but for one in five, which may let air in (CP).
BEST = 0.8
FEWEST_LINES = 3
SMOOTH_BLOCKS = 3


def best_share(ship: Ship) -> tuple[Blocks | None, np.ndarray]:
    """Return the blocks and the share of clean flow at the best lines, shape (b, analysers).

    NaN where too few lines were drawn; no blocks where neither flow nor suction was logged.
    """
    visits, line = ship.visits, ship.line
    if line.columns == "none":
        return None, np.zeros((0, len(visits.analysers)))
    share = line.flow_share
    if "flow" not in line.columns:
        share = visits.suction / line.clean_suction[visits.point]
    blocks = block_medians(visits, share, visits.drawn)
    home = np.zeros(len(visits.points), "int64")
    home[visits.point] = visits.analyser
    out = np.full((len(blocks.hours), len(visits.analysers)), np.nan)
    for analyser in range(out.shape[1]):
        lines = np.sort(blocks.median[:, home == analyser], axis=1)  # blanks go last
        count = np.isfinite(lines).sum(axis=1)
        enough = np.flatnonzero(count >= FEWEST_LINES)
        rank = np.round(BEST * (count[enough] - 1)).astype("int64")
        out[enough, analyser] = lines[enough, rank]
    return blocks, np.asarray(rolling_median(out, SMOOTH_BLOCKS))
