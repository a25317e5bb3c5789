"""Spike: an electrical disturbance."""

from alarmsift.diagnosis.cause import Cause

CAUSE = Cause(
    key="spike",
    title="an electrical spike",
    story="A disturbance or a lost digit: one visit, one channel, nothing before or after.",
    mistaken_for=("gas",),
    prior=-15.5,
    prior_source="CP: judgement, no source",
    applies="alarm",
)
