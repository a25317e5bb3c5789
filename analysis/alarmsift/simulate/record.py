"""From a run to the canonical tables: readings, the alarm list, and the answers beside it."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd

from alarmsift.simulate.alarms import blocked_by_test
from alarmsift.simulate.sampling import RANGE
from alarmsift.simulate.watch import Watch
from alarmsift.simulate.world import World
from alarmsift.tables.schema import GAS_UNITS

_FLOW_STEP, _SUCTION_STEP = 0.1, 0.1


def times(world: World, hours: np.ndarray) -> pd.DatetimeIndex:
    """Return UTC times of hours since the start, at the log's resolution; shape kept."""
    step = world.settings.habits.time_step_s
    seconds = np.round(np.asarray(hours, dtype=float) * 3600.0 / step) * step
    micros = (seconds * 1e6).astype("int64").astype("timedelta64[us]")
    start = world.settings.start.tz_convert("UTC").tz_localize(None).to_datetime64()
    return pd.DatetimeIndex(start.astype("datetime64[us]") + micros).tz_localize("UTC")


def readings(world: World, watch: Watch, rng: np.random.Generator) -> pd.DataFrame:
    """Return the readings table, a row a visit and gas."""
    settings, visits = world.settings, watch.visits
    names = np.array([p.name for p in settings.points])
    humid = np.clip(
        world.air_humidity[visits.cell]
        + 4.0 * _damp(world, watch)
        + rng.normal(0, 1.5, len(visits.hour)),
        5.0,
        100.0,
    )
    shared: dict[str, Any] = {
        "time": times(world, visits.hour),
        "point": names[visits.point],
        "flow": _steps(watch.flows.flow * rng.normal(1.0, 0.012, len(humid)), _FLOW_STEP),
        "suction": _steps(watch.flows.suction * rng.normal(1.0, 0.01, len(humid)), _SUCTION_STEP),
        "temperature": _steps(world.air_temp[visits.cell] + rng.normal(0, 0.3, len(humid)), 0.1),
        "humidity": _steps(humid, 1.0),
        "analyser": np.array(settings.analysers)[visits.analyser],
    }
    frames = []
    for rank, gas in enumerate(settings.gases):
        frame = pd.DataFrame(shared)
        frame["gas"] = gas
        frame["value"], frame["status"] = _shown(world, watch, gas)
        frame["unit"] = GAS_UNITS[gas]
        frame["_rank"], frame["_hour"] = rank, visits.hour
        frames.append(frame)
    frames += _not_sampled(world, watch, names)
    out = pd.concat(frames, ignore_index=True)
    out = out.sort_values(["_hour", "point", "_rank"], kind="stable", ignore_index=True)
    for start, end in world.holes:
        out = out[(out["_hour"] < start) | (out["_hour"] >= end)]
    out = out.reset_index(drop=True)
    keep = ["time", "point", "gas", "value", *_ordered(settings.habits.columns)]
    return out[keep]


def _ordered(columns: tuple[str, ...]) -> list[str]:
    order = ("unit", "status", "flow", "suction", "temperature", "humidity", "analyser")
    return [name for name in order if name in columns]


def _damp(world: World, watch: Watch) -> np.ndarray:
    cell, point = watch.visits.cell, watch.visits.point
    return np.asarray(world.damp["HC"][cell, point], dtype=float)


def _steps(values: np.ndarray, step: float) -> np.ndarray:
    return np.asarray(np.round(np.maximum(np.round(values / step) * step, 0.0), 3))


def _shown(world: World, watch: Watch, gas: str) -> tuple[np.ndarray, np.ndarray]:
    habits, visits, channel = world.settings.habits, watch.visits, watch.channels[gas]
    value = channel.shown.copy()
    status = np.where(channel.over, "over_range", "ok").astype(object)
    status[channel.distrusted] = "fault"
    status[blocked_by_test(world, visits)] = "test"
    status[channel.faulty] = "fault"
    if "status" in habits.columns:
        value = np.where(channel.faulty, np.nan, value)
    else:
        value = np.where(channel.faulty, 0.0, np.minimum(value, RANGE[gas]))
    return value, status


def _not_sampled(world: World, watch: Watch, names: np.ndarray) -> list[pd.DataFrame]:
    idle = watch.turns.where(~watch.turns.sampled)
    if not len(idle.hour) or "status" not in world.settings.habits.columns:
        return []
    frames = []
    for rank, gas in enumerate(world.settings.gases):
        frame = pd.DataFrame({"time": times(world, idle.hour), "point": names[idle.point]})
        frame["gas"], frame["value"], frame["status"] = gas, np.nan, "not_sampled"
        frame["unit"] = GAS_UNITS[gas]
        frame["analyser"] = np.array(world.settings.analysers)[idle.analyser]
        frame["_rank"], frame["_hour"] = rank, idle.hour
        frames.append(frame)
    return frames
