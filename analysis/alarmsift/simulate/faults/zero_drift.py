"""Zero drift: the detector's own zero walks, up or down, with age or temperature.

Every point and the reference point shift together on one channel. Downwards it hides gas.
"""

from __future__ import annotations

import numpy as np

from alarmsift.simulate.world import World


def strike(world: World) -> None:
    """Move one detector's zero, in one of four ways."""
    rng = world.rng
    gas = "H2S" if "H2S" in world.settings.gases and rng.random() < 0.3 else "HC"
    analyser = int(rng.integers(len(world.settings.analysers)))
    way = int(rng.choice(4, p=[0.45, 0.25, 0.15, 0.15]))
    (_ramp, _swing, _step, _zeroed_on_dirty_air)[way](world, gas, analyser)


def _sign(world: World) -> float:
    return 1.0 if world.rng.random() < 0.75 else -1.0


def _ramp(world: World, gas: str, analyser: int) -> None:
    rng = world.rng
    days = float(rng.uniform(3.0, 18.0))
    start = world.pick_hour(days * 24.0)
    size = _sign(world) * world.setpoint(gas) * float(rng.uniform(0.7, 1.7))
    walk = size * np.clip(world.since(start) / (days * 24.0), 0.0, 1.0)
    world.zero_walk[gas][:, analyser] += walk
    world.story("zero_drift", start, start + days * 24.0, [], f"{gas} {size:.1f}")


def _swing(world: World, gas: str, analyser: int) -> None:
    """Let a detector follow the day: worst in the afternoon sun."""
    rng = world.rng
    days = float(rng.uniform(5.0, 20.0))
    start = world.pick_hour(days * 24.0)
    on = (world.hours >= start) & (world.hours < start + days * 24.0)
    size = world.setpoint(gas) * float(rng.uniform(0.4, 1.2))
    phase = np.sin(2 * np.pi * (world.clock_days - 0.375))
    world.zero_walk[gas][:, analyser] += on * size * (0.5 + 0.5 * phase)
    world.story("zero swing", start, start + days * 24.0, [], f"{gas} {size:.1f}")


def _step(world: World, gas: str, analyser: int) -> None:
    start = world.pick_hour(48.0)
    size = _sign(world) * world.setpoint(gas) * float(world.rng.uniform(0.3, 1.1))
    world.zero_walk[gas][:, analyser] += size * (world.hours >= start)
    world.story("zero step", start, world.end, [], f"{gas} {size:.1f}")


def _zeroed_on_dirty_air(world: World, gas: str, analyser: int) -> None:
    """Set the zero on air that holds vapour: afterwards everything reads too little."""
    hour = world.pick_hour(72.0)
    left = -world.setpoint(gas) * float(world.rng.uniform(0.3, 0.7))
    world.adjustments.append((hour, analyser, gas, "zero", left))
    world.checks.append(
        {
            "hour": hour,
            "analyser": analyser,
            "gas": gas,
            "action": "zero_adjust",
            "reference": 0.0,
            "shown": 0.0,
        }
    )
    world.story("zeroed on dirty air", hour, world.end, [], f"{gas} {left:.1f}")
