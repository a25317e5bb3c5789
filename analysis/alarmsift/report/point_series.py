"""Gathers what one point's plots show: plain arrays in hours, taken from the frames as they are."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import pandas as pd

from alarmsift.report.axis import Window, hours, window_of
from alarmsift.tables.clock import ShipClock
from alarmsift.tables.diagnosis import Diagnosis
from alarmsift.tables.labels import text_of
from alarmsift.tables.schema import GAS_UNITS

# Which row of the operations panel an action stands in.
ROW_OF_ACTION: dict[str, str] = {
    "disconnect": "line",
    "reconnect": "line",
    "purge": "line",
    "resample": "line",
    "zero_check": "calibration",
    "zero_adjust": "calibration",
    "span_check": "calibration",
    "span_adjust": "calibration",
    "setpoint": "calibration",
    "ballast_fill_start": "ballast",
    "ballast_fill_end": "ballast",
    "ballast_discharge_start": "ballast",
    "ballast_discharge_end": "ballast",
    "ventilation_on": "ventilation",
    "ventilation_off": "ventilation",
    "cargo_start": "cargo",
    "cargo_end": "cargo",
    "restart": "system",
    "maintenance": "system",
}
# Actions that begin a span, and what ends it: (begin, end, row, word).
SPANS: tuple[tuple[str, str, str, str], ...] = (
    ("disconnect", "reconnect", "line", "line off"),
    ("ballast_fill_start", "ballast_fill_end", "ballast", "filling"),
    ("ballast_discharge_start", "ballast_discharge_end", "ballast", "discharge"),
    ("ventilation_on", "ventilation_off", "ventilation", "on"),
    ("cargo_start", "cargo_end", "cargo", "cargo work"),
)


@dataclass(frozen=True)
class GasTrace:
    """One gas at one point: ``time`` [h], ``value`` [``unit``], shape (n,); status ``odd`` beside.

    ``over`` and ``odd`` are times [h] of visits over range, and of other visits that are not ok.
    """

    gas: str
    unit: str
    time: np.ndarray
    value: np.ndarray
    over: np.ndarray
    odd: np.ndarray


@dataclass(frozen=True)
class Bars:
    """Spans in rows: ``start``, ``end`` [h], ``row``, ``kind`` and ``grave`` (bool), shape (n,)."""

    start: np.ndarray
    end: np.ndarray
    row: np.ndarray
    kind: np.ndarray
    grave: np.ndarray


@dataclass(frozen=True)
class Ticks:
    """Moments in rows: ``time`` [h], ``row``, ``word``, shape (n,)."""

    time: np.ndarray
    row: np.ndarray
    word: np.ndarray


@dataclass(frozen=True)
class Limit:
    """A setpoint in force: ``value`` in the gas's unit, from ``start`` to ``end`` [h].

    ``falling`` where the alarm comes at or under the value, as of oxygen.
    """

    gas: str
    level: str
    value: float
    start: float
    end: float
    falling: bool = False


@dataclass(frozen=True)
class PointSeries:
    """All that the plots of one point show; ``lines`` and ``climate`` are (label, time, value)."""

    point: str
    window: Window
    clock: ShipClock
    gap: float
    gases: tuple[GasTrace, ...]
    limits: tuple[Limit, ...]
    alarms: Bars
    unwatched: Bars
    work: Bars
    ticks: Ticks
    lines: tuple[tuple[str, np.ndarray, np.ndarray], ...] = field(default=())
    climate: tuple[tuple[str, np.ndarray, np.ndarray], ...] = field(default=())


def whole_window(diagnosis: Diagnosis) -> Window:
    """Return the window from the first to the last row of visits and events."""
    times = [diagnosis.visits["time"], diagnosis.logs.events["time"], diagnosis.episodes["raised"]]
    filled = [pd.to_datetime(one, utc=True) for one in times if len(one)]
    return window_of(pd.concat(filled)) if filled else Window(0.0, 1.0)


def point_series(
    diagnosis: Diagnosis,
    point: str,
    *,
    visits: pd.DataFrame,
    readings: pd.DataFrame,
    window: Window,
) -> PointSeries:
    """Return what the plots of one point show.

    Parameters
    ----------
    diagnosis : Diagnosis
        Where it all comes from.
    point : str
        Name of the point.
    visits, readings : DataFrame
        The rows of this point in ``diagnosis.visits`` and ``diagnosis.logs.readings``.
    window : Window
        The period of the logs.
    """
    time = hours(visits["time"])
    episodes = diagnosis.episodes[diagnosis.episodes["point"] == point]
    coverage = diagnosis.coverage[diagnosis.coverage["point"] == point]
    setpoints = diagnosis.setpoints[diagnosis.setpoints["point"] == point]
    work, ticks = _operations(diagnosis.logs.operations, point, window)
    return PointSeries(
        point=point,
        window=window,
        clock=diagnosis.logs.clock,
        gap=max(diagnosis.logs.site.cycle_limit_min, 3.0 * _or_zero(diagnosis.cycle_minutes)) / 60,
        gases=tuple(_traces(visits, time)),
        limits=tuple(_limits(setpoints, window)),
        alarms=_alarms(episodes, window),
        unwatched=_unwatched(coverage, window),
        work=work,
        ticks=ticks,
        lines=_columns(visits, time, {"conductance": "line health", "flow_share": "flow share"}),
        climate=_columns(
            readings,
            hours(readings["time"]) if len(readings) else np.empty(0),
            {"temperature": "temperature [°C]"},
        ),
    )


def _or_zero(number: float) -> float:
    return number if np.isfinite(number) else 0.0


def _traces(visits: pd.DataFrame, time: np.ndarray) -> list[GasTrace]:
    out = []
    for gas, unit in GAS_UNITS.items():
        if gas not in visits or not visits[gas].notna().any():
            continue
        value = visits[gas].to_numpy(dtype=float)
        status = _statuses(visits, gas)
        good = np.isin(status, ("ok", "", "nan", "over_range", "under_range"))
        over = status == "over_range"
        out.append(
            GasTrace(
                gas,
                unit,
                time,
                np.where(good, value, np.nan),
                time[over],
                time[np.isin(status, ("fault", "test"))],
            )
        )
    return out


def _statuses(visits: pd.DataFrame, gas: str) -> np.ndarray:
    if f"{gas}_status" not in visits:
        return np.full(len(visits), "ok", dtype=object)
    return visits[f"{gas}_status"].astype("object").fillna("").to_numpy(dtype=object)


def _columns(
    frame: pd.DataFrame, time: np.ndarray, labels: dict[str, str]
) -> tuple[tuple[str, np.ndarray, np.ndarray], ...]:
    return tuple(
        (label, time, frame[name].to_numpy(dtype=float))
        for name, label in labels.items()
        if name in frame and frame[name].notna().any()
    )


def _limits(setpoints: pd.DataFrame, window: Window) -> list[Limit]:
    start = np.nan_to_num(hours(setpoints["start"]), nan=window.start)
    end = np.nan_to_num(hours(setpoints["end"]), nan=window.end)
    return [
        Limit(str(gas), str(level), float(value), a, b, direction == "falling")
        for gas, level, value, a, b, direction in zip(
            setpoints["gas"],
            setpoints["level"],
            setpoints["value"],
            start,
            end,
            setpoints["direction"],
            strict=True,
        )
    ]


def shown_row(episodes: pd.DataFrame) -> np.ndarray:
    """Return the row that each episode is drawn in: gas and level, or faults, shape (n,)."""
    gas = episodes["gas"].astype("object").fillna("").astype(str)
    row = (gas + " " + text_of(episodes["level"])).str.strip()
    row = row.where((episodes["kind"] != "fault").to_numpy(), "faults")
    return row.to_numpy(dtype=object)


def _alarms(episodes: pd.DataFrame, window: Window) -> Bars:
    end = np.nan_to_num(hours(episodes["cleared"]), nan=window.end)
    return Bars(
        hours(episodes["raised"]),
        end,
        shown_row(episodes),
        episodes["cause"].astype("object").fillna("undetermined").to_numpy(dtype=object),
        episodes["treat_as"].isin(["gas", "unresolved"]).to_numpy(dtype=bool),
    )


def _unwatched(coverage: pd.DataFrame, window: Window) -> Bars:
    count = len(coverage)
    return Bars(
        hours(coverage["start"]),
        np.nan_to_num(hours(coverage["end"]), nan=window.end),
        np.full(count, "unwatched", dtype=object),
        coverage["reason"].astype("object").to_numpy(dtype=object),
        np.zeros(count, dtype=bool),
    )


def _operations(operations: pd.DataFrame, point: str, window: Window) -> tuple[Bars, Ticks]:
    named = operations["point"].astype("object")
    mine = operations[(named == point).to_numpy() | named.isna().to_numpy() | (named == "")]
    action = mine["action"].astype("object").to_numpy(dtype=object)
    time = hours(mine["time"])
    bars = [_pairs(time, action, span, window) for span in SPANS]
    spans = Bars(*(np.concatenate([bar[k] for bar in bars]) for k in range(5)))
    paired = {name for span in SPANS for name in span[:2]}
    row = np.array([ROW_OF_ACTION.get(str(name), "") for name in action], dtype=object)
    alone = np.array([bool(r) and a not in paired for r, a in zip(row, action, strict=True)], bool)
    word = np.array([str(name).replace("_", " ") for name in action], dtype=object)
    return spans, Ticks(time[alone], row[alone], word[alone])


def _pairs(
    time: np.ndarray, action: np.ndarray, span: tuple[str, str, str, str], window: Window
) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Return spans from each beginning to the next end; without an end, to the window's end."""
    begin, finish, row, word = span
    start, stop = time[action == begin], time[action == finish]
    place = np.searchsorted(stop, start, "left")
    end = np.append(stop, window.end)[place]
    count = start.size
    return (
        start,
        end,
        np.full(count, row, dtype=object),
        np.full(count, word, dtype=object),
        np.zeros(count, dtype=bool),
    )
