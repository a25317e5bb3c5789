"""Tight setpoint: a harmless background sits just under the setpoint, and noise crosses it."""

from __future__ import annotations

import numpy as np

from alarmsift.simulate.world import UNEVEN, World


def strike(world: World) -> None:
    """Give one point some days of coating solvent or old residue close under the setpoint."""
    rng = world.rng
    # Old residue was there before the log began; a fresh coating comes within it.
    old = bool(rng.random() < 0.45)
    days = float(rng.uniform(12.0, 70.0) if old else rng.uniform(3.0, 16.0))
    start = -48.0 if old else world.pick_hour(days * 24.0)
    point = world.pick_point(
        max(start, 0.0), "void", "ballast", "other", "pump_room", "cofferdam", duration=48.0
    )
    if point is None:
        return
    gas = "H2S" if "H2S" in world.settings.gases and rng.random() < 0.25 else "HC"
    limit = world.setpoint(gas, point=world.settings.points[point].name)
    noise = max(world.settings.noise[gas], world.settings.habits.display_step[gas] / 3.0)
    noise = float(np.hypot(noise, UNEVEN * limit))
    height = limit - noise * float(rng.uniform(0.6, 2.8))
    since = world.since(start)
    edge = np.clip(since / rng.uniform(4.0, 30.0), 0.0, 1.0)
    edge = edge * np.clip((start + days * 24.0 - world.hours) / 24.0, 0.0, 1.0)
    sun = 1.0 + float(rng.uniform(0.0, 0.03)) * np.sin(2 * np.pi * (world.clock_days - 0.375))
    already = world.residue[gas][:, point].mean()
    world.residue[gas][:, point] += (height - already) * edge * sun
    world.story("tight_setpoint", max(start, 0.0), start + days * 24.0, [point], gas)
