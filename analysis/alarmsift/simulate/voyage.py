"""Where the ship goes: ports, ballast, weather, cargo work, and who unplugs which line when."""

from __future__ import annotations

import numpy as np

from alarmsift.simulate.recurrence import carry
from alarmsift.simulate.world import STEP_H, World

BASE_AIR_CHANGES = {  # [1/h], closed spaces breathe a little; common practice, no source
    "ballast": 0.04,
    "void": 0.02,
    "cofferdam": 0.02,
    "duct_keel": 0.05,
    "pump_room": 8.0,
    "cabinet": 6.0,
    "other": 0.1,
}


def sail(world: World) -> None:
    """Write weather, legs, ballast and cargo work into the world."""
    _weather(world)
    _breathing(world)
    rng, hour = world.rng, 0.0
    leg = int(rng.integers(0, 4))  # laden, discharging, in ballast, loading
    hour = -float(rng.uniform(0.0, 60.0))
    if leg >= 2:
        _already_full(world)
    while hour < world.end:
        if leg == 0:
            length = float(rng.uniform(4.0, 15.0)) * 24.0
        elif leg == 1:
            length = _discharge_port(world, hour)
        elif leg == 2:
            length = float(rng.uniform(3.0, 11.0)) * 24.0
        else:
            length = _load_port(world, hour)
        hour += length
        leg = (leg + 1) % 4


def _weather(world: World) -> None:
    rng, n = world.rng, world.n
    day = world.clock_days
    passage = 10.0 * np.sin(2 * np.pi * day / rng.uniform(25.0, 60.0) + rng.uniform(0, 6.3))
    sun = rng.uniform(1.5, 5.0) * np.sin(2 * np.pi * (day - 0.375))
    world.air_temp[:] = rng.uniform(14.0, 26.0) + passage + sun + _slow(rng, n, 30.0, 1.2)
    world.air_humidity[:] = np.clip(75.0 - 2.0 * sun + _slow(rng, n, 12.0, 8.0), 30.0, 98.0)
    world.sea[:] = np.clip(3.3 + _slow(rng, n, 40.0, 1.9), 0.0, 10.0)
    for hour in np.arange(rng.uniform(6, 30), world.end, 24.0):
        force = round(float(world.sea[int(world.cell(hour))]))
        if force >= 6 or rng.random() < 0.15:
            world.log(float(hour), "sea_state", value=float(force), note="Beaufort")


def _slow(rng: np.random.Generator, n: int, memory_h: float, spread: float) -> np.ndarray:
    """Return an Ornstein-Uhlenbeck walk with standard deviation ``spread``, shape (n,)."""
    kept = float(np.exp(-STEP_H / memory_h))
    kicks = rng.normal(0.0, spread * np.sqrt(1.0 - kept**2), n)
    kicks[0] = rng.normal(0.0, spread)
    return carry(np.full(n, kept), kicks)


def _breathing(world: World) -> None:
    rng = world.rng
    for space in range(len(world.settings.spaces)):
        kind = world.settings.points[world.points_of(space)[0]].kind
        world.air_changes[:, space] = BASE_AIR_CHANGES[kind] * rng.uniform(0.4, 2.0)


def _ballast_spaces(world: World) -> list[int]:
    plans = world.settings.points
    spaces = range(len(world.settings.spaces))
    return [s for s in spaces if plans[world.points_of(s)[0]].kind == "ballast"]


def _already_full(world: World) -> None:
    for space in _ballast_spaces(world):
        if world.rng.random() < 0.85:
            world.level[:, space] = world.rng.uniform(0.93, 1.0)
            world.connected[:, world.points_of(space)] = False


def _discharge_port(world: World, hour: float) -> float:
    rng = world.rng
    work = float(rng.uniform(18.0, 44.0))
    start = hour + float(rng.uniform(3.0, 9.0))
    _cargo(world, start, start + work, vapour=0.5)
    for space in _ballast_spaces(world):
        if rng.random() < 0.88:
            begin = start + float(rng.uniform(2.0, 0.8 * work))
            _fill(world, space, begin, float(rng.uniform(3.0, 9.0)))
    return start + work + float(rng.uniform(3.0, 8.0)) - hour


def _load_port(world: World, hour: float) -> float:
    rng = world.rng
    work = float(rng.uniform(16.0, 38.0))
    start = hour + float(rng.uniform(3.0, 9.0))
    _cargo(world, start, start + work, vapour=1.0)
    for space in _ballast_spaces(world):
        begin = start + float(rng.uniform(1.0, 0.7 * work))
        if world.level[int(world.cell(begin)), space] > 0.1:
            _empty(world, space, begin, float(rng.uniform(3.0, 10.0)))
    return start + work + float(rng.uniform(3.0, 8.0)) - hour


def _cargo(world: World, start: float, end: float, *, vapour: float) -> None:
    if end < 0 or start > world.end:
        return
    rows = world.span(max(start, 0.0), end)
    world.cargo[rows] = True
    world.deck_clear[:] = np.where(
        (world.hours >= start) & (world.hours <= end),
        0.0,
        np.where(
            world.hours > end, np.minimum(world.deck_clear, world.hours - end), world.deck_clear
        ),
    )
    # Little of it: enough to see, seldom enough to alarm; the strong days are the fault's doing.
    gusts = np.exp(_slow(world.rng, world.n, 1.0, 0.9))
    world.deck[rows] += vapour * float(world.rng.uniform(0.2, 1.5)) * gusts[rows]
    world.log(start, "cargo_start", note="loading" if vapour >= 1.0 else "discharging")
    world.log(end, "cargo_end")


def _fill(world: World, space: int, begin: float, hours: float) -> None:
    rng, points = world.rng, world.points_of(space)
    if begin > world.end or begin + hours < 0:
        return
    full = float(rng.uniform(0.9, 1.0))
    name = world.settings.points[points[0]].name
    ramp = np.clip(world.since(begin) / hours, 0.0, 1.0) * full
    world.level[:, space] = np.maximum(world.level[:, space], ramp)
    unplug = begin - float(rng.uniform(0.1, 1.8))
    for point in points:
        world.connected[world.hours >= unplug, point] = False
        world.log(unplug, "disconnect", world.settings.points[point].name)
    world.log(begin, "ballast_fill_start", name)
    world.log(begin + hours, "ballast_fill_end", name)


def _empty(world: World, space: int, begin: float, hours: float) -> None:
    rng, points = world.rng, world.points_of(space)
    if begin > world.end:
        return
    name = world.settings.points[points[0]].name
    was = float(world.level[int(world.cell(begin)), space])
    ramp = was * np.clip(1.0 - world.since(begin) / hours, 0.0, 1.0)
    world.level[:, space] = np.where(world.hours >= begin, ramp, world.level[:, space])
    dry = begin + hours
    world.log(begin, "ballast_discharge_start", name)
    world.log(dry, "ballast_discharge_end", name)
    plug = dry + float(rng.uniform(0.1, 0.9))
    blown = rng.random() < 0.5
    for point in points:
        label = world.settings.points[point].name
        if blown:
            world.log(plug - 0.05, "purge", label)
        world.connected[world.hours >= plug, point] = True
        world.log(plug, "reconnect", label)
