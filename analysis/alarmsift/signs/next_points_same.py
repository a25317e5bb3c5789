"""Next points the same: did the points before or after it in the round show the same value?

Test gas at the detector shows at whatever points are in turn, one after the other at one level; a
space's gas shows at its own points.

Columns: readings. Measure: turns in a row beside it (up to three either way, six in all; points of
the same or the next space are passed over, not counted) that showed the same within 12 %. Absent
for none, undecided for one, clearly present from two; no data where neither side has a reading.
Fooled by wet optics and deck vapour, which the signs of the family ``together`` tell.
Source: common practice.
"""

import numpy as np

from alarmsift.evidence.sign import Sign, SignReading, Weight, graded, no_data
from alarmsift.evidence.windows import Windows

SAME = 0.12
REACH = 3


def _shown(w: Windows, visit: np.ndarray) -> np.ndarray:
    out = np.full(len(w), np.nan)
    for gas in w.ship.visits.gases:
        mine = w.gas == gas
        out[mine] = np.append(w.ship.shown[gas], np.nan)[visit[mine]]
    return np.where(w.rising, out, -out)


def read(w: Windows) -> SignReading:
    """Return how many turns in a row beside it showed the same."""
    visits = w.ship.visits
    if not len(visits):
        return no_data(len(w))
    following = np.full(len(visits) + 1, -1, "int64")
    has = np.flatnonzero(visits.previous >= 0)
    following[visits.previous[has]] = has
    before = np.append(visits.previous, -1)
    own = np.maximum(_shown(w, w.visit[:, w.at]), 1e-9)
    count = np.zeros(len(w))
    seen = np.zeros(len(w), bool)
    for step in (before, following):
        at, alive = w.visit[:, w.at], np.ones(len(w), bool)
        for _ in range(REACH):
            at = np.where(at >= 0, step[at], -1)
            other = np.maximum(at, 0)
            kin = w.ship.kin[np.maximum(w.point, 0), visits.point[other]]
            near = np.abs(visits.hours[other] - w.raised) < 2.0 * visits.cycle_hours
            value = np.where((at >= 0) & near, _shown(w, at), np.nan)
            seen |= np.isfinite(value)
            alive &= (np.abs(value / own - 1.0) < SAME) & (visits.point[other] != w.point)
            count += alive & ~kin
    measure = np.where(seen & np.isfinite(w.x0), count, np.nan)
    return SignReading(graded(measure, absent=0.4, present=2.0), measure)


SIGN = Sign(
    key="next_points_same",
    title="The points in turn beside it",
    needs=("readings",),
    family="test",
    unit="turns",
    applies="alarm",
    read=read,
    weights=(
        Weight("test_gas", 0, -24, "test gas shows at whatever point is in turn"),
        Weight("gas", -22.5, 0, "a space's gas shows at its own points"),
        Weight("spike", -32.5, 14, "a disturbance hits one reading"),
        Weight("water", -10, 0, "one line's water is its own"),
        Weight("blocked", -10, 0, "one line's rest of the point before is its own"),
        Weight("carry_over", -8, 0, "carry-over keeps a small share only"),
    ),
    present="{m:.0f} turn(s) in a row beside it showed the same value",
    absent="the points in turn beside it showed something else",
)
