"""Moisture: humid air and condensate fool the detector."""

from alarmsift.diagnosis.cause import Cause

CAUSE = Cause(
    key="moisture",
    title="moisture in the line or detector",
    story=(
        "Condensate or a humid line after a purge, a reconnection or a fall in temperature makes "
        "the reading jump and then dry out over hours."
    ),
    mistaken_for=("gas", "zero_drift"),
    prior=-5,
    prior_source="CP: judgement, no source",
    applies="alarm",
)
