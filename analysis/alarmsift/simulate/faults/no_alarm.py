"""No alarm: it should have come and did not, came for nothing, or its setpoint was moved."""

from __future__ import annotations

from alarmsift.simulate.leaks import let_in
from alarmsift.simulate.world import Mute, SetpointMove, World


def strike(world: World) -> None:
    """Silence a point that leaks, move its setpoint unwritten, or raise alarms over nothing."""
    rng = world.rng
    start = world.pick_hour(60.0)
    point = world.pick_point(start, "void", "ballast", "cofferdam", duration=24.0)
    if point is None:
        return
    level = next(plan.level for plan in world.settings.setpoints if plan.gas == "HC")
    chance = rng.random()
    if chance < 0.25:
        for _ in range(int(rng.integers(1, 4))):
            when = start + float(rng.uniform(0.0, 20.0))
            world.phantoms.append((when, point, "HC", level))
        world.story("no_alarm, alarms over nothing", start, start + 20.0, [point])
        return
    end = start + float(rng.uniform(30.0, 200.0))
    limit = world.setpoint("HC", point=world.settings.points[point].name)
    if chance < 0.65:
        for gas in world.settings.gases:
            world.mutes.append(Mute(start, end, point, gas))
    else:
        higher = limit * float(rng.choice([1.5, 2.0, 2.5]))
        world.moves.append(SetpointMove(start, end, point, "HC", level, higher, logged=False))
    target = limit * float(rng.uniform(1.3, 3.0))
    let_in(
        world,
        point,
        start + float(rng.uniform(1.0, 12.0)),
        float(rng.uniform(10.0, 40.0)),
        target,
        name="gas without an alarm",
    )
    world.story("no_alarm", start, end, [point])
