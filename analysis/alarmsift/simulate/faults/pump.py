"""Pump: it wears, or the filter that all lines share clogs; flow falls at every point together."""

from __future__ import annotations

import numpy as np

from alarmsift.simulate.world import World


def strike(world: World) -> None:
    """Weaken one analyser's pump or clog its filter over days, until somebody mends it."""
    rng = world.rng
    days = float(rng.uniform(2.0, 14.0))
    start = world.pick_hour(days * 24.0)
    end = start + days * 24.0 + float(rng.uniform(0.0, 48.0))
    analyser = int(rng.integers(len(world.settings.analysers)))
    rows = world.span(start, end)
    share = np.clip(world.since(start)[rows] / (days * 24.0), 0.0, 1.0) ** 1.5
    if rng.random() < 0.5:
        world.pump[rows, analyser] *= 1.0 - share * float(rng.uniform(0.3, 0.75))
        note = str(rng.choice(["pump diaphragm renewed", "changed over to standby pump"]))
    else:
        world.filter_factor[rows, analyser] *= 1.0 + share * float(rng.uniform(5.0, 35.0))
        note = str(rng.choice(["filter element renewed", "inlet filter cleaned"]))
    if end < world.end:
        world.log(end, "maintenance", note=note)
    world.story("pump", start, end, [], note)
