"""Not sampled: a point falls out of the round, the analyser stands still, or a detector fails."""

from __future__ import annotations

from alarmsift.simulate.world import World


def strike(world: World) -> None:
    """Leave a point out, stop an analyser, or put a detector in fault, for hours or days."""
    rng = world.rng
    way = rng.random()
    hours = float(rng.uniform(1.0, 90.0)) if way < 0.55 else float(rng.uniform(0.7, 9.0))
    start = world.pick_hour(hours)
    rows = world.span(start, start + hours)
    analyser = int(rng.integers(len(world.settings.analysers)))
    if way < 0.55:
        point = world.pick_point(start)
        if point is None:
            return
        world.skipped[rows, point] = True
        if rng.random() < 0.3:
            world.log(start, "note", world.settings.points[point].name, note="valve out of order")
        world.story("not_sampled", start, start + hours, [point])
    elif way < 0.8:
        world.stopped[rows, analyser] = True
        world.log(start + hours, "restart", note=str(rng.choice(["blackout", "reset", ""])))
        world.story("analyser stopped", start, start + hours, [])
    else:
        for gas in world.settings.gases:
            world.faulty[gas][rows, analyser] = True
        world.story("detector fault", start, start + hours, [])
