"""Test gas: somebody puts the cylinder on, with or without writing it down."""

from __future__ import annotations

from alarmsift.simulate.world import GasTest, World


def strike(world: World) -> None:
    """Bump one analyser for a few minutes, mostly in working hours."""
    rng = world.rng
    hour = world.pick_hour(6.0)
    if rng.random() < 0.85:
        hour = world.in_working_hours(hour)
    if not 2.0 < hour < world.end - 3.0:
        return
    analyser = int(rng.integers(len(world.settings.analysers)))
    cylinders = [g for g in world.settings.gases if g not in {"O2", "CO"}]
    if rng.random() < 0.5:
        cylinders = [str(rng.choice(cylinders))]
    share = float(rng.choice([1.0, 1.0, 1.0, 0.7, 1.3]))  # sometimes another cylinder
    values = {gas: world.settings.span_gas[gas] * share for gas in cylinders}
    minutes = float(rng.uniform(1.5, 9.0))
    written = rng.random() < 0.45 and world.settings.habits.logging != "none"
    world.tests.append(GasTest(analyser, hour, hour + minutes / 60.0, values, written))
    if written:
        for gas in cylinders:
            world.checks.append(
                {
                    "hour": hour + 0.02,
                    "analyser": analyser,
                    "gas": gas,
                    "action": "span_check",
                    "reference": values[gas],
                    "shown": None,
                }
            )
    world.story("test_gas", hour, hour + minutes / 60.0, [], "written" if written else "unwritten")
