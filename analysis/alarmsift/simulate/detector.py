"""A detector over time: its zero walks, its sensitivity fades, and people put both right."""

from __future__ import annotations

import numpy as np

from alarmsift.simulate.world import World

CABINET_TEMPERATURE_SHARE = 0.5  # of the swing outside that reaches the cabinet; no source


def traces(world: World, gas: str) -> tuple[np.ndarray, np.ndarray]:
    """Return zero [unit of the gas] and sensitivity [-] over the grid, shape (n, analysers).

    Between adjustments both follow their own free walk; at an adjustment they are put to right
    but for what was left wrong.
    """
    zero = world.zero_walk[gas].astype(float)
    sensitivity = world.sensitivity[gas].astype(float)
    for analyser in range(zero.shape[1]):
        zero[:, analyser] = _reset(world, zero[:, analyser], analyser, gas, "zero")
        log_gain = np.log(np.maximum(sensitivity[:, analyser], 0.05))
        sensitivity[:, analyser] = np.exp(_reset(world, log_gain, analyser, gas, "span"))
    return zero, sensitivity


def _reset(world: World, walk: np.ndarray, analyser: int, gas: str, kind: str) -> np.ndarray:
    mine = sorted(
        (hour, left)
        for hour, a, g, k, left in world.adjustments
        if a == analyser and g == gas and k == kind
    )
    if not mine:
        return walk
    hours = np.array([hour for hour, _ in mine])
    base = walk[world.cell(hours)] - np.array([left for _, left in mine])
    last = np.searchsorted(hours, world.hours, "right") - 1
    return np.where(last >= 0, walk - base[np.maximum(last, 0)], walk)


def age(world: World, gas: str, noise: float) -> None:
    """Write everyday ageing and the day-night swing of one gas's detectors into the world.

    Zero: 1 to 2 % of range a month; sensitivity: under 2 % a month (common practice, no source).
    """
    rng = world.rng
    days = world.hours / 24.0
    swing = (world.air_temp - world.air_temp.mean()) * CABINET_TEMPERATURE_SHARE
    for analyser in range(world.zero_walk[gas].shape[1]):
        slope = rng.normal(0.0, 0.08) * noise
        tempco = rng.normal(0.0, 0.12) * noise
        steps = rng.normal(0.0, 0.015 * noise, world.n).cumsum() * 0.3
        start = rng.normal(0.0, 1.0) * noise
        world.zero_walk[gas][:, analyser] += start + slope * days + tempco * swing + steps
        fade = rng.uniform(0.0, 0.02) / 30.0
        world.sensitivity[gas][:, analyser] *= rng.normal(1.0, 0.02) * (1.0 - fade * days)
