"""Day swing: did what all points share come and go in the same way on a day beside this one?

A zero that follows the temperature of its room or of the deck swings once a day, smoothly, for as
long as the weather lasts. Deck vapour comes with the work and in gusts, wet optics once.

Columns: readings of at least three points. Measure: the best correlation [-] between the shared
part from half a day before the alarm to half a day after it, and the same one or two days earlier
or later, among those days that swung between half and twice as far. Clearly present from 0.9,
clearly absent under 0.5; no data where the shared part does not matter or the logs hold no such
day. Fooled by work that goes on by the clock. Source: common practice.
"""

from alarmsift.evidence.shared_course import daily_likeness
from alarmsift.evidence.sign import Sign, SignReading, Weight, graded
from alarmsift.evidence.windows import Windows


def read(w: Windows) -> SignReading:
    """Return the best correlation with a day nearby."""
    measure = daily_likeness(w)
    return SignReading(graded(measure, absent=0.5, present=0.9), measure)


SIGN = Sign(
    key="day_swing",
    title="Swing of the day",
    needs=("readings of three points",),
    family="zero_day",
    unit="correlation",
    applies="alarm",
    read=read,
    weights=(
        Weight("zero_drift", 5, 0, "a zero follows the day's temperature"),
        Weight("moisture", -5, 0, "wet optics dry once"),
        Weight("ambient_vapour", -4, 0, "deck vapour comes in gusts, not by the clock"),
    ),
    present="what all points share rose and fell in the same way on a day beside this one",
    absent="what all points share did not do the same on the days beside this one",
)
