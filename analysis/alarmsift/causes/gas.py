"""Gas: vapour leaks into the space."""

from alarmsift.diagnosis.cause import Cause

CAUSE = Cause(
    key="gas",
    title="gas in the space",
    story=(
        "Vapour leaks into the space, builds up over hours, stays until the source stops and dies "
        "away when ventilated."
    ),
    mistaken_for=("moisture", "tight_setpoint"),
    prior=0,
    prior_source="CP: judgement, no source",
    applies="alarm",
)
