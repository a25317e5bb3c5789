"""Second draw: the point was read twice in succession; did the second reading show it too?

What stood in the pipework is flushed by the first draw, a disturbance is over, and gas in a space
can't go within a minute. So a second draw that is clean speaks against gas, and one that repeats
the first speaks against a rest of another sample.

Columns: readings. Measure: the second reading as a share of the first, both less zero and
background, within three hours after the raise. Clearly present (repeats) from 0.8, clearly absent
(clean) to 0.4; no data where the point was never read twice at once, the first was not high, or
the round stood still. Fooled by test gas that ended in between. Source: wash-out of a dead volume
(mixed-tank exponential), common practice.
"""

import numpy as np

from alarmsift.evidence.sign import Sign, SignReading, Weight, graded
from alarmsift.evidence.windows import Windows

AFTER_HOURS = 3.0
# More readings in a row than this: the round stood still there, it is no second look.
MOST_IN_A_ROW = 3


def read(w: Windows) -> SignReading:
    """Return the second reading over the first."""
    visits = w.ship.visits
    before = np.append(visits.previous, -1)[w.visit]
    own = np.append(visits.point, -1)
    again = (w.visit >= 0) & (before >= 0) & (own[before] == w.point[:, None])
    late = again.copy()
    for shift in range(1, MOST_IN_A_ROW):
        late[:, shift:] &= again[:, :-shift]
        late[:, :shift] = False
    ahead = np.zeros_like(again)
    for shift in range(MOST_IN_A_ROW + 1):  # any column of a long row spoils the row's others
        ahead[:, : again.shape[1] - shift] |= late[:, shift:]
    first = np.full(w.visit.shape, np.nan)
    first[:, 1:] = w.x[:, :-1]
    high = first > np.maximum(5.0 * w.noise, 0.5 * w.x0)[:, None]
    near = (w.rel > 1e-4) & (w.rel < AFTER_HOURS)
    use = again & ~ahead & near & high & np.isfinite(w.x) & ~w.testing
    at = use.argmax(axis=1)
    rows = np.arange(len(w))
    share = w.x[rows, at] / np.where(use.any(axis=1), first[rows, at], np.nan)
    return SignReading(graded(share, absent=0.4, present=0.8), np.clip(share, 0, None), None, at)


SIGN = Sign(
    key="second_draw",
    title="Read twice in succession",
    needs=("readings",),
    family="response",
    unit="share of the first",
    applies="alarm",
    read=read,
    weights=(
        Weight("gas", 0, -26.5, "gas in a space can't go within a minute"),
        Weight("ambient_vapour", 0, -12, "deck vapour is there for both"),
        Weight("carry_over", -27.5, 2.5, "the first draw flushes the rest of another sample"),
        Weight("spike", -15, 0, "a disturbance does not repeat"),
        Weight("zero_drift", 0, -8, "a zero is there for both"),
        Weight("tight_setpoint", 0, -10, "a background is there for both"),
    ),
    present="a second reading at once showed it again ({m:.0%} of the first)",
    absent="a second reading at once was clean ({m:.0%} of the first)",
)
