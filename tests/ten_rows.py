"""Tables small enough to check by eye, and short histories of a healthy ship to spoil."""

from __future__ import annotations

import shlex
from collections.abc import Mapping

import numpy as np
import pandas as pd

from alarmsift.tables.logs import FILE_COLUMNS, REJECTED_COLUMNS, Ledger, Logs
from alarmsift.tables.schema import TABLES, TIME_DTYPE, Table, conform
from alarmsift.tables.site import Site

START = pd.Timestamp("2026-03-01T00:00:00Z")


def at(clock: str | float) -> pd.Timestamp:
    """Return a time of the log: ``"2:30"``, ``"26:10:05"`` (hours run on) or hours."""
    if not isinstance(clock, str):
        return (START + pd.Timedelta(hours=float(clock))).round("us")
    hours, minutes, *seconds = clock.split(":")
    return START + pd.Timedelta(
        hours=int(hours), minutes=int(minutes), seconds=float(seconds[0]) if seconds else 0.0
    )


def table(name: str, text: str) -> pd.DataFrame:
    """Return a canonical table from text: a header line, a row a line, ``-`` for blank."""
    header, *rows = [shlex.split(line) for line in text.strip().splitlines() if line.strip()]
    columns = {
        key: [None if row[i] == "-" else row[i] for row in rows] for i, key in enumerate(header)
    }
    return of_columns(name, columns)


def of_columns(name: str, columns: Mapping[str, object]) -> pd.DataFrame:
    frame = pd.DataFrame(dict(columns))
    if "time" in frame and frame["time"].dtype != TIME_DTYPE:
        frame["time"] = pd.to_datetime([at(clock) for clock in frame["time"]], utc=True)
    return canonical(frame, TABLES[name])


def canonical(frame: pd.DataFrame, layout: Table) -> pd.DataFrame:
    """Return the frame as reading hands it over: in its kinds, in order of time."""
    frame = conform(frame, layout)
    return frame.sort_values("time", kind="stable", ignore_index=True) if "time" in frame else frame


def logs_of(tables: Mapping[str, pd.DataFrame | str], site: Site | None = None) -> Logs:
    """Return logs; a table is a canonical frame or a text as :func:`table` takes it."""
    parts = {}
    for name, layout in TABLES.items():
        given = tables.get(name)
        if isinstance(given, str):
            given = table(name, given)
        parts[name] = conform(pd.DataFrame(), layout) if given is None else given
    ledger = Ledger(
        files=pd.DataFrame(columns=FILE_COLUMNS),
        rejected=pd.DataFrame(columns=REJECTED_COLUMNS),
        conflicts=pd.DataFrame(columns=REJECTED_COLUMNS),
    )
    return Logs(**parts, ledger=ledger, site=Site() if site is None else site)


def history(
    values: Mapping[tuple[str, str], np.ndarray],
    *,
    cycle_min: float = 20.0,
    **columns: Mapping[str, np.ndarray],
) -> pd.DataFrame:
    """Return readings of rounds: a point a turn, one row a gas.

    Parameters
    ----------
    values : dict of (point, gas) -> ndarray, shape (rounds,)
        NaN = no row.
    cycle_min : float
        Length of a round [min].
    columns : dict of point -> ndarray, shape (rounds,)
        ``flow``, ``suction``, ``temperature`` by point.
    """
    points = list(dict.fromkeys(point for point, _ in values))
    parts = []
    for (point, gas), series in values.items():
        turn = points.index(point) / len(points)
        rounds = np.arange(len(series))
        seconds = np.round((rounds + turn) * cycle_min * 60.0)
        part = pd.DataFrame(
            {
                "time": START + pd.to_timedelta(seconds, unit="s"),
                "point": point,
                "gas": gas,
                "value": np.asarray(series, float),
                "status": "ok",
            }
        )
        for name, by_point in columns.items():
            part[name] = by_point[point]
        parts.append(part[part["value"].notna()])
    frame = pd.concat(parts, ignore_index=True)
    order = np.lexsort((frame["gas"], frame["time"]))
    return canonical(frame.iloc[order], TABLES["readings"])


def quiet(
    points: tuple[str, ...],
    rounds: int,
    *,
    gases: tuple[str, ...] = ("HC",),
    noise: float = 0.2,
    background: float = 1.0,
    step: float = 0.1,
    seed: int = 1,
) -> dict[tuple[str, str], np.ndarray]:
    """Return a healthy history: a small background and noise, rounded to the display."""
    rng = np.random.default_rng(seed)
    nominal = {"O2": 20.9}
    return {
        (point, gas): np.round(
            (nominal.get(gas, background) + noise * rng.standard_normal(rounds)) / step
        )
        * step
        for point in points
        for gas in gases
    }


SETPOINTS = """
gas level value deadband
HC  low   10    1
HC  high  30    1
H2S low   5     0.5
O2  low   19.5  0.2
"""


def alarms(readings: pd.DataFrame, limits: Mapping[tuple[str, str], float]) -> pd.DataFrame:
    """Return the alarm list that such readings raise, by a plain rule with no deadband.

    Parameters
    ----------
    limits : dict of (gas, level) -> setpoint
        Oxygen alarms fall, the others rise.
    """
    rows = []
    for (point, gas), mine in readings.groupby(["point", "gas"], observed=True):
        for (of, level), limit in limits.items():
            if of != gas:
                continue
            over = (mine["value"] <= limit) if gas == "O2" else (mine["value"] >= limit)
            edge = over.astype(int).diff().fillna(over.astype(int))
            for sign, state in ((1, "raised"), (-1, "cleared")):
                hit = mine[edge == sign]
                rows.append(
                    pd.DataFrame(
                        {
                            "time": hit["time"],
                            "point": point,
                            "gas": gas,
                            "event": "alarm",
                            "level": level,
                            "state": state,
                            "value": hit["value"],
                        }
                    )
                )
    frame = pd.concat(rows, ignore_index=True)
    return canonical(frame, TABLES["events"])
