"""Equal level: do all points stand equally far over their own backgrounds?

A detector's zero lifts every point by the same amount, however slowly it came; deck vapour reaches
each as far as it is exposed, and gas stays where it is.

Columns: readings of at least five points. Measure: share of the other points whose reading less its
own long-run background is off their middle by more than a fifth and three noise widths, around the
raise. With a third of a point more, for one of few says little by its share: clearly present
(equal) to 0.2, clearly absent from 0.45, undecided at a third. The alarmed point itself counts as
half of the others where it stands so far under them: a zero would have lifted it as well. No data
where the middle does not stand out of the noise, or is no large part of the reading. Fooled by
backgrounds that changed within the logs. Source: a zero is one number a detector; the limits are
common practice.
"""

import numpy as np

from alarmsift.evidence.sign import Sign, SignReading, Weight, graded
from alarmsift.evidence.windows import Windows

FEWEST_POINTS = 5
AROUND_HOURS = 0.75
# The middle must be this much of the reading, and of the noise.
MATTERS, CLEAR = 0.25, 4.0
# A point is off the middle from this share of it, and from so many of its noise widths.
OFF_SHARE, OFF_NOISE = 0.2, 3.0
# The alarmed point that far under the others says as much as this share of them; and so much of a
# point more counts as off, for of few others one says little by its share.
UNDER, MORE = 0.5, 0.3


def read(w: Windows) -> SignReading:
    """Return the share of the other points that stand off their middle."""
    visits, (measure, weighed) = w.ship.visits, np.full((2, len(w)), np.nan)
    cycle = visits.cycle_hours
    owner = np.zeros(len(visits.points) + 1, "int64")
    owner[visits.point] = visits.analyser
    grid_hours = w.ship.grid_hours
    reach = max(int(AROUND_HOURS / cycle), 2)
    for (gas, analyser), model in w.ship.zeros.items():
        mine = (w.gas == gas) & (owner[w.point] == analyser) & (w.point >= 0)
        rows = np.flatnonzero(mine & np.isfinite(w.value))
        here = np.flatnonzero(owner[:-1] == analyser)
        if not len(rows) or len(here) < FEWEST_POINTS or not len(grid_hours):
            continue
        zero = np.interp(grid_hours, model.blocks.hours, model.zero)
        level = (w.ship.grid[gas][:, here] + zero[:, None]) * (-1.0 if gas == "O2" else 1.0)
        at = np.clip((w.raised[rows] // cycle).astype(int), 0, len(level) - 1)
        at = at[:, None] + np.arange(-reach, reach + 1)[None, :]
        block = level[np.clip(at, 0, len(level) - 1)]
        usual = _nanmedian(block)
        own = usual[np.arange(len(rows)), np.searchsorted(here, w.point[rows])]
        usual[here[None, :] == w.point[rows][:, None]] = np.nan
        enough = np.isfinite(usual).sum(axis=1) >= FEWEST_POINTS - 1
        middle = np.full(len(rows), np.nan)
        if enough.any():
            middle[enough] = np.nanmedian(usual[enough], axis=1)
        noise = float(np.nanmedian(w.ship.noise[gas]))
        width = np.maximum(OFF_SHARE * middle[:, None], OFF_NOISE * w.ship.noise[gas][here])
        seen = np.isfinite(usual)
        off = (np.abs(usual - middle[:, None]) > width) & seen
        total = np.abs(w.value[rows] - (20.9 if gas == "O2" else 0.0))
        clear = (middle > MATTERS * total) & (middle > CLEAR * noise)
        share = off.sum(axis=1) / np.maximum(seen.sum(axis=1), 1)
        measure[rows] = np.where(clear, share, np.nan)
        under = own < middle - np.maximum(OFF_SHARE * middle, OFF_NOISE * w.noise[rows])
        counted = np.where(under, np.maximum(measure[rows], UNDER), measure[rows])
        weighed[rows] = counted + MORE / np.maximum(seen.sum(axis=1), 1)
    return SignReading(graded(weighed, absent=0.45, present=0.2), measure)


def _nanmedian(block: np.ndarray) -> np.ndarray:
    """Return the median over axis 1, NaN where there is none."""
    ordered = np.sort(block, axis=1)  # NaN last
    count = np.isfinite(block).sum(axis=1)
    pick = np.maximum((count - 1) // 2, 0)[:, None, :]
    out = np.take_along_axis(ordered, pick, axis=1)[:, 0, :]
    return np.where(count > 0, out, np.nan)


SIGN = Sign(
    key="equal_level",
    title="Equal level at all points",
    needs=("readings of five points",),
    family="zero_speed",
    unit="share of points",
    applies="alarm",
    read=read,
    weights=(
        Weight("zero_drift", 8.5, -8, "a zero lifts every point by the same amount"),
        Weight("moisture", 11, -6.5, "wet optics lift every point by the same amount"),
        Weight("ambient_vapour", -5, 5, "deck vapour reaches each point as far as it is exposed"),
    ),
    present="the points stood equally far over their backgrounds ({m:.0%} of the others did not)",
    absent="the points, this one or others, stood unequally far over their backgrounds "
    "({m:.0%} of the others off their middle)",
)
