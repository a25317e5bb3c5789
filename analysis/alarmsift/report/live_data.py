"""What the moving plot of a point's page carries: every visit, and all that stands beside it."""

from __future__ import annotations

import json
from typing import Any

import numpy as np
import pandas as pd

from alarmsift.report.axis import Window, hours
from alarmsift.report.figures import text
from alarmsift.report.packing import pack, pack_times, runs, step_of
from alarmsift.report.point_series import PointSeries, shown_row
from alarmsift.report.words import CAUSES, REASONS, TREAT_AS, cause_look
from alarmsift.tables.clock import ShipClock
from alarmsift.tables.diagnosis import Diagnosis
from alarmsift.tables.schema import GAS_UNITS

HEALTH_STEP = 0.01
SHOWN = ("ok", "", "nan")
_QUARTER_H = 0.25  # no zone changes its clock but on a quarter of an hour


def clock_steps(clock: ShipClock, window: Window) -> list[tuple[int, int]]:
    """Return (second since 1970 UTC, minutes ahead of UTC) from which each offset holds.

    Parameters
    ----------
    clock : ShipClock
        The clock of the logs.
    window : Window
        The period of the logs; the first pair holds from before it.
    """
    places = np.arange(np.floor(window.start) - 48, window.end + 48, _QUARTER_H)
    moves = hours(pd.Series([time for time, _ in clock.changes], dtype="datetime64[us, UTC]"))
    places = np.unique(np.concatenate([places, moves]))
    utc = pd.Series(pd.to_datetime(np.rint(places * 3600.0), unit="s", utc=True).as_unit("us"))
    ahead = (clock.to_ship(utc) - utc.dt.tz_localize(None)).dt.total_seconds() / 60.0
    offset = np.rint(ahead.to_numpy(float)).astype(int)
    first = np.flatnonzero(np.append(True, np.diff(offset) != 0))
    return [(round(float(places[k]) * 3600), int(offset[k])) for k in first]


def live_data(
    diagnosis: Diagnosis,
    series: PointSeries,
    visits: pd.DataFrame,
    *,
    steps: list[tuple[int, int]],
) -> str:
    """Return what a point's plot carries, as JSON that can stand in a page; blank without visits.

    Parameters
    ----------
    diagnosis : Diagnosis
        Where it all comes from.
    series : PointSeries
        What the still pictures of the point show.
    visits : DataFrame
        The rows of this point in ``diagnosis.visits``.
    steps : list of (int, int)
        What :func:`clock_steps` gave.
    """
    if not len(visits):
        return ""
    seconds = np.rint(hours(visits["time"]) * 3600.0)
    start = int(seconds[0])
    data: dict[str, Any] = {
        "window": [_second(series.window.start), _second(series.window.end)],
        "clock": steps,
        "gap": round(series.gap * 3600),
        "visits": len(visits),
        "start": start,
        "time": pack_times(seconds - start),
        "gases": [_gas(visits, gas, series) for gas in _gases(visits)],
        "line": _line(visits),
        "alarms": _alarms(diagnosis, series),
        "unwatched": [
            [_second(a), _second(b), *REASONS.get(str(reason), (str(reason), "", "idle"))[::2]]
            for a, b, reason in zip(
                series.unwatched.start, series.unwatched.end, series.unwatched.kind, strict=True
            )
        ],
        "work": [
            [_second(a), _second(b), row, word]
            for a, b, row, word in zip(
                series.work.start, series.work.end, series.work.row, series.work.kind, strict=True
            )
        ],
        "acts": [
            [_second(time), row, word]
            for time, row, word in zip(
                series.ticks.time, series.ticks.row, series.ticks.word, strict=True
            )
        ],
    }
    used = {row[3] for row in data["alarms"]}
    data["causes"] = {
        key: [cause_look(key).word, look.letter, look.colour, look.ink]
        for key, look in ((key, cause_look(key)) for key in [*CAUSES, *sorted(used - set(CAUSES))])
        if key in used
    }
    return fit_for_page(data)


def fit_for_page(data: dict[str, Any]) -> str:
    r"""Return JSON in which no character can end or open a tag.

    Examples
    --------
    >>> print(fit_for_page({"a": "</b>&"}))
    {"a":"\u003c/b\u003e\u0026"}
    """
    words = json.dumps(data, ensure_ascii=True, separators=(",", ":"), allow_nan=False)
    for sign in "<>&":
        words = words.replace(sign, f"\\u{ord(sign):04x}")
    return words


def _second(hour: float) -> int:
    return round(float(hour) * 3600)


def _gases(visits: pd.DataFrame) -> list[str]:
    return [gas for gas in GAS_UNITS if gas in visits and visits[gas].notna().any()]


def _gas(visits: pd.DataFrame, gas: str, series: PointSeries) -> dict[str, Any]:
    value, name = visits[gas].to_numpy(float), f"{gas}_status"
    status = np.full(len(visits), "ok", dtype=object)
    if name in visits:
        status = visits[name].astype("object").fillna("").to_numpy(dtype=object)
    step = step_of(value)
    return {
        "gas": gas,
        "unit": GAS_UNITS[gas],
        "step": step,
        "value": pack(value, step=step),
        "status": runs(status, but=SHOWN),
        "limits": [
            [limit.level, limit.value, _second(limit.start), _second(limit.end), int(limit.falling)]
            for limit in series.limits
            if limit.gas == gas
        ],
    }


def _line(visits: pd.DataFrame) -> list[dict[str, Any]]:
    """Return flow, suction and line health, each where it was logged."""
    out = []
    for column, label, unit in (
        ("flow", "flow", "L/min"),
        ("suction", "suction", "kPa"),
        ("conductance", "line health", ""),
    ):
        if column not in visits or not visits[column].notna().any():
            continue
        value = visits[column].to_numpy(float)
        step = HEALTH_STEP if column == "conductance" else max(step_of(value), HEALTH_STEP)
        out.append({"label": label, "unit": unit, "step": step, "value": pack(value, step=step)})
    return out


def _alarms(diagnosis: Diagnosis, series: PointSeries) -> list[list[object]]:
    """Return start, end, row, cause, grave, name, how to treat and whether it is open, of each.

    The name is the episode's key and what was raised.
    """
    mine = diagnosis.episodes[diagnosis.episodes["point"] == series.point]
    bars = series.alarms
    treats = [TREAT_AS.get(str(key), (str(key), "", ""))[0] for key in mine["treat_as"]]
    return [
        [_second(a), _second(b), row, str(cause), int(grave), name, treat, int(is_open)]
        for a, b, row, cause, grave, name, treat, is_open in zip(
            bars.start,
            bars.end,
            shown_row(mine),
            bars.kind,
            bars.grave,
            [f"{text(a)} {b}" for a, b in zip(mine["episode"], _what(mine), strict=True)],
            treats,
            mine["cleared"].isna(),
            strict=True,
        )
    ]


def _what(episodes: pd.DataFrame) -> list[str]:
    """Return gas and level of each alarm, or the name of each fault."""
    names = zip(episodes["gas"], episodes["level"], strict=True)
    return [f"{text(gas)} {text(level)}".strip() for gas, level in names]
