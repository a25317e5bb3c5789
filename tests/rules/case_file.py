"""Case files of rules: what a small ship's logs must be said to show of one rule.

A case file is ``cases/<rule>.toml``: ``[[case]]`` tables on top of a healthy ship whose points A
and B are in ballast tanks, P in the pump-room and C in the analyser's cabinet, read every 20
minutes for 150 rounds with 1 %LFL and 3 L/min everywhere, its setpoints and an alarm list of what
they raise.

``about``     what this ship is
``outcome``   ``met``, ``not_met`` or ``not_decidable``
``where``     points or detectors at which it is not met
``course``    list of ``{point, from, values, status}``: readings from that round on
``off``       list of ``{point, from, to}``: rounds without a row
``flow``      list of ``{point, from, to, share}``: share of the clean flow
``skip_all``  list of ``[from, to, point]``: in these rounds nothing but that point is read
``cycle_min``, ``rounds``, ``gases``, ``columns``
``points``, ``setpoints``, ``operations``, ``events`` as texts; ``events = ""`` for none.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from alarmsift.tables.logs import Logs
from alarmsift.tables.schema import TABLES
from tests.ten_rows import alarms, canonical, history, logs_of, quiet

FOLDER = Path(__file__).parent / "cases"
NAMES = ("A", "B", "P", "C")
POINTS = """
point space      kind      bore_mm volume_m3
A     "WBT 1P"   ballast   8       2000
B     "WBT 1S"   ballast   8       2000
P     "P ROOM"   pump_room 8       900
C     CABINET    cabinet   8       2
"""
SETPOINTS = """
gas level value deadband point
HC  low   10    1        -
HC  high  30    1        -
"""
LIMITS = {("HC", "low"): 10.0, ("HC", "high"): 30.0}


@dataclass(frozen=True)
class Case:
    rule: str
    number: int
    given: dict[str, Any]

    def __str__(self) -> str:
        return f"{self.rule}-{self.number}-{self.given['outcome']}"


@cache
def all_files() -> dict[str, list[dict[str, Any]]]:
    return {
        path.stem: tomllib.loads(path.read_text(encoding="utf-8"))["case"]
        for path in sorted(FOLDER.glob("*.toml"))
    }


def all_cases() -> list[Case]:
    return [
        Case(rule, number, given)
        for rule, cases in all_files().items()
        for number, given in enumerate(cases, start=1)
    ]


def logs_of_case(given: dict[str, Any]) -> Logs:
    rounds = int(given.get("rounds", 150))
    values = quiet(NAMES, rounds, gases=tuple(given.get("gases", ("HC",))))
    gas = next(iter(values))[1]
    for one in given.get("course", ()):
        start, course = one["from"], one["values"]
        values[one["point"], gas][start : start + len(course)] = course
    for one in given.get("off", ()):
        values[one["point"], gas][one["from"] : one["to"]] = np.nan
    flow = {point: np.full(rounds, 3.0) for point in NAMES}
    for one in given.get("flow", ()):
        flow[one["point"]][one["from"] : one["to"]] = 3.0 * one["share"]
    columns = {"flow": flow} if "flow" in given.get("columns", ("flow",)) else {}
    readings = history(values, cycle_min=given.get("cycle_min", 20.0), **columns)
    readings = _held(readings, given)
    readings = _marked(readings, given)
    tables: dict[str, pd.DataFrame | str] = {
        "readings": readings,
        "points": given.get("points", POINTS),
        "setpoints": given.get("setpoints", SETPOINTS),
        "operations": given.get("operations", "time action"),
    }
    if "events" in given:
        tables["events"] = given["events"] or "time point event state"
    else:
        tables["events"] = alarms(readings, LIMITS if gas == "HC" else {})
    return logs_of({name: text for name, text in tables.items() if not _bare(text)})


def _bare(text: pd.DataFrame | str) -> bool:
    return isinstance(text, str) and len(text.strip().splitlines()) < 2


def _rounds(readings: pd.DataFrame, given: dict[str, Any]) -> pd.Series:
    minutes = (readings["time"] - readings["time"].min()).dt.total_seconds() / 60.0
    return (minutes / given.get("cycle_min", 20.0)).astype(int)


def _held(readings: pd.DataFrame, given: dict[str, Any]) -> pd.DataFrame:
    """Leave one point alone in the log for some rounds, read at every turn of the others."""
    number = _rounds(readings, given)
    for start, end, point in given.get("skip_all", ()):
        inside = (number >= start) & (number < end)
        readings.loc[inside, "point"] = point
        level = readings.loc[inside & (readings["value"] > 5), "value"].max()
        readings.loc[inside, "value"] = level
    return canonical(readings, TABLES["readings"])


def _marked(readings: pd.DataFrame, given: dict[str, Any]) -> pd.DataFrame:
    readings["status"] = readings["status"].astype(object)
    number = _rounds(readings, given)
    for one in given.get("course", ()):
        if "status" in one:
            last = one["from"] + len(one["values"])
            mine = (readings["point"] == one["point"]) & number.between(one["from"], last - 1)
            readings.loc[mine, "status"] = one["status"]
    return canonical(readings, TABLES["readings"])
