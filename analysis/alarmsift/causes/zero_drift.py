"""Zero drift: the detector's zero has walked."""

from alarmsift.diagnosis.cause import Cause

CAUSE = Cause(
    key="zero_drift",
    title="a drifting detector",
    story=(
        "The detector's zero walks with age or temperature: every point and the reference shift "
        "together, in one gas only."
    ),
    mistaken_for=("ambient_vapour", "tight_setpoint"),
    prior=-15.5,
    prior_source="CP: judgement, no source",
    applies="alarm",
)
