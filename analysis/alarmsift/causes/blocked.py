"""Blocked: the sample line is choked."""

from alarmsift.diagnosis.cause import Cause

CAUSE = Cause(
    key="blocked",
    title="a blocked sample line",
    story=(
        "Scale, mud, paint, ice or a stuck valve chokes the line: too little of this point's own "
        "air reaches the detector."
    ),
    mistaken_for=("water",),
    prior=-9,
    prior_source="CP: judgement, no source",
    applies="both",
)
