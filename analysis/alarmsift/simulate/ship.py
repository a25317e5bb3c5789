"""A simulated ship: drawn by seed, run through its voyages, handed over with the truth."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd

from alarmsift.simulate.alarm_list import alarm_list
from alarmsift.simulate.calibration import calibrate
from alarmsift.simulate.crew import react
from alarmsift.simulate.degrade import without
from alarmsift.simulate.detector import age
from alarmsift.simulate.draw import draw_settings
from alarmsift.simulate.logbook import findings, operations
from alarmsift.simulate.mishaps import befall
from alarmsift.simulate.record import readings, times
from alarmsift.simulate.settings import ShipSettings
from alarmsift.simulate.shipshape import SimulatedShip
from alarmsift.simulate.truth import conditions
from alarmsift.simulate.voyage import sail
from alarmsift.simulate.watch import Watch, keep_watch
from alarmsift.simulate.world import World, build
from alarmsift.tables.schema import GAS_UNITS

__all__ = ["ShipSettings", "SimulatedShip", "draw_settings", "simulate", "without"]


def simulate(settings: ShipSettings) -> SimulatedShip:
    """Return the logs and the truth of one ship; the same settings give the same ship.

    The analyser runs twice: people answer the alarms of the first run, and the second run is what
    is handed over.

    Examples
    --------
    >>> ship = simulate(draw_settings(3, days=2.0))
    >>> sorted(ship.truth_episodes)
    ['cause', 'gas', 'kind', 'level', 'point', 'raised']
    """
    world = put_to_sea(settings)
    react(world, keep_watch(world, 1))
    return hand_over(world, keep_watch(world, 2))


def put_to_sea(settings: ShipSettings) -> World:
    """Return the ship with its voyages, its ageing and its faults, before anybody reacts."""
    world = build(settings, np.random.default_rng([settings.seed, 11]))
    sail(world)
    _breathe(world)
    for gas in settings.gases:
        age(world, gas, settings.noise[gas])
    befall(world)
    calibrate(world)
    _lose_rows(world)
    return world


def _lose_rows(world: World) -> None:
    """Choose the hours that the export of the readings will lack."""
    if not world.settings.habits.loses_rows:
        return
    for _ in range(int(world.rng.integers(1, 4))):
        hours = float(world.rng.uniform(0.7, 20.0))
        start = world.pick_hour(hours)
        world.holes.append((start, start + hours))
        world.story("rows lost by the export", start, start + hours, [])


def _breathe(world: World) -> None:
    """Give every point its own small everyday background."""
    rng, settings = world.rng, world.settings
    scale = {"HC": 0.12, "H2S": 0.03, "O2": 0.0, "CO": 0.0}
    days = world.clock_days
    for gas in settings.gases:
        for point, plan in enumerate(settings.points):
            size = world.setpoint(gas) * scale[gas] * float(rng.lognormal(-0.7, 0.8))
            size = min(size, 0.4 * world.setpoint(gas)) * (0.15 if plan.reference else 1.0)
            wave = (
                1.0
                + 0.12 * np.sin(2 * np.pi * (days - 0.4))
                + 0.1 * np.sin(2 * np.pi * days / rng.uniform(5.0, 20.0))
            )
            if np.isfinite(size):
                world.residue[gas][:, point] = size * wave


def hand_over(world: World, watch: Watch) -> SimulatedShip:
    """Return the tables and the truth of a run."""
    rng = np.random.default_rng([world.settings.seed, 12])
    book = alarm_list(world, watch, rng)
    answers = book.answers()
    optional = {
        "operations": operations(world, rng),
        "points": _points(world),
        "setpoints": _setpoints(world),
        "findings": findings(world, answers, rng),
    }
    tables = {"readings": readings(world, watch, rng), "events": book.table()}
    tables |= {name: frame for name, frame in optional.items() if frame is not None}
    return SimulatedShip(
        settings=world.settings,
        tables=tables,
        site=_site(world),
        truth_episodes=answers,
        truth_conditions=_dated(world, conditions(world, watch)),
        stories=_dated(
            world, pd.DataFrame(world.stories, columns=["story", "start", "end", "points", "note"])
        ),
    )


def _dated(world: World, frame: pd.DataFrame) -> pd.DataFrame:
    start = times(world, frame["start"].to_numpy(dtype=float).clip(0.0))
    end = pd.Series(times(world, frame["end"].to_numpy(dtype=float)))
    open_end = frame["end"].to_numpy(dtype=float) >= world.end - 1e-6
    return frame.assign(start=start, end=end.mask(open_end)).sort_values(
        ["start", frame.columns[0]], kind="stable", ignore_index=True
    )


def _points(world: World) -> pd.DataFrame | None:
    if "points" not in world.settings.habits.tables:
        return None
    return pd.DataFrame(
        [
            {
                "point": p.name,
                "space": p.space,
                "kind": p.kind,
                "order": p.order,
                "length_m": p.length_m,
                "bore_mm": p.bore_mm,
                "volume_m3": p.volume_m3,
                "neighbours": " ".join(n for n in p.neighbours if " " not in n),
                "analyser": p.analyser,
            }
            for p in world.settings.points
        ]
    )


def _setpoints(world: World) -> pd.DataFrame | None:
    if "setpoints" not in world.settings.habits.tables:
        return None
    return pd.DataFrame(_setpoint_rows(world))


def _setpoint_rows(world: World) -> list[dict[str, Any]]:
    return [
        {
            "gas": s.gas,
            "level": s.level,
            "value": s.value,
            "unit": GAS_UNITS[s.gas],
            "point": s.point,
            "deadband": s.deadband,
            "confirm_visits": s.confirm_visits,
            "direction": s.direction,
        }
        for s in world.settings.setpoints
    ]


def _site(world: World) -> dict[str, Any]:
    settings = world.settings
    site: dict[str, Any] = {
        "name": settings.name,
        "clock": settings.clock,
        "calibration_days": settings.calibration_days,
        "units": {gas: GAS_UNITS[gas] for gas in settings.gases},
    }
    if settings.reference_point is not None and settings.seed % 3:
        site["reference_point"] = settings.reference_point
    if settings.seed % 2:
        site["lfl"] = {"gas": "propane", "vol_percent": 2.1}  # ISO 10156 / IEC 60079-20-1: 1.7-2.1
    if "setpoints" not in settings.habits.tables and settings.seed % 5 < 3:
        site["setpoint"] = _setpoint_rows(world)
    return site
