"""Next points the same: did the points before or after it in the round show the same value?

Test gas at the detector shows at whatever points are in turn; a space's gas shows at its own
points. Columns: readings. Measure: closeness of the neighbouring turns to the reading (share of
it). Fooled by wet optics and deck vapour, which the signs of the family ``together`` tell.
Source: common practice.
"""

import numpy as np

from alarmsift.evidence.sign import Sign, SignReading, Weight, graded
from alarmsift.evidence.windows import Windows


def _shown(w: Windows, visit: np.ndarray) -> np.ndarray:
    out = np.full(len(w), np.nan)
    for gas in w.ship.visits.gases:
        mine = w.gas == gas
        out[mine] = np.append(w.ship.shown[gas], np.nan)[visit[mine]]
    return np.where(w.rising, out, -out)


def read(w: Windows) -> SignReading:
    """Return the closest neighbour turn's excess over the own one."""
    visits = w.ship.visits
    here = w.visit[:, w.at]
    following = np.full(len(visits) + 1, -1, "int64")
    has = np.flatnonzero(visits.previous >= 0)
    following[visits.previous[has]] = has
    before = np.append(visits.previous, -1)[here]
    after = following[here]
    own = np.maximum(_shown(w, here), 1e-9)
    ratios = np.stack([_shown(w, v) / own for v in (before, after)])
    off = np.abs(ratios - 1.0)
    measure = np.fmin(off[0], off[1])
    return SignReading(graded(measure, absent=0.45, present=0.12), measure)


SIGN = Sign(
    key="next_points_same",
    title="The points in turn beside it",
    needs=("readings",),
    family="test",
    unit="share",
    applies="alarm",
    read=read,
    weights=(
        Weight("test_gas", 7, -2, "test gas shows at whatever point is in turn"),
        Weight("gas", -5, 0, "a space's gas shows at its own points"),
        Weight("spike", -7, 1, "a disturbance hits one reading"),
        Weight("blocked", 2, 0, "a choked line repeats the point before"),
        Weight("carry_over", -4, 0, "carry-over keeps a small share only"),
    ),
    present="the point in turn beside it showed the same (within {m:.0%})",
    absent="the points in turn beside it showed something else",
)
