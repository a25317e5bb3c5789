"""Pump: the pump or the common filter."""

from alarmsift.diagnosis.cause import Cause

CAUSE = Cause(
    key="pump",
    title="a worn pump or clogged common filter",
    story="The pump is worn or the common filter clogs: flow falls at every point together.",
    mistaken_for=("blocked",),
    prior=7.5,
    prior_source="CP: judgement, no source",
    applies="fault",
)
