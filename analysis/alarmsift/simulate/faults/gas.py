"""Gas: vapour leaks into a space and the space fills, V dC/dt = S - Q C.

Slow seeps over days, cracks over hours, a pump seal that goes within one visit, a whiff that is
seen once, gas in a tank whose line is wet or choked (the reading is then too small), gas in the
middle of cargo work or of a drift, and gas that waits behind an unplugged line.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from alarmsift.simulate.leaks import let_in
from alarmsift.simulate.world import World


def strike(world: World) -> None:
    """Let gas into one space, in one of the ways above."""
    ways = list(_WAYS)
    weights = np.array([weight for _, weight in ways])
    way, _ = ways[int(world.rng.choice(len(ways), p=weights / weights.sum()))]
    way(world)


def _target(world: World, low: float, high: float) -> float:
    return world.setpoint("HC") * float(np.exp(world.rng.uniform(np.log(low), np.log(high))))


def _seep(world: World) -> None:
    hours = float(world.rng.uniform(30.0, 190.0))
    start = world.pick_hour(hours)
    point = world.pick_point(start, "ballast", "void", "cofferdam", "duct_keel", duration=24.0)
    if point is not None:
        let_in(world, point, start, hours, _target(world, 1.05, 2.5), name="gas seep")


def _crack(world: World) -> None:
    hours = float(world.rng.uniform(4.0, 36.0))
    start = world.pick_hour(hours)
    point = world.pick_point(start, "ballast", "void", "cofferdam", duration=hours)
    if point is not None:
        let_in(world, point, start, hours, _target(world, 1.2, 5.0), name="gas crack")


def _seal(world: World) -> None:
    """Fail a pump seal or a hatch: full height within one visit."""
    start = world.pick_hour(10.0)
    point = world.pick_point(start, "pump_room", "other", duration=6.0)
    if point is None:
        return
    peak, fade = _target(world, 1.2, 6.0), float(world.rng.uniform(0.3, 3.0))
    hold = float(world.rng.uniform(0.2, 3.0))
    since = world.since(start)
    puff = np.where(since < hold, 1.0, np.exp(-np.maximum(since - hold, 0.0) / fade)) * (since >= 0)
    _add_local(world, point, puff * peak)
    world.story("gas jump", start, start + hold + 2 * fade, [point], f"peak {peak:.0f}")


def _once(world: World) -> None:
    """Let out a whiff shorter than the round: one visit sees it, or none.

    Only where air is changed fast enough to carry it off within a round: a ventilated space, or a
    tank that is being ventilated or discharged.
    """
    start, point = world.pick_hour(4.0), None
    moving = [
        o
        for o in world.operations
        if o["action"] in {"ventilation_on", "ballast_discharge_start"}
        and o["hour"] < world.end - 4
    ]
    if moving and world.rng.random() < 0.25:
        chosen = moving[int(world.rng.integers(len(moving)))]
        names = [p.name for p in world.settings.points]
        start = float(chosen["hour"]) + float(world.rng.uniform(0.2, 1.5))
        point = names.index(chosen["point"]) if chosen["point"] in names else None
    if point is None:
        quick = world.points_where(start, "pump_room", "other")
        if not quick:
            return
        point = int(world.rng.choice(quick))
    hours = float(world.round_h * world.rng.uniform(0.6, 1.0))
    peak = _target(world, 1.2, 3.5)
    since = world.since(start)
    _add_local(world, point, peak * ((since >= 0) & (since < hours)))
    world.story("gas once", start, start + hours, [point], f"peak {peak:.0f}")


def _add_local(world: World, point: int, shape: np.ndarray) -> None:
    world.local["HC"][:, point] += shape
    if world.settings.sour and "H2S" in world.local:
        world.local["H2S"][:, point] += shape * world.settings.sour


def _in_cargo(world: World) -> None:
    starts = [o["hour"] for o in world.operations if o["action"] == "cargo_start"]
    starts = [h for h in starts if 2.0 < h < world.end - 12.0]
    if not starts:
        _crack(world)
        return
    start = float(world.rng.choice(starts)) + float(world.rng.uniform(0.0, 10.0))
    point = world.pick_point(start, "void", "pump_room", "cofferdam", "ballast")
    if point is not None:
        let_in(
            world,
            point,
            start,
            float(world.rng.uniform(3.0, 18.0)),
            _target(world, 1.2, 4.0),
            name="gas in cargo work",
        )


def _behind_unplugged(world: World) -> None:
    """Gas gathers while the line is unplugged and shows at the first visits afterwards."""
    plugs = [
        o for o in world.operations if o["action"] == "reconnect" and 8 < o["hour"] < world.end
    ]
    if not plugs:
        _crack(world)
        return
    plug = plugs[int(world.rng.integers(len(plugs)))]
    names = [p.name for p in world.settings.points]
    ahead = float(world.rng.uniform(2.0, 7.0))
    let_in(
        world,
        names.index(plug["point"]),
        plug["hour"] - ahead,
        ahead + float(world.rng.uniform(4.0, 30.0)),
        _target(world, 1.3, 3.0),
        name="gas after reconnect",
    )


def _bad_line(world: World) -> None:
    """Leak into a tank whose line is wet or choked: the reading is too small, not wrong."""
    hours = float(world.rng.uniform(12.0, 60.0))
    start = world.pick_hour(hours)
    point = world.pick_point(start, "ballast", "void", "cofferdam", duration=hours)
    if point is None:
        return
    let_in(world, point, start, hours, _target(world, 2.0, 6.0), name="gas behind a bad line")
    rows = world.span(start - float(world.rng.uniform(-6.0, 12.0)), start + hours)
    if world.rng.random() < 0.5:
        world.blockage[rows, point] *= float(world.rng.uniform(2.5, 12.0))
    else:
        world.head[rows, point] += world.settings.dead_head * float(world.rng.uniform(0.25, 0.8))


def _in_drift(world: World) -> None:
    hours = float(world.rng.uniform(10.0, 50.0))
    start = world.pick_hour(hours)
    point = world.pick_point(start, "ballast", "void", "cofferdam", duration=hours)
    if point is None:
        return
    let_in(world, point, start, hours, _target(world, 1.0, 3.0), name="gas in a drift")
    shift = world.setpoint("HC") * float(world.rng.uniform(-0.45, 0.45))
    ramp = np.clip((world.since(start) + 100.0) / 100.0, 0.0, 1.0)
    world.zero_walk["HC"][:, world.analyser_of(point)] += shift * ramp


def _sour_bilge(world: World) -> None:
    """H2S from old sea water and residue, with no hydrocarbon beside it."""
    if "H2S" not in world.settings.gases:
        _seep(world)
        return
    hours = float(world.rng.uniform(8.0, 70.0))
    start = world.pick_hour(hours)
    point = world.pick_point(start, "ballast", "void", "duct_keel", "cofferdam", duration=12.0)
    if point is None:
        return
    space = world.space_of(point)
    rate = float(world.air_changes[int(world.cell(start)), space])
    target = world.setpoint("H2S") * float(world.rng.uniform(1.1, 4.0))
    source = target * rate / (1.0 - np.exp(-rate * hours))
    world.source["H2S"][world.span(start, start + hours), space] += source
    world.story("gas H2S alone", start, start + hours, world.points_of(space), f"{target:.0f}")


def _low_oxygen(world: World) -> None:
    """Inert gas let in over hours, or rust that uses oxygen up over days."""
    if "O2" not in world.settings.gases:
        _crack(world)
        return
    rust = world.rng.random() < 0.4
    hours = float(world.rng.uniform(60.0, 200.0) if rust else world.rng.uniform(4.0, 30.0))
    start = world.pick_hour(hours)
    point = world.pick_point(start, "void", "cofferdam", "ballast", duration=24.0)
    if point is None:
        return
    space = world.space_of(point)
    rate = float(world.air_changes[int(world.cell(start)), space])
    missing = float(world.rng.choice([2.0, 4.0, 14.0]) * world.rng.uniform(0.8, 1.3))
    share = rate / (1.0 - np.exp(-rate * hours))
    rows = world.span(start, start + hours)
    world.source["O2"][rows, space] += missing * share
    if not rust:
        vapour = float(world.rng.uniform(0.0, 1.2)) * world.setpoint("HC")
        world.source["HC"][rows, space] += vapour * share
        if "CO" in world.settings.gases:
            world.source["CO"][rows, space] += missing * float(world.rng.uniform(3.0, 20.0)) * share
    world.story("gas low oxygen", start, start + hours, world.points_of(space), f"{missing:.1f}")


_WAYS: tuple[tuple[Callable[[World], None], float], ...] = (
    (_seep, 0.2),
    (_crack, 0.2),
    (_seal, 0.13),
    (_once, 0.1),
    (_in_cargo, 0.1),
    (_behind_unplugged, 0.1),
    (_bad_line, 0.1),
    (_in_drift, 0.07),
    (_sour_bilge, 0.08),
    (_low_oxygen, 0.08),
)
