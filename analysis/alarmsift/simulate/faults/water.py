"""Water: ballast reaches a probe, slugs run in when the ship rolls, or a line was left wet.

Flow collapses and suction jumps; the first readings scatter, then the detector keeps an old sample.
"""

from __future__ import annotations

import numpy as np

from alarmsift.simulate.world import World

_DEPTH_KPA = 120.0  # of water from bottom to top of a ballast tank, 12 m; no source
_PROBE = {"lower": 0.04, "single": 0.06, "upper": 0.93}  # level at which the probe drowns [-]


def strike(world: World) -> None:
    """Let water into one line or a few."""
    way = world.rng.choice(4, p=[0.35, 0.25, 0.25, 0.15])
    (_not_unplugged, _slugs, _left_wet, _bilge)[int(way)](world)


def scatter(world: World, point: int, start: float, hours: float) -> None:
    """Make the readings jump while drops pass the detector."""
    rows = world.span(start, start + hours)
    length, rng = rows.stop - rows.start, world.rng
    size = world.setpoint("HC") * float(rng.choice([0.2, 0.7, 1.3, 2.0]))
    jumps = size * rng.lognormal(0.0, 0.6, length) * (rng.random(length) < 0.7)
    world.slug["HC"][rows, point] += jumps
    if "H2S" in world.slug and rng.random() < 0.3:
        world.slug["H2S"][rows, point] += jumps * 0.3


def _not_unplugged(world: World) -> None:
    """Fill a tank whose line nobody unplugged."""
    fills = [
        o
        for o in world.operations
        if o["action"] == "ballast_fill_start" and 1.0 < o["hour"] < world.end - 4.0
    ]
    if not fills:
        _slugs(world)
        return
    rng = world.rng
    fill = fills[int(rng.integers(len(fills)))]
    names = [p.name for p in world.settings.points]
    space = world.space_of(names.index(fill["point"]))
    noticed = fill["hour"] + float(rng.uniform(2.0, 16.0))
    for point in world.points_of(space):
        _drown(world, space, point, float(fill["hour"]), noticed)
    world.story("water, not unplugged", fill["hour"], noticed, world.points_of(space))


def _drown(world: World, space: int, point: int, filled: float, noticed: float) -> None:
    plan = world.settings.points[point]
    world.operations[:] = [
        o
        for o in world.operations
        if not (
            o["action"] == "disconnect"
            and o["point"] == plan.name
            and filled - 2.0 <= o["hour"] <= filled
        )
    ]
    rows = world.span(filled - 2.0, noticed)
    world.connected[rows, point] = True
    world.log(noticed, "disconnect", plan.name)
    wet = np.maximum(world.level[rows, space] - _PROBE[plan.height], 0.0) * _DEPTH_KPA
    world.head[rows, point] += np.minimum(wet, 60.0)
    if wet.any():
        first = filled - 2.0 + float(np.argmax(wet > 1.0)) / 12.0
        scatter(world, point, max(first, 0.0), world.round_h * float(world.rng.uniform(1.0, 3.0)))
        world.wet_trap[rows, world.analyser_of(point)] = np.maximum(
            world.wet_trap[rows, world.analyser_of(point)], (wet > 3.0) * 1.0
        )


def _slugs(world: World) -> None:
    """Heavy rolling throws water into a line again and again."""
    rng = world.rng
    hours = float(rng.uniform(6.0, 40.0))
    start = world.pick_hour(hours)
    point = world.pick_point(start, "ballast", "void", "cofferdam", duration=hours)
    if point is None:
        return
    rows = world.span(start, start + hours)
    world.sea[rows] = np.maximum(world.sea[rows], rng.uniform(6.5, 9.0))
    world.log(start - rng.uniform(0, 3), "sea_state", value=round(float(world.sea[rows].max())))
    length = rows.stop - rows.start
    hit = np.repeat(rng.random(length // 4 + 1) < rng.uniform(0.08, 0.3), 4)[:length]
    world.head[rows, point] += hit * rng.uniform(2.0, 22.0, length)
    world.wet_trap[rows, world.analyser_of(point)] += hit * (rng.random() < 0.6)
    drops = hit * rng.lognormal(0.0, 0.6, length) * world.setpoint("HC") * rng.uniform(0.2, 1.6)
    world.slug["HC"][rows, point] += drops
    world.story("water slugs", start, start + hours, [point])


def _left_wet(world: World) -> None:
    """Water ran into the unplugged line; it shows at the first visits after reconnecting."""
    plugs = [
        o
        for o in world.operations
        if o["action"] == "reconnect" and 1.0 < o["hour"] < world.end - 4.0
    ]
    if not plugs:
        _slugs(world)
        return
    rng = world.rng
    plug = plugs[int(rng.integers(len(plugs)))]
    point = [p.name for p in world.settings.points].index(plug["point"])
    blown = plug["hour"] + float(rng.uniform(1.0, 24.0))
    rows = world.span(plug["hour"], blown)
    world.head[rows, point] += float(rng.uniform(3.0, 30.0))
    scatter(world, point, plug["hour"], world.round_h * float(rng.uniform(1.0, 4.0)))
    world.log(blown, "purge", plug["point"])
    _moist_tail(world, point, blown)
    world.story("water left in the line", plug["hour"], blown, [point])


def _moist_tail(world: World, point: int, start: float) -> None:
    size = world.setpoint("HC") * float(world.rng.uniform(0.1, 1.4))
    since = world.since(start)
    world.damp["HC"][:, point] += (
        size * np.exp(-np.maximum(since, 0.0) / world.rng.uniform(0.4, 2.0)) * (since >= 0)
    )


def _bilge(world: World) -> None:
    """Bilge water creeps up to a low probe and is pumped out a day later."""
    rng = world.rng
    hours = float(rng.uniform(6.0, 50.0))
    start = world.pick_hour(hours)
    point = world.pick_point(start, "void", "pump_room", "duct_keel", "cofferdam", duration=hours)
    if point is None:
        return
    rows = world.span(start, start + hours)
    rise = np.linspace(0.0, float(rng.uniform(4.0, 35.0)), rows.stop - rows.start)
    world.head[rows, point] += rise
    scatter(world, point, start + 0.1 * hours, world.round_h * 2.0)
    name = world.settings.points[point].name
    world.log(start + hours, "purge", name)
    _moist_tail(world, point, start + hours)
    world.story("water from the bilge", start, start + hours, [point])
