"""Water: ballast or condensate in the sample line."""

from alarmsift.diagnosis.cause import Cause

CAUSE = Cause(
    key="water",
    title="water in the sample line",
    story=(
        "Ballast reaches the probe, slugs come in when the ship rolls, or the trap or filter is "
        "wet."
    ),
    mistaken_for=("blocked", "gas"),
    prior=-12.5,
    prior_source="CP: judgement, no source",
    applies="both",
)
