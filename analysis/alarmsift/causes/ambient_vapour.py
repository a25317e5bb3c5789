"""Ambient vapour: real gas, drawn in from the deck."""

from alarmsift.diagnosis.cause import Cause

CAUSE = Cause(
    key="ambient_vapour",
    title="vapour drawn in from the deck (real gas, outside the space)",
    story=(
        "Vapour from cargo work on deck is drawn in at several points and the cabinet. It is real "
        "gas, outside the space."
    ),
    mistaken_for=("zero_drift", "gas"),
    prior=-15.5,
    prior_source="CP: judgement, no source",
    applies="alarm",
)
