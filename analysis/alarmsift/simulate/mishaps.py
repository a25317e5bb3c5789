"""Everything that goes wrong on one voyage: each fault as often as this ship has it."""

from __future__ import annotations

from collections.abc import Callable

from alarmsift.simulate.faults import (
    air_leak,
    ambient_vapour,
    blocked,
    carry_over,
    gas,
    left_disconnected,
    low_sensitivity,
    moisture,
    no_alarm,
    not_sampled,
    pump,
    spike,
    test_gas,
    tight_setpoint,
    water,
    zero_drift,
)
from alarmsift.simulate.world import World

# In this order, since later ones look at the operations that earlier ones left.
FAULTS: dict[str, Callable[[World], None]] = {
    "left_disconnected": left_disconnected.strike,
    "water": water.strike,
    "not_sampled": not_sampled.strike,
    "gas": gas.strike,
    "ambient_vapour": ambient_vapour.strike,
    "blocked": blocked.strike,
    "moisture": moisture.strike,
    "carry_over": carry_over.strike,
    "zero_drift": zero_drift.strike,
    "test_gas": test_gas.strike,
    "spike": spike.strike,
    "tight_setpoint": tight_setpoint.strike,
    "pump": pump.strike,
    "air_leak": air_leak.strike,
    "no_alarm": no_alarm.strike,
    "low_sensitivity": low_sensitivity.strike,
}


def befall(world: World) -> None:
    """Let each fault strike as often as chance and this ship's habit want it."""
    for name, strike in FAULTS.items():
        mean = world.settings.expected.get(name, 0.0) * world.settings.days / 60.0
        times = int(world.rng.poisson(mean))
        if mean > 0.0 and name == "gas":
            times = max(times, round(3.0 * world.settings.days / 60.0))
        for _ in range(times):
            strike(world)
