"""What people do about alarms, at human times: resample, purge, ventilate, unplug, or nothing."""

from __future__ import annotations

import numpy as np

from alarmsift.simulate.faults.moisture import tail
from alarmsift.simulate.watch import Watch
from alarmsift.simulate.world import SetpointMove, World

BOUT_GAP_H = 3.0
RESAMPLE_SPACING_H = 0.75


def answer_delay(rng: np.random.Generator, hour_of_day: float) -> float:
    """Return how long an alarm waits for a hand [h]; at night sometimes until morning."""
    if 6.0 <= hour_of_day < 22.0:
        return float(rng.lognormal(np.log(0.08), 0.9))
    if rng.random() < 0.3:
        return float(rng.uniform(2.0, 7.0))
    return float(rng.lognormal(np.log(0.25), 1.0))


def react(world: World, watch: Watch) -> None:
    """Write people's answers to the alarms of a first run into the world."""
    bouts = _bouts(watch)
    seen: dict[int, int] = {}
    for hour, point, gas, lasts in bouts:
        seen[point] = seen.get(point, 0) + 1
        acted = hour + answer_delay(world.rng, world.clock_hour(hour))
        if acted < world.end - 1.0:
            _one(world, point, gas, acted, lasts=lasts - (acted - hour), times=seen[point])
    _zero_when_all_shift(world, bouts)


def _bouts(watch: Watch) -> list[tuple[float, int, str, float]]:
    """Return (hour, point, gas, hours in alarm) of alarms that follow each other closely."""
    rows: list[tuple[float, int, str, float]] = []
    for plan, found in watch.alarms:
        for up, down in zip(found.raised.tolist(), found.cleared.tolist(), strict=True):
            hour = float(watch.visits.hour[up])
            over = float(watch.visits.hour[down]) if down >= 0 else hour + 48.0
            rows.append((hour, int(watch.visits.point[up]), plan.gas, over - hour))
    rows.sort()
    out: list[tuple[float, int, str, float]] = []
    last: dict[tuple[int, str], float] = {}
    for hour, point, gas, lasts in rows:
        if hour - last.get((point, gas), -99.0) > BOUT_GAP_H:
            out.append((hour, point, gas, lasts))
        last[point, gas] = hour + lasts
    return out


def _one(  # noqa: PLR0913  (who, what, when)
    world: World, point: int, gas: str, acted: float, *, lasts: float, times: int
) -> None:
    rng = world.rng
    name = world.settings.points[point].name
    if rng.random() < 0.45 and not _hands_full(world, acted):
        when = acted + float(rng.uniform(0.03, 0.4))
        world.resamples.append((when, point))
        world.log(when, "resample", name)
        if rng.random() < 0.3:
            world.resamples.append((when + 0.15, point))
    if rng.random() < 0.1 and lasts > 0.5:
        _purge(world, point, acted + float(rng.uniform(0.2, 2.0)))
    if lasts > 1.5 and rng.random() < 0.5 and gas != "O2":
        _ventilate(world, point, acted + float(rng.uniform(0.5, 5.0)))
    # People end a standing alarm by unplugging its point or moving its setpoint; gas or not.
    tired = 0.05 if lasts > 2.0 or times > 4 else 0.012
    if rng.random() < tired:
        _unplug(world, point, acted + float(rng.uniform(0.1, 1.5)))
    elif rng.random() < tired * (2.0 if times > 4 else 1.0) and gas != "O2":
        _raise_setpoint(world, point, gas, acted + float(rng.uniform(0.2, 6.0)))


def _hands_full(world: World, hour: float) -> bool:
    """Tell whether other points are being looked at again already: each costs the round time."""
    near = [h for h, _ in world.resamples if abs(h - hour) < RESAMPLE_SPACING_H]
    return len(near) >= 2


def _purge(world: World, point: int, hour: float) -> None:
    world.log(hour, "purge", world.settings.points[point].name)
    rows = world.span(hour, world.end)
    if world.rng.random() < 0.5:
        world.blockage[rows, point] = 1.0 + 0.3 * (world.blockage[rows, point] - 1.0)
    if world.rng.random() < 0.3:
        size = world.setpoint("HC") * float(world.rng.uniform(0.1, 1.2))
        tail(world, point, hour, size, float(world.rng.uniform(0.3, 1.5)))


def _ventilate(world: World, point: int, hour: float) -> None:
    rng, space = world.rng, world.space_of(point)
    name = world.settings.points[point].name
    off = hour + float(rng.uniform(3.0, 24.0))
    rows = world.span(hour, off)
    fan = float(rng.uniform(0.5, 4.0))
    world.air_changes[rows, space] = np.maximum(world.air_changes[rows, space], fan)
    mended = rng.random() < 0.65
    for source in world.source.values():
        if mended:
            source[world.span(off, off + 72.0), space] = 0.0
    world.log(hour, "ventilation_on", name)
    if rng.random() < 0.85:
        world.log(off, "ventilation_off", name)


def _unplug(world: World, point: int, hour: float) -> None:
    """Somebody silences a point by unplugging it, though its space is empty."""
    rng = world.rng
    back = hour + float(rng.uniform(2.0, 40.0))
    rows = world.span(hour, back)
    if not world.connected[rows, point].all():
        return
    world.connected[rows, point] = False
    world.known_open[rows, point] = True
    name = world.settings.points[point].name
    if rng.random() < 0.7:
        world.log(hour, "disconnect", name)
        world.log(back, "reconnect", name)


def _raise_setpoint(world: World, point: int, gas: str, hour: float) -> None:
    rng, name = world.rng, world.settings.points[point].name
    now = world.setpoint(gas, point=name)
    level = next(s.level for s in world.settings.setpoints if s.gas == gas)
    value = round(now * float(rng.choice([1.25, 1.5, 2.0])), 1)
    until = hour + float(rng.uniform(20.0, 400.0))
    whom = point if rng.random() < 0.8 else -1
    logged = rng.random() < 0.7 and world.settings.habits.logging != "none"
    world.moves.append(SetpointMove(hour, until, whom, gas, level, value, logged=logged))
    if logged:
        where = name if whom >= 0 else ""
        world.log(hour, "setpoint", where, gas=gas, level=level, value=value)
        world.log(until, "setpoint", where, gas=gas, level=level, value=now)


def _zero_when_all_shift(world: World, bouts: list[tuple[float, int, str, float]]) -> None:
    """When half the points alarm within a few hours, somebody sets the zero."""
    rng, last = world.rng, -99.0
    for hour, point, gas, _ in bouts:
        near = {p for h, p, g, _ in bouts if g == gas and hour <= h < hour + 8.0}
        if len(near) < 0.4 * len(world.settings.points) or hour < last + 24.0:
            continue
        last = hour
        if rng.random() < 0.6:
            when = hour + float(rng.uniform(1.0, 12.0))
            analyser = world.analyser_of(point)
            left = float(rng.normal(0.0, 0.5 * world.settings.noise[gas]))
            world.adjustments.append((when, analyser, gas, "zero", left))
            if rng.random() < 0.25:
                continue  # and nobody writes it down
            world.checks.append(
                {
                    "hour": when,
                    "analyser": analyser,
                    "gas": gas,
                    "action": "zero_adjust",
                    "reference": 0.0,
                    "shown": left,
                }
            )
