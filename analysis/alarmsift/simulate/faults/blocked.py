"""Blocked: scale, mud, paint or a shut valve; resistance grows over days or steps once."""

from __future__ import annotations

import numpy as np

from alarmsift.simulate.world import World


def strike(world: World) -> None:
    """Choke one line, slowly or at once; sometimes the point before it holds gas."""
    rng = world.rng
    days = float(rng.uniform(3.0, 22.0))
    start = world.pick_hour(48.0)
    point = world.pick_point(start)
    if point is None:
        return
    end = min(start + days * 24.0, world.end + 1.0)
    rows = world.span(start, end)
    if rng.random() < 0.6:
        final = float(np.exp(rng.uniform(np.log(4.0), np.log(90.0))))
        growth = np.exp(np.log(final) * np.linspace(0.0, 1.0, rows.stop - rows.start) ** 1.5)
        world.blockage[rows, point] *= growth
    else:
        world.blockage[rows, point] *= float(np.exp(rng.uniform(np.log(3.0), np.log(800.0))))
    if end < world.end:
        world.log(end, "purge", world.settings.points[point].name, note="blown through")
    world.story("blocked", start, end, [point])
    if rng.random() < 0.45:
        _gas_before(world, point, start, end)


def _gas_before(world: World, point: int, start: float, end: float) -> None:
    """Put gas at the point before in the round, so that the choked point repeats it."""
    rng = world.rng
    mates = [
        i
        for i in range(len(world.settings.points))
        if world.analyser_of(i) == world.analyser_of(point)
    ]
    before = mates[mates.index(point) - 1]
    if world.settings.points[before].reference:
        return
    when = start + float(rng.uniform(0.5, 0.9)) * (end - start)
    if when > world.end - 8.0:
        return
    since = world.since(when)
    hours = float(rng.uniform(4.0, 20.0))
    peak = world.setpoint("HC") * float(rng.uniform(1.2, 4.0))
    rise = (
        (1.0 - np.exp(-np.maximum(since, 0.0) / 2.0))
        * (since >= 0)
        * np.exp(-np.maximum(since - hours, 0) / 4.0)
    )
    world.local["HC"][:, before] += (peak * rise).astype(np.float32)
    if world.settings.sour and "H2S" in world.local:
        world.local["H2S"][:, before] += (peak * rise * world.settings.sour).astype(np.float32)
    world.story("gas before a choked line", when, when + hours, [before])
