"""Draws where a detector stands and when it leaves its tolerance if it goes on as it does."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd

from alarmsift.report.axis import Window, hour, hours
from alarmsift.report.canvas import Canvas, Strip
from alarmsift.report.colours import BLUE, INK, RED, SOFT
from alarmsift.report.envelope import envelope
from alarmsift.tables.clock import ShipClock

STRIP_IN = 1.35
BINS = 300
BACK_SHARE = 0.6  # of the picture's past, in lengths of its future
DAY = "%Y-%m-%d"
LEAST_DAYS, MOST_DAYS = 30.0, 365.0  # how far ahead a picture looks [d]
FORESEEN = ("expected", "no_finite_end", "beyond", "passed")


def draw_forecast(
    stands: pd.DataFrame, course: dict[str, pd.DataFrame], *, window: Window, clock: ShipClock
) -> str:
    """Return zero and span, as seen and as foreseen, as SVG; blank where nothing is foreseen.

    Parameters
    ----------
    stands : DataFrame
        DETECTOR_COLUMNS of one detector.
    course : dict
        Kind ("zero", "span") -> frame of ``time`` and ``value``: what was seen of it, in the unit
        of its row in ``stands``.
    window : Window
        The period of the logs.
    clock : ShipClock
        The clock of the logs.
    """
    told = stands[stands["forecast"].isin(FORESEEN) & stands["tolerance"].notna()]
    if not len(told):
        return ""
    ahead = 24.0 * _days_ahead(told, window)
    back = max(window.end - ahead / BACK_SHARE, window.start)
    canvas = Canvas([STRIP_IN] * len(told), Window(back, window.end + ahead), clock)
    for place, row in enumerate(told.itertuples()):
        seen = course.get(str(row.kind), pd.DataFrame({"time": [], "value": []}))
        _draw(canvas, place, row, seen, now=window.end, clock=clock)
    return canvas.svg()


def _days_ahead(told: pd.DataFrame, window: Window) -> float:
    """Return how far the picture must look to hold the days that are foreseen [d]."""
    ends = pd.concat([told["crosses"], told["crosses_low"]]).dropna()
    if not len(ends):
        return LEAST_DAYS
    furthest = max((hour(end) - window.end) / 24.0 for end in ends)
    return float(np.clip(1.4 * furthest, LEAST_DAYS, MOST_DAYS))


def _draw(  # noqa: PLR0913  (one strip, what is in it, and the clock for its words)
    canvas: Canvas, place: int, row: Any, seen: pd.DataFrame, *, now: float, clock: ShipClock
) -> None:
    window, limit = canvas.window, float(row.tolerance)
    time, value = hours(seen["time"]) if len(seen) else np.empty(0), seen["value"].to_numpy(float)
    there = (time >= window.start) & np.isfinite(value)
    time, value = time[there], value[there]
    reach = float(np.nanmax(np.abs([*value, limit, row.level])))
    strip = canvas.strip(place, -1.45 * reach, 1.45 * reach)
    canvas.name(strip, f"{row.kind}\n{row.unit}")
    canvas.scale(strip)
    ends = np.array([window.start, window.end])
    canvas.line(strip, ends, np.zeros(2), color=SOFT, linewidth=0.8)
    for side in (-limit, limit):
        canvas.line(strip, ends, np.full(2, side), color=RED, linestyle=(0, (5, 2)))
    left = window.start + 0.004 * window.length
    canvas.words(strip, left, limit, f"allowed ± {limit:g}", fontsize=7.5, color=RED, va="bottom")
    if row.basis == "readings":
        line = envelope(time, value, bins=BINS, gap=np.inf)
        canvas.line(strip, line.time, line.value, color=BLUE, linewidth=1.0)
    else:
        canvas.line(strip, time, value, color=BLUE, linestyle="", marker="o", markersize=4.0)
    edges = np.array([strip.low, strip.high])
    canvas.line(strip, np.full(2, now), edges, color=SOFT, linestyle=(0, (1, 2)))
    after = now + 0.004 * window.length
    canvas.words(strip, after, strip.high, "end of the logs", fontsize=7.5, va="top")
    canvas.line(strip, np.array([now]), np.array([row.level]), color=INK, marker="D", markersize=4)
    _ahead(canvas, strip, row, now=now, clock=clock)


def _ahead(canvas: Canvas, strip: Strip, row: Any, *, now: float, clock: ShipClock) -> None:
    """Draw the straight way to the tolerance, and the interval of the day on which it is left."""
    window, limit = canvas.window, float(row.tolerance)
    slope = row.slope if np.isfinite(row.slope) and row.slope else row.level
    side = -limit if slope < 0 else limit
    if row.forecast == "passed":
        return
    if pd.notna(row.crosses):
        way = np.array([now, hour(row.crosses)])
        canvas.line(strip, way, np.array([row.level, side]), color=INK, linestyle=(0, (3, 2)))
        canvas.line(strip, way[1:], np.array([side]), color=INK, marker="o", markersize=4.5)
    if pd.isna(row.crosses_low):
        return
    start = max(hour(row.crosses_low), now)
    latest = np.inf if pd.isna(row.crosses_high) else hour(row.crosses_high)
    end = min(latest, window.end)
    beyond = latest > window.end
    canvas.line(strip, np.array([start, end]), np.full(2, side), color=INK, linewidth=3.0)
    canvas.line(strip, np.array([start]), np.array([side]), color=INK, marker="|", markersize=10)
    last = ">" if beyond else "|"
    canvas.line(strip, np.array([end]), np.array([side]), color=INK, marker=last, markersize=8)
    share = f"{row.confidence:.0%} interval"
    if beyond:
        told = "no latest day can be told"
        share += f", {told}" if latest == np.inf else f", to {clock.show(row.crosses_high, DAY)}"
    under = side < 0
    canvas.words(
        strip, start, side - 0.08 * limit if under else side + 0.08 * limit, share,
        fontsize=7.5, va="top" if under else "bottom",
    )  # fmt: skip
