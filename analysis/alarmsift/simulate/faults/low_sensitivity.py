"""Low sensitivity: a poisoned or worn detector reads everything too small, and nothing shows it."""

from __future__ import annotations

import numpy as np

from alarmsift.simulate.world import World


def strike(world: World) -> None:
    """Take sensitivity away from one detector, in a step (poison) or over weeks (age)."""
    rng = world.rng
    gas = str(rng.choice([g for g in world.settings.gases if g != "O2"]))
    analyser = int(rng.integers(len(world.settings.analysers)))
    start = world.pick_hour(200.0)
    left = float(rng.uniform(0.4, 0.82))
    hours = 0.2 if rng.random() < 0.4 else float(rng.uniform(8.0, 35.0)) * 24.0
    fade = 1.0 - (1.0 - left) * np.clip(world.since(start) / hours, 0.0, 1.0)
    world.sensitivity[gas][:, analyser] *= fade
    world.story("low_sensitivity", start, world.end, [], f"{gas} to {left:.2f}")
