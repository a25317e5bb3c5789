"""The operations log as people keep it: rounded, late, incomplete, and sometimes not at all."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd

from alarmsift.simulate.record import times
from alarmsift.simulate.world import OXYGEN_IN_AIR, World
from alarmsift.tables.schema import GAS_UNITS, OPERATIONS

# Share of rows that a sloppy log lacks; no source.
_FORGOTTEN = {
    "reconnect": 0.35,
    "disconnect": 0.12,
    "purge": 0.4,
    "resample": 0.4,
    "ventilation_on": 0.3,
    "ventilation_off": 0.4,
    "maintenance": 0.4,
    "cargo_start": 0.1,
    "cargo_end": 0.1,
    "ballast_fill_start": 0.1,
    "ballast_fill_end": 0.15,
    "ballast_discharge_start": 0.1,
    "ballast_discharge_end": 0.15,
    "restart": 0.3,
    "note": 0.3,
}
_EXACT = {"clock", "setpoint", "zero_check", "zero_adjust", "span_check", "span_adjust"}


def operations(world: World, rng: np.random.Generator) -> pd.DataFrame | None:
    """Return the operations table as it was kept, or None where nobody keeps one."""
    habits = world.settings.habits
    if habits.logging == "none":
        return None
    rows = [dict(row) for row in world.operations] + _checks(world)
    rows += [
        {"hour": hour, "action": "clock", "value": offset}
        for hour, offset in world.settings.clock_changes
    ]
    rows = [row for row in rows if 0.0 <= row["hour"] < world.end]
    if habits.logging == "sloppy":
        rows = [row for row in rows if rng.random() >= _FORGOTTEN.get(row["action"], 0.0)]
    if habits.names_spaces:
        _name_spaces(world, rows)
    for row in rows:
        row["hour"] = _written(row["hour"], row["action"], habits.logging, rng)
    frame = pd.DataFrame(rows, columns=["hour", *OPERATIONS.names[1:]])
    frame = frame.sort_values("hour", kind="stable", ignore_index=True)
    frame.insert(0, "time", times(world, frame.pop("hour").to_numpy(dtype=float)))
    return frame


def _name_spaces(world: World, rows: list[dict[str, Any]]) -> None:
    """Write the space instead of the point where people think in spaces (in place)."""
    space = {plan.name: plan.space for plan in world.settings.points}
    for row in rows:
        if row["action"].startswith(("ballast", "ventilation")):
            row["point"] = space.get(row["point"], row["point"])


def _written(hour: float, action: str, logging: str, rng: np.random.Generator) -> float:
    """Return the hour that somebody writes down."""
    if action in _EXACT:
        return float(np.round(hour * 60.0) / 60.0)
    slip, step = (0.03, 5.0) if logging == "complete" else (0.15, 15.0)
    late = hour + float(rng.normal(0.0, slip))
    return float(max(np.round(late * 60.0 / step) * step / 60.0, 0.0))


def _checks(world: World) -> list[dict[str, Any]]:
    rows = []
    for check in world.checks:
        gas = check["gas"]
        step = world.settings.habits.display_step[gas]
        shown, reference = check["shown"], check["reference"]
        if shown is None:
            shown = reference
        if gas == "O2":
            shown, reference = OXYGEN_IN_AIR - shown, OXYGEN_IN_AIR - reference
        rows.append(
            {
                "hour": check["hour"],
                "action": check["action"],
                "gas": gas,
                "value": round(round(shown / step) * step, 3),
                "reference": reference,
                "unit": GAS_UNITS[gas],
                "note": _who(world, check["analyser"]),
            }
            | (_cylinder(world, gas) if check["action"].startswith("span") else {})
        )
    return rows


def _cylinder(world: World, gas: str) -> dict[str, str]:
    """Return number and expiry of the gas bottle; some are out of date."""
    number = 4000 + 37 * world.settings.seed % 5000 + len(gas)
    expiry = world.settings.start + pd.Timedelta(days=int(number % 420) - 30)
    return {"cylinder": f"C{number}", "expiry": expiry.strftime("%Y-%m-%d")}


def _who(world: World, analyser: int) -> str:
    names = world.settings.analysers
    return f"analyser {names[analyser]}" if len(names) > 1 else ""


def findings(world: World, answers: pd.DataFrame, rng: np.random.Generator) -> pd.DataFrame | None:
    """Return what engineers found when they looked: mostly right, sometimes nothing or wrong."""
    if "findings" not in world.settings.habits.tables or answers.empty:
        return None
    alarms = answers[answers["kind"] == "alarm"]
    day = alarms["raised"].dt.floor("D")
    first = alarms[~pd.DataFrame({"p": alarms["point"], "g": alarms["gas"], "d": day}).duplicated()]
    chosen = first[rng.random(len(first)) < 0.2]
    found = chosen["cause"].to_numpy(dtype=object)
    luck = rng.random(len(found))
    found = np.where((luck < 0.15) | (found == "undetermined"), "nothing", found)
    found = np.where(luck > 0.95, "moisture", found)
    delay = pd.to_timedelta(np.round(rng.uniform(0.5, 40.0, len(found)) * 60.0), unit="min")
    out = pd.DataFrame(
        {
            "time": (chosen["raised"] + delay).dt.round("5min"),
            "point": chosen["point"],
            "gas": chosen["gas"],
            "found": found,
        }
    )
    last = world.settings.start + pd.Timedelta(hours=world.end)
    return out[out["time"] < last].sort_values("time", ignore_index=True)
