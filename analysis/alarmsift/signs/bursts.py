"""Bursts: were there other lone jumps at this point on the same day, in either gas?

Water that comes and goes in a line makes readings jump again and again in either channel; an
electrical disturbance comes once in weeks.

Columns: readings. Measure: number of other lone high visits of the point within twelve hours
either way, all gases but oxygen added up (more than six noise widths high, twice and a half its
neighbours). Absent with one at most, present from two, clearly from 2.5; no data where the alarm
has no reading. Fooled by carry-over from a point that is high again and again.
Source: common practice.
"""

import numpy as np

from alarmsift.evidence.sign import Sign, SignReading, Weight, graded
from alarmsift.evidence.windows import Windows


def read(w: Windows) -> SignReading:
    """Return the number of other lone jumps in the window, all gases added up."""
    near = np.abs(w.rel) < 12.0
    total = np.zeros(len(w))
    for gas in w.ship.visits.gases:
        if gas == "O2":
            continue
        score = w.take(w.ship.excess[gas] / w.ship.noise[gas][w.ship.visits.point])
        total += _lone(score, near & (np.arange(score.shape[1])[None, :] != w.at))
    known = np.isfinite(w.x0)
    measure = np.where(known, total, np.nan)
    return SignReading(graded(measure, absent=0.5, present=2.5), measure)


def _lone(score: np.ndarray, near: np.ndarray) -> np.ndarray:
    """Return how many visits stand out alone, shape (E,)."""
    side = np.fmax(score[:, :-2], score[:, 2:])
    middle = score[:, 1:-1]
    lone = (middle > 6.0) & (side < 0.4 * middle) & near[:, 1:-1]
    return lone.sum(axis=1).astype(float)


SIGN = Sign(
    key="bursts",
    title="Other lone jumps of the point",
    needs=("readings",),
    family="bursts",
    unit="jumps",
    applies="alarm",
    read=read,
    weights=(
        Weight("water", 0, -6, "water in a line makes readings jump again and again"),
        Weight("spike", 0, 0, "a disturbance comes once in weeks"),
        Weight("gas", -11.5, 0, "gas in a space is smooth"),
        Weight("carry_over", 0.5, 0, "each high sample before it makes one"),
    ),
    present="{m:.0f} other lone jumps at this point within half a day",
    absent="no other lone jump at this point within half a day",
)
