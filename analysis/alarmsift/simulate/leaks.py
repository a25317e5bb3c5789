"""A leak into a space, sized by where its concentration ends."""

from __future__ import annotations

import numpy as np

from alarmsift.simulate.world import World


def let_in(  # noqa: PLR0913  (a leak is a place, a time and a size)
    world: World, point: int, start: float, hours: float, target: float, *, name: str = "gas"
) -> None:
    """Let hydrocarbon into the space of ``point`` so that it ends at ``target`` [%LFL]."""
    space = world.space_of(point)
    rate = float(world.air_changes[int(world.cell(start)), space])
    source = target * rate / (1.0 - np.exp(-max(rate * hours, 1e-3)))
    rows = world.span(start, start + hours)
    wave = 1.0 + 0.15 * np.sin(2 * np.pi * world.hours[rows] / world.rng.uniform(6.0, 24.0))
    world.source["HC"][rows, space] += source * wave
    if world.settings.sour and "H2S" in world.source:
        world.source["H2S"][rows, space] += source * world.settings.sour * wave
    world.story(name, start, start + hours, world.points_of(space), f"target {target:.0f}")
