"""Left disconnected: the tank is empty again and nobody plugs its line back in."""

from __future__ import annotations

from alarmsift.simulate.world import World


def strike(world: World) -> None:
    """Delay one reconnect by hours or days, or for good."""
    rng = world.rng
    plugs = [
        o
        for o in world.operations
        if o["action"] == "reconnect" and 1.0 < o["hour"] < world.end - 10.0 and "late" not in o
    ]
    if not plugs:
        return
    plug = plugs[int(rng.integers(len(plugs)))]
    names = [p.name for p in world.settings.points]
    first = names.index(plug["point"])
    points = world.points_of(world.space_of(first)) if rng.random() < 0.7 else [first]
    late = float(rng.uniform(7.0, 130.0)) if rng.random() < 0.85 else world.end
    for point in points:
        _forget(world, point, float(plug["hour"]), late)
    world.story("left_disconnected", plug["hour"], plug["hour"] + late, points)


def _forget(world: World, point: int, planned: float, late: float) -> None:
    name = world.settings.points[point].name
    mates = [p.name for p in world.settings.points if p.space == world.settings.points[point].space]
    dry = max(
        (
            o["hour"]
            for o in world.operations
            if o["action"] == "ballast_discharge_end"
            and o["point"] in mates
            and o["hour"] <= planned
        ),
        default=planned,
    )
    again = min(
        (
            o["hour"]
            for o in world.operations
            if o["action"] == "disconnect" and o["point"] == name and o["hour"] > planned
        ),
        default=world.end,
    )
    until = min(planned + late, again, world.end)
    rows = world.span(planned - 0.1, until)
    world.connected[rows, point] = False
    world.known_open[world.span(dry, until), point] = True
    kept = [
        o
        for o in world.operations
        if not (
            o["action"] in {"reconnect", "purge"}
            and o["point"] == name
            and abs(o["hour"] - planned) < 0.2
        )
    ]
    world.operations[:] = kept
    if until < min(again, world.end):
        world.log(until, "reconnect", name, late=True)
