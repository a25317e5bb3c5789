"""Air leak: a joint draws outside air, so that the point's own air is diluted."""

from __future__ import annotations

import numpy as np

from alarmsift.simulate.world import World


def strike(world: World) -> None:
    """Open a joint on one line, at once or slowly, until it is found or to the end."""
    rng = world.rng
    start = world.pick_hour(72.0)
    point = world.pick_point(start)
    if point is None:
        return
    end = start + float(rng.uniform(2.0, 40.0)) * 24.0
    # Near the probe (place 0) the resistance stays as it was and only the dilution is left.
    world.leak_place[point] = float(rng.choice([0.02, 0.3, 0.6, 0.95]))
    share = float(rng.uniform(0.18, 0.85))
    slow = np.clip(world.since(start) / float(rng.choice([0.05, 60.0])), 0.0, 1.0)
    on = world.hours < end
    world.leak[:, point] = np.maximum(world.leak[:, point], share * slow * on)
    if end < world.end and rng.random() < 0.6:
        world.log(end, "maintenance", world.settings.points[point].name, note="joint remade")
    world.story("air_leak", start, end, [point], f"{share:.2f}")
