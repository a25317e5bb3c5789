"""Neighbours: did the spaces beside it, or the other point of its space, rise as well?

Gas finds its way into the next space, later and weaker, and shows at both points of a large
space.

Columns: points with neighbours or spaces, readings. Measure: largest rise among them, from a few
rounds before to twelve hours after, as a share of the excess at the raise. Clearly present from
0.9, clearly absent to 0.3 (but never fully: most leaks stay in one space), undecided between; no
data where nobody says which spaces are neighbours, or most other points rose too. Fooled by
carry-over where neighbours follow each other in the round. Source: common practice.
"""

import numpy as np

from alarmsift.evidence.shape import row_nanmax
from alarmsift.evidence.sign import Sign, SignReading, Weight, graded, no_data
from alarmsift.evidence.together import together
from alarmsift.evidence.windows import Windows


def read(w: Windows) -> SignReading:
    """Return the largest rise among the kin within twelve hours."""
    related = w.ship.near
    measure = np.full(len(w), np.nan)
    if not related.any():
        return no_data(len(w))
    cycle = w.ship.visits.cycle_hours
    span = max(int(round(12.0 / cycle)), 4)
    for gas in w.ship.visits.gases:
        rows = np.flatnonzero((w.gas == gas) & (w.point >= 0) & np.isfinite(w.x0))
        if not len(rows):
            continue
        sign = -1.0 if gas == "O2" else 1.0
        grid = sign * w.ship.grid[gas]
        centre = np.clip((w.raised[rows] // cycle).astype(int), 0, len(grid) - 1)
        near = np.clip(centre[:, None] + np.arange(-4, span)[None, :], 0, len(grid) - 1)
        block = np.sort(np.stack([grid[near], grid[np.maximum(near - 1, 0)]]), axis=0)[0]
        top = np.where(np.isfinite(block), block, -np.inf).max(axis=1)
        top = np.where(related[w.point[rows]] & np.isfinite(top), top, np.nan)
        clear = top > 4.0 * w.ship.noise[gas][None, :]
        best = row_nanmax(np.where(clear, top, np.nan))
        some = related[w.point[rows]].any(axis=1)
        measure[rows] = np.where(some, np.nan_to_num(best) / np.maximum(w.x0[rows], 1e-9), np.nan)
    strength = graded(measure, absent=0.3, present=0.9)
    crowd = np.nan_to_num(together(w).share) > 0.4
    return SignReading(np.where(crowd, np.nan, np.maximum(strength, -0.6)), measure)


SIGN = Sign(
    key="neighbours_followed",
    title="Neighbouring points",
    needs=("points: neighbours or space",),
    family="spread",
    unit="share",
    applies="alarm",
    read=read,
    weights=(
        Weight("spike", -6, 0, "a disturbance hits one reading"),
        Weight("tight_setpoint", -14, 0, "a background is in one space"),
        Weight("water", 0, 0, "water is in one line"),
    ),
    present="a neighbouring point rose as well ({m:.1f} times as much)",
    absent="the neighbouring points stayed at rest",
)
