"""Nothing found: did somebody look soon after the alarm and find nothing?

What lasts is found: a blocked line, water in it, gas that stays. What passes is not: a spike, test
gas, a whiff. But a whiff of gas passes as well, and people look after hours: it says little, and
next to nothing against gas.

Columns: findings. Measure: hours from the raise to the look. Clearly present within 12 h, clearly
absent from 72 h, undecided at about two days. Fooled by a look at another place than the leak.
Source: common practice.
"""

from alarmsift.evidence.sign import Sign, SignReading, Weight, graded
from alarmsift.evidence.windows import Windows


def read(w: Windows) -> SignReading:
    """Return the hours to the look that found nothing."""
    hours = w.episode["nothing_found"].to_numpy(float)
    return SignReading(graded(hours, absent=72.0, present=12.0), hours)


SIGN = Sign(
    key="nothing_found",
    title="Somebody looked and found nothing",
    needs=("findings",),
    family="found",
    unit="h",
    applies="alarm",
    read=read,
    weights=(
        Weight("gas", -1, 0, "a leak that lasts is found; one that comes and goes is not"),
        Weight("water", -2, 0, "water in a line is found as a rule"),
        Weight("blocked", -3, 0, "a blockage does not go away"),
    ),
    present="somebody looked {m:.0f} h later and found nothing",
    absent="somebody found nothing, but {m:.0f} h later",
)
