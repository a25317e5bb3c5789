"""Test gas: calibration or bump test."""

from alarmsift.diagnosis.cause import Cause

CAUSE = Cause(
    key="test_gas",
    title="test gas",
    story="A calibration or bump test was read as if it came from the point in turn.",
    mistaken_for=("gas",),
    prior=0,
    prior_source="CP: judgement, no source",
    applies="alarm",
)
