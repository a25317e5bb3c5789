"""Carry-over: a short dwell or a passing valve leaves a steady share of the previous sample.

It alarms only behind a point that is high, so there is one here too.
"""

from __future__ import annotations

import numpy as np

from alarmsift.simulate.world import World


def strike(world: World) -> None:
    """Let part of every sample stay for some days, and fill one space well over its setpoint."""
    rng = world.rng
    hours = float(rng.uniform(20.0, 110.0))
    start = world.pick_hour(hours)
    rows = world.span(start, start + hours)
    share = float(rng.uniform(0.08, 0.3))
    world.extra_carry[rows] = np.maximum(world.extra_carry[rows], share)
    for _ in range(int(rng.integers(1, 4))):
        when = start + float(rng.uniform(0.05, 0.7)) * hours
        point = world.pick_point(when, "void", "pump_room", "ballast", "cofferdam")
        if point is not None:
            _high(world, point, when, share)
    world.story("carry_over", start, start + hours, [], f"share {share:.2f}")


def _high(world: World, point: int, when: float, share: float) -> None:
    rng = world.rng
    peak = min(world.setpoint("HC") / share * float(rng.uniform(1.1, 2.5)), 250.0)
    since, hold = world.since(when), float(rng.uniform(2.0, 24.0))
    shape = peak * (1.0 - np.exp(-np.maximum(since, 0.0) / rng.uniform(0.2, 2.0))) * (since >= 0)
    shape = shape * np.exp(-np.maximum(since - hold, 0.0) / rng.uniform(0.5, 3.0))
    world.local["HC"][:, point] += shape
    if world.settings.sour and "H2S" in world.local:
        world.local["H2S"][:, point] += shape * world.settings.sour
    world.story("gas, very high", when, when + hold, [point], f"peak {peak:.0f}")
