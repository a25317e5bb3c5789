"""Tables small enough to check by eye, and short histories of a healthy ship to spoil."""

from __future__ import annotations

import shlex
from collections.abc import Mapping
from functools import cache

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


@cache
def _told(name: str, text: str | None) -> pd.DataFrame:
    """Return a table from its text, an empty one for None; shared, so only to be read."""
    return conform(pd.DataFrame(), TABLES[name]) if text is None else table(name, text)


def logs_of(tables: Mapping[str, pd.DataFrame | str], site: Site | None = None) -> Logs:
    """Return logs; a table is a canonical frame or a text as :func:`table` takes it."""
    parts = {}
    for name in TABLES:
        given = tables.get(name)
        parts[name] = _told(name, given) if given is None or isinstance(given, str) else given
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
    points, gases = (list(dict.fromkeys(names)) for names in zip(*values, strict=True))
    length = [len(series) for series in values.values()]
    point, gas = (
        np.repeat([names.index(key[part]) for key in values], length)
        for part, names in enumerate((points, gases))
    )
    rounds = np.concatenate([np.arange(rows) for rows in length])
    seconds = np.round((rounds + point / len(points)) * cycle_min * 60.0)
    value = np.concatenate([np.asarray(series, float) for series in values.values()])
    order = np.lexsort((np.array(gases)[gas], seconds))
    order = order[~np.isnan(value[order])]
    told = {
        name: np.concatenate([by_point[key[0]] for key in values])
        for name, by_point in columns.items()
    }
    frame = pd.DataFrame(
        {
            "time": START + pd.to_timedelta(seconds[order], unit="s"),
            "point": _labels(point[order], points),
            "gas": _labels(gas[order], gases),
            "value": value[order],
            "status": _labels(np.zeros(len(order), int), ["ok"]),
            **{name: column[order] for name, column in told.items()},
        }
    )
    return canonical(frame, TABLES["readings"])


def _labels(codes: np.ndarray, names: list[str]) -> pd.Categorical:
    """Return words as a table holds them: categories in order of the alphabet, none unused."""
    rank = np.argsort(np.argsort(names))
    words = pd.Categorical.from_codes(rank[codes], pd.Index(sorted(names), dtype="str"))
    return words.remove_unused_categories()


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
    series = readings.groupby(["point", "gas"], observed=True).ngroup().to_numpy()
    rows = np.argsort(series, kind="stable")
    rows = rows[series[rows] >= 0]
    series, gas = series[rows], readings["gas"].to_numpy(object)[rows]
    value = readings["value"].to_numpy(float)[rows]
    first = np.append(True, series[1:] != series[:-1])[: len(rows)]
    hits = []
    for number, ((of, level), limit) in enumerate(limits.items()):
        over = (gas == of) & ((value <= limit) if of == "O2" else (value >= limit))
        before = np.append(False, over[:-1])[: len(rows)] & ~first
        for turn, (state, edge) in enumerate(
            {"raised": over & ~before, "cleared": before & ~over}.items()
        ):
            at_edge = np.flatnonzero(edge)
            hits += [(series[i], number, turn, i, level, state) for i in at_edge]
    hits.sort(key=lambda hit: hit[:4])
    which = np.array([hit[3] for hit in hits], int)
    frame = pd.DataFrame(
        {
            "time": readings["time"].iloc[rows[which]].array,
            "point": readings["point"].to_numpy(object)[rows[which]],
            "gas": gas[which],
            "event": "alarm",
            "level": [hit[4] for hit in hits],
            "state": [hit[5] for hit in hits],
            "value": value[which],
        }
    )
    return canonical(frame, TABLES["events"])
