"""Tight setpoint: a harmless background just under the setpoint."""

from alarmsift.diagnosis.cause import Cause

CAUSE = Cause(
    key="tight_setpoint",
    title="a setpoint too close to a steady background",
    story="A harmless steady background sits under the setpoint and noise crosses it.",
    mistaken_for=("gas", "zero_drift"),
    prior=-15.5,
    prior_source="CP: judgement, no source",
    applies="alarm",
)
