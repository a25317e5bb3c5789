"""Carry-over: a rest of the previous sample."""

from alarmsift.diagnosis.cause import Cause

CAUSE = Cause(
    key="carry_over",
    title="a rest of the previous point's sample",
    story=(
        "The previous sample is not flushed out, so a constant small share of it is read at the "
        "next point."
    ),
    mistaken_for=("gas",),
    prior=-6.5,
    prior_source="CP: judgement, no source",
    applies="alarm",
)
