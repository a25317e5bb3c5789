"""Short simulated ships as logs and diagnoses, each made once a run."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pandas as pd

from alarmsift.pipeline.diagnose import diagnose
from alarmsift.simulate.degrade import without
from alarmsift.simulate.draw import FAULTS, draw_settings
from alarmsift.simulate.ship import simulate
from alarmsift.simulate.shipshape import SimulatedShip
from alarmsift.tables.diagnosis import Diagnosis
from alarmsift.tables.logs import Logs
from alarmsift.tables.schema import TABLES
from alarmsift.tables.site import Site, SiteSetpoint
from tests.ten_rows import canonical, logs_of


def as_logs(ship: SimulatedShip) -> Logs:
    """Return the logs of a simulated ship without the way over CSV files."""
    site = Site(
        name=str(ship.site["name"]),
        clock=str(ship.site["clock"]),
        calibration_days=float(ship.site["calibration_days"]),
        reference_point=ship.site.get("reference_point"),
        setpoints=tuple(SiteSetpoint(**row) for row in ship.site.get("setpoint", ())),
    )
    tables = {name: canonical(frame, TABLES[name]) for name, frame in ship.tables.items()}
    return logs_of(tables, site)


@cache
def ship_of(seed: int, days: float = 8.0) -> SimulatedShip:
    """Return a ship on which everything happens some ten times as often as in the long run."""
    drawn = draw_settings(seed, days=days)
    often = {name: 4.0 * mean for name, (mean, _) in FAULTS.items()}
    return simulate(replace(drawn, expected=often))


@cache
def logs_by_seed(seed: int, days: float = 8.0) -> Logs:
    return as_logs(ship_of(seed, days))


@cache
def diagnosed(seed: int, days: float = 8.0) -> Diagnosis:
    return diagnose(logs_by_seed(seed, days))


@cache
def diagnosed_without(
    seed: int, columns: tuple[str, ...], tables: tuple[str, ...] = ()
) -> Diagnosis:
    return diagnose(as_logs(without(ship_of(seed), columns=columns, tables=tables)))


@cache
def ship_with_only(seed: int, fault: str, count: float, days: float = 10.0) -> SimulatedShip:
    """Return a ship on which one fault alone strikes, with every column logged."""
    drawn = draw_settings(seed, days=days)
    habits = replace(
        drawn.habits,
        columns=("unit", "status", "flow", "suction", "temperature"),
        tables=("points", "setpoints"),
        logging="complete",
        loses_rows=False,
        names_spaces=False,
        time_step_s=1,
    )
    expected = dict.fromkeys(FAULTS, 0.0) | {fault: count * 60.0 / days}
    return simulate(replace(drawn, habits=habits, expected=expected))


def same_span(found: pd.Series, start: pd.Timestamp, end: pd.Timestamp) -> bool:
    """Tell whether a found span overlaps a true one."""
    stop = found["end"] if pd.notna(found["end"]) else end + pd.Timedelta(days=1)
    return bool(found["start"] <= end and stop >= start)
