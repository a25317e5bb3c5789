"""Was every point that should be in the round really watched?

A line taken off for ballast is left out: that is how water is kept out. So is a calibration.
"""

from alarmsift.evidence.rule import Kept, Rule, Ruling, counted, met, not_decidable, not_met

COUNTED = ("not_sampled", "stopped", "left_disconnected", "water", "blocked")


def check(kept: Kept) -> Ruling:
    """Return whether a point went unwatched that should not have."""
    spans = kept.coverage
    lost = spans[spans["reason"].isin(COUNTED)]
    if len(lost):
        hours = float(lost["minutes"].sum()) / 60.0
        longest = float(lost["minutes"].max()) / 60.0
        return not_met(
            lost["point"].astype(str),
            f"{counted(len(lost), 'span')} unwatched, {hours:.0f} h in all, the longest "
            f"{longest:.1f} h; lines taken off for ballast and calibrations are not in it.",
        )
    if not len(kept.ship.visits):
        return not_decidable("The logs hold no reading.")
    if (spans["reason"] == "no_log").any():
        return not_decidable("Rows are missing from the logs; whether anybody watched isn't told.")
    return met("No point in the round went unwatched for longer than the limit.")


RULE = Rule(
    key="unwatched",
    title="No point in the round goes unwatched",
    source="IMO MSC.1/Circ.1370, 2.1.2 and 2.1.3",
    check=check,
)
