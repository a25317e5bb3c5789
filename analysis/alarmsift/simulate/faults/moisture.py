"""Moisture: a humid line after a purge, a reconnect or a cold night, or wet optics everywhere.

Infrared takes the film for gas: a jump on one channel, then an exponential fall over hours.
"""

from __future__ import annotations

import numpy as np

from alarmsift.simulate.world import World


def strike(world: World) -> None:
    """Wet a few lines after a purge or reconnect, or in the cold; rarely the optics."""
    chance = world.rng.random()
    if chance < 0.5:
        _after_work(world)
    elif chance < 0.88:
        _cold_night(world)
    else:
        _optics(world)


def tail(world: World, point: int, start: float, size: float, memory_h: float) -> None:
    """Add a jump at ``start`` that fades with ``memory_h`` [h] at one point [%LFL]."""
    since = world.since(start)
    world.damp["HC"][:, point] += size * np.exp(-np.maximum(since, 0.0) / memory_h) * (since >= 0)


def _size(world: World) -> float:
    return world.setpoint("HC") * float(world.rng.uniform(0.6, 3.0))


def _after_work(world: World) -> None:
    rng = world.rng
    done = [
        o
        for o in world.operations
        if o["action"] in {"purge", "reconnect"} and 0.0 < o["hour"] < world.end - 3.0
    ]
    if done:
        work = done[int(rng.integers(len(done)))]
        start, name = float(work["hour"]), work["point"]
        point = [p.name for p in world.settings.points].index(name)
    else:
        start = world.pick_hour(6.0)
        found = world.pick_point(start)
        if found is None:
            return
        point = found
        world.log(start, "purge", world.settings.points[point].name)
    same_hour = [point]
    for other in done:
        if abs(other["hour"] - start) < 1.5 and rng.random() < 0.5:
            same_hour.append([p.name for p in world.settings.points].index(other["point"]))
    for wet in dict.fromkeys(same_hour):
        tail(world, wet, start + float(rng.uniform(0.0, 0.15)), _size(world), rng.uniform(0.4, 3.0))
    world.story("moisture after work", start, start + 6.0, same_hour)


def _cold_night(world: World) -> None:
    """Condensate in a line on deck when the temperature falls; a few nights in a row."""
    rng = world.rng
    start = world.in_working_hours(world.pick_hour(30.0), 20.0, 30.0)
    point = world.pick_point(start)
    if point is None:
        return
    for night in range(int(rng.integers(1, 4))):
        when = start + 24.0 * night + float(rng.normal(0.0, 1.5))
        if 0.0 < when < world.end - 2.0:
            rows = world.span(when - 1.0, when + 6.0)
            world.air_temp[rows] -= float(rng.uniform(2.0, 6.0))
            tail(world, point, when, _size(world), float(rng.uniform(0.5, 3.0)))
    world.story("moisture in the cold", start, start + 30.0, [point])


def _optics(world: World) -> None:
    """Fail the heater or dryer: every point, the reference too, reads too much."""
    rng = world.rng
    start = world.pick_hour(30.0)
    hours = float(rng.uniform(2.0, 20.0))
    since = world.since(start)
    size = world.setpoint("HC") * float(rng.uniform(0.7, 1.8))
    creep = np.clip(since / float(rng.choice([0.05, 2.0])), 0.0, 1.0)
    shape = size * creep * np.exp(-np.maximum(since - hours, 0.0) / rng.uniform(0.5, 2.5))
    analyser = int(rng.integers(len(world.settings.analysers)))
    world.wet_optics["HC"][:, analyser] += shape
    if rng.random() < 0.6:
        world.log(start + hours, "maintenance", note="sample dryer / cell heater")
    world.story("moisture on the optics", start, start + hours, [])
