"""Blocked: scale, mud, paint or a shut valve; resistance grows over days or steps once."""

from __future__ import annotations

import numpy as np

from alarmsift.simulate.world import World, line_figures


def strike(world: World) -> None:
    """Choke one line, slowly or at once; sometimes the point before it holds gas."""
    rng = world.rng
    days = float(rng.uniform(2.0, 18.0))
    start = world.pick_hour(48.0)
    point = world.pick_point(start)
    if point is None:
        return
    end = min(start + days * 24.0, world.end + 1.0)
    rows = world.span(start, end)
    shut = rng.random() < 0.6  # so far that hardly any of its own air comes
    if shut:
        final = _factor_for(world, point, float(np.exp(rng.uniform(np.log(0.003), np.log(0.1)))))
    else:
        final = float(np.exp(rng.uniform(np.log(3.0), np.log(60.0))))
    slow = rng.random() < 0.6
    grown = np.clip(np.linspace(0.0, 1.7, rows.stop - rows.start), 0.0, 1.0) ** 1.5
    world.blockage[rows, point] *= np.exp(np.log(final) * grown) if slow else final
    if end < world.end:
        world.log(end, "purge", world.settings.points[point].name, note="blown through")
    world.story("blocked", start, end, [point])
    if shut and rng.random() < 0.85:
        _gas_before(world, point, start, end)


def _factor_for(world: World, point: int, share: float) -> float:
    """Return the blockage that leaves ``share`` of the clean flow [-]."""
    resistance = line_figures(world.settings)[0][point]
    # From the straight pump curve: flow goes with 1 / (lift + free flow * resistance).
    base = world.settings.dead_head / world.settings.free_flow + resistance
    return float(1.0 + base / resistance * (1.0 / share - 1.0))


def _gas_before(world: World, point: int, start: float, end: float) -> None:
    """Put gas at the point before in the round, so that the choked point repeats it."""
    rng = world.rng
    when = start + float(rng.uniform(0.6, 0.9)) * (min(end, world.end) - start)
    if when > world.end - 8.0:
        return
    before = _point_before(world, point, when)
    if before is None:
        return
    since = world.since(when)
    hours = float(rng.uniform(6.0, 40.0))
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


def _point_before(world: World, point: int, hour: float) -> int | None:
    """Return the sampled point that comes before in the round, unless it is the reference."""
    seen = world.connected[int(world.cell(hour))] & ~world.skipped[int(world.cell(hour))]
    mine = world.analyser_of(point)
    round_ = [i for i in np.flatnonzero(seen).tolist() if world.analyser_of(i) == mine]
    if point not in round_ or len(round_) < 2:
        return None
    before = round_[round_.index(point) - 1]
    return None if world.settings.points[before].reference else before
