"""Case files of signs: short courses of readings around one alarm, and the answer expected.

A case file is ``cases/<sign>.toml``: ``[[case]]`` tables on top of a healthy ship of the points A
to E and the reference point AIR, read every 20 minutes for 400 rounds, with 1 %LFL everywhere (0
at AIR) and a ripple of 0.1. What a case says replaces that from round 150 on, which is at 50:00
of the log:

``a``         course of point A, shorthand for one entry of ``courses``
``courses``   list of ``{point, values, gas, from, hold}``; ``from`` counts rounds from round 150,
              the point ``all`` is every point, the last value stands for ``hold`` rounds more
``again``     list of ``{point, values, from}``: the point read again at once, before its turn ends
``levels``    steady level by point
``drift``     what all points share, growing from nought to this over the log
``line``      list of ``{point, flow, suction, from, to}``: factors on flow and suction; of a pair
              the first grows into the second
``cooling``   fall of the temperature three hours before [K]
``alarmed``   the point looked at (A); its first alarm or fault counts, ``which`` picks another
``columns``, ``gases``, ``rounds``, ``names``, ``reference`` of the ship; ``operations``,
``events``, ``points``, ``setpoints``, ``findings`` as texts.

``left_out`` at the top of the file names answers that no case shows.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from alarmsift.evidence.windows import Windows
from alarmsift.tables.schema import TABLES
from alarmsift.tables.site import Site
from tests.measured import windows
from tests.ten_rows import SETPOINTS, alarms, at, canonical, history, logs_of

FOLDER = Path(__file__).parent / "cases"
FIRST = 150
CYCLE_MIN = 20.0
RIPPLE = np.array([0.0, 0.1, 0.0, -0.1])
LIMITS = {("HC", "low"): 10.0, ("H2S", "low"): 5.0, ("O2", "low"): 19.5}


@dataclass(frozen=True)
class Case:
    sign: str
    number: int
    given: dict[str, Any]

    @property
    def answer(self) -> str:
        return str(self.given["answer"])

    def __str__(self) -> str:
        return f"{self.sign}-{self.number}-{self.answer.replace(' ', '_')}"


@cache
def all_files() -> dict[str, dict[str, Any]]:
    return {
        path.stem: tomllib.loads(path.read_text(encoding="utf-8"))
        for path in sorted(FOLDER.glob("*.toml"))
    }


def all_cases() -> list[Case]:
    return [
        Case(sign, number, given)
        for sign, content in all_files().items()
        for number, given in enumerate(content["case"])
    ]


def windows_of(case: Case) -> tuple[Windows, int]:
    """Return the windows of a case and the row of the alarm that it is about."""
    given = case.given
    names = tuple(given.get("names", ("A", "B", "C", "D", "E", "AIR")))
    gases = tuple(given.get("gases", ("HC",)))
    rounds = given.get("rounds", 400)
    values = _values(given, names, gases, rounds)
    columns = {name: {} for name in given.get("columns", ())}
    for name in columns:
        columns[name] = {point: np.full(rounds, 8.0) for point in names}
    for line in given.get("line", ()):
        rows = slice(FIRST + line.get("from", 0), FIRST + line.get("to", 60))
        for point in names if line["point"] == "all" else (line["point"],):
            for name in {"flow", "suction"} & set(columns):
                factor = np.atleast_1d(line.get(name, 1.0))
                column = columns[name][point]
                column[rows] *= np.geomspace(factor[0], factor[-1], len(column[rows]))
    if "cooling" in given:
        after = np.arange(rounds) >= FIRST - 9
        columns["temperature"] = {point: 30.0 - given["cooling"] * after for point in names}
    readings = _read_again(history(values, **columns), given, names, gases[0])
    events = given.get("events")
    logs = logs_of(
        {
            "readings": readings,
            "events": alarms(readings, LIMITS) if events is None else events,
            "operations": given.get("operations"),
            "points": given.get("points"),
            "findings": given.get("findings"),
            "setpoints": given.get("setpoints", SETPOINTS),
        },
        Site(reference_point=given.get("reference", "AIR")),
    )
    w = windows(logs)
    mine = np.flatnonzero((w.episode["point"] == given.get("alarmed", "A")).to_numpy())
    return w, int(mine[given.get("which", 0)])


def _values(
    given: dict[str, Any], names: tuple[str, ...], gases: tuple[str, ...], rounds: int
) -> dict[tuple[str, str], np.ndarray]:
    rest = {"HC": 1.0, "H2S": 0.5, "O2": 20.9}
    ramp = given.get("drift", 0.0) * np.arange(rounds) / rounds
    values = {}
    for i, point in enumerate(names):
        for gas in gases:
            level = 0.0 if point == "AIR" and gas != "O2" else rest[gas]
            level = given.get("levels", {}).get(point, level) if gas == gases[0] else level
            ripple = np.resize(np.roll(RIPPLE, i), rounds)
            values[point, gas] = np.round(level + ramp + ripple, 1)
    courses = [*given.get("courses", ())]
    if "a" in given:
        courses.insert(0, {"point": "A", "values": given["a"]})
    for course in courses:
        first = FIRST + course.get("from", 0)
        held = [course["values"][-1]] * course.get("hold", 0)
        part = np.array([*course["values"], *held], float)[: rounds - first]
        for point in names if course["point"] == "all" else (course["point"],):
            values[point, course.get("gas", gases[0])][first : first + len(part)] = part
    return values


def _read_again(
    readings: pd.DataFrame, given: dict[str, Any], names: tuple[str, ...], gas: str
) -> pd.DataFrame:
    """Return the readings with those of points that were read again at once."""
    rows = []
    for again in given.get("again", ()):
        turn = FIRST + again.get("from", 0) + names.index(again["point"]) / len(names)
        between = np.arange(1, len(again["values"]) + 1) / (len(again["values"]) + 1)
        for value, later in zip(again["values"], between, strict=True):
            hours = (turn + later / len(names)) * CYCLE_MIN / 60.0
            row = {"time": at(hours), "point": again["point"], "gas": gas, "value": value}
            rows.append({**row, "status": "ok"})
    if not rows:
        return readings
    looks = readings[["time", "point", "gas", "value", "status"]]
    return canonical(pd.concat([looks, pd.DataFrame(rows)]), TABLES["readings"])
