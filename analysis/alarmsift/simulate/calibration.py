"""The calibration round: zero air, then span gas, then what people write down of it."""

from __future__ import annotations

import numpy as np

from alarmsift.simulate.detector import traces
from alarmsift.simulate.world import GasTest, World


def calibrate(world: World) -> None:
    """Calibrate every analyser at its interval, in working hours, some rounds forgotten."""
    rng, settings = world.rng, world.settings
    every = settings.calibration_days * 24.0
    for analyser in range(len(settings.analysers)):
        hour = float(rng.uniform(0.05, 1.0)) * every
        while hour < world.end - 3.0:
            start = world.in_working_hours(hour)
            if rng.random() < 0.9 and 1.0 < start < world.end - 2.0:
                _round(world, analyser, start)
            hour += every * float(rng.uniform(0.8, 1.3))


def _round(world: World, analyser: int, start: float) -> None:
    rng, settings = world.rng, world.settings
    written = settings.habits.logging != "none" and (
        settings.habits.logging == "complete" or rng.random() < 0.75
    )
    now = start
    short = 1.0 if settings.habits.stands_still else 0.5
    air = short * float(rng.uniform(2.0, 6.0)) / 60.0
    world.tests.append(GasTest(analyser, now, now + air, {}, written))
    for gas in settings.gases:
        _set(world, analyser, gas, "zero", now + 0.8 * air, written)
    now += air + float(rng.uniform(0.5, 4.0)) / 60.0
    for gas in settings.gases:
        if settings.span_gas[gas] <= 0.0 or rng.random() < 0.1:
            continue
        minutes = short * float(rng.uniform(2.0, 7.0)) / 60.0
        values = {gas: settings.span_gas[gas]}
        world.tests.append(GasTest(analyser, now, now + minutes, values, written))
        _set(world, analyser, gas, "span", now + 0.8 * minutes, written)
        now += minutes + float(rng.uniform(0.5, 4.0)) / 60.0


def _set(world: World, analyser: int, gas: str, kind: str, hour: float, written: bool) -> None:
    """Check, and adjust when it is off by more than people bother about."""
    rng, settings = world.rng, world.settings
    zero, gain = traces(world, gas)
    cell = int(world.cell(hour))
    noise = settings.noise[gas]
    reference = 0.0 if kind == "zero" else settings.span_gas[gas]
    shown = float(gain[cell, analyser] * reference + zero[cell, analyser] + rng.normal(0, noise))
    check = {"analyser": analyser, "gas": gas, "reference": reference}
    if written:
        world.checks.append(check | {"hour": hour, "action": f"{kind}_check", "shown": shown})
    bothers = 1.5 * noise if kind == "zero" else 0.05 * reference
    if abs(shown - reference) < bothers or rng.random() < 0.08:
        return
    left = float(rng.normal(0.0, 0.4 * noise)) if kind == "zero" else float(rng.normal(0.0, 0.015))
    world.adjustments.append((hour + 0.01, analyser, gas, kind, left))
    if written:
        after = left if kind == "zero" else reference * float(np.exp(left))
        world.checks.append(
            check | {"hour": hour + 0.02, "action": f"{kind}_adjust", "shown": after}
        )
