"""Ambient vapour: cargo work on deck makes vapour, and every open end draws some of it in.

Real gas, but outside the space: several points and the reference point rise and fall together,
each by its exposure. Where it lingers three hours after the deck is clear it counts as gas.
"""

from __future__ import annotations

import numpy as np

from alarmsift.simulate.recurrence import carry
from alarmsift.simulate.world import STEP_H, World


def strike(world: World) -> None:
    """Make one to three bouts of strong vapour on deck, mostly in cargo work."""
    rng = world.rng
    works = [o["hour"] for o in world.operations if o["action"] == "cargo_start"]
    works = [hour for hour in works if 0.0 < hour < world.end - 10.0]
    if works and rng.random() < 0.85:
        begin = float(rng.choice(works)) + float(rng.uniform(0.5, 12.0))
    else:  # tanks breathing in the sun, or tank cleaning
        begin = world.pick_hour(12.0)
    for _ in range(int(rng.integers(1, 4))):
        _bout(world, begin, float(rng.uniform(0.5, 4.0)))
        begin += float(rng.uniform(3.0, 12.0))


def _bout(world: World, start: float, hours: float) -> None:
    if start > world.end - 2.0:
        return
    rng = world.rng
    rows = world.span(start, start + hours)
    length = rows.stop - rows.start
    kept = float(np.exp(-STEP_H / 0.4))
    gust = carry(np.full(length, kept), rng.normal(0.0, 0.5 * np.sqrt(1 - kept**2), length))
    height = world.setpoint("HC") * float(rng.uniform(1.5, 6.0))
    ends = np.minimum(1.0, np.minimum(np.arange(length), np.arange(length)[::-1]) * STEP_H / 0.3)
    world.deck[rows] += height * np.exp(gust) * ends
    since = world.since(start + hours)
    clear = np.where(since < 0, 0.0, since)
    during = world.hours >= start
    world.deck_clear[during] = np.minimum(world.deck_clear, clear)[during]
    if rng.random() < 0.35:  # a badly aired corner keeps it
        world.ambient_trap_h[int(rng.integers(len(world.settings.points)))] = rng.uniform(3.0, 9.0)
    everywhere = [i for i, p in enumerate(world.settings.points) if p.exposure > 0.2]
    world.story("ambient_vapour", start, start + hours, everywhere, f"deck {height:.0f}")
