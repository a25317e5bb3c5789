"""Spike: a disturbance or a lost digit shows one high visit on one channel, and nothing after."""

from __future__ import annotations

from alarmsift.simulate.world import Spike, World


def strike(world: World) -> None:
    """Add one to four single-visit spikes, often near each other in time (a bad relay, radio)."""
    rng = world.rng
    hour = world.pick_hour(30.0)
    gas = str(rng.choice([g for g in world.settings.gases if g != "O2"]))
    for _ in range(int(rng.integers(1, 5))):
        when = hour + float(rng.exponential(15.0))
        point = world.pick_point(when)
        if point is None or when > world.end - 2.0:
            continue
        # Mostly well over the setpoint, sometimes just enough to look like the start of gas.
        amount = world.setpoint(gas) * float(
            rng.choice([1.1, 1.5, 2.5, 4.0]) * rng.uniform(0.9, 1.3)
        )
        world.spikes.append(Spike(when, point, gas, amount))
        world.story("spike", when, when + 0.5, [point], gas)
