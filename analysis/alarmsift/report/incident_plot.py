"""The picture of an incident: readings of points that alarmed and what was done, on one axis."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from alarmsift.report.axis import Window, hour, hours
from alarmsift.report.canvas import Canvas, Strip
from alarmsift.report.colours import AMBER, BLUE, GREEN, INK, RED, SOFT
from alarmsift.report.inline import inline_svg
from alarmsift.report.words import REASONS
from alarmsift.tables.incident import Incident

MOST_TRACES = 6
MOST_ROWS = 14
# Limits nearer together than this share of a strip would have their names printed over each other.
CLOSE = 0.12
TRACE_IN, ROW_IN = 0.95, 0.19
Act = tuple[str, tuple[str, ...], str, str]
# Rows of what was done: name, kinds of the timeline, mark, colour.
ACTS: tuple[Act, ...] = (
    ("raised", ("alarm", "fault"), "^", RED),
    ("cleared, reset", ("alarm", "fault"), "v", SOFT),
    ("acknowledged", ("acknowledgement",), "o", BLUE),
    ("line off, on", ("disconnection",), "s", INK),
    ("operations", ("operation", "clock", "finding"), "d", AMBER),
    ("calibration", ("calibration",), "P", GREEN),
)


@dataclass(frozen=True)
class Trace:
    """Readings of one gas at one point: hours [h since 1970 UTC] and values, shape (n,)."""

    point: str
    gas: str
    time: np.ndarray
    value: np.ndarray


def incident_svg(incident: Incident) -> tuple[str, str]:
    """Return the picture as a file of its own, and as it stands in a page."""
    start = hour(incident.asked.start)
    window = Window(start, max(hour(incident.asked.end), start + 1 / 60))
    shown = traces(incident)
    line = incident.timeline
    acts = [act for act in ACTS if _of_act(line, act).any()] or [ACTS[0]]
    off = _unwatched_points(incident)
    heights = [TRACE_IN] * len(shown) + [ROW_IN * len(acts)]
    heights += [ROW_IN * len(off)] if off else []
    canvas = Canvas(heights, window, incident.clock, top=0.3)
    for place, trace in enumerate(shown):
        _draw_trace(canvas, place, trace, incident)
    _draw_acts(canvas, len(shown), acts, incident)
    if off:
        _draw_unwatched(canvas, len(shown) + 1, off, incident)
    svg = canvas.svg()
    return svg, inline_svg(svg, "story")


def _of_act(line: pd.DataFrame, act: Act) -> pd.Series:
    """Tell which rows of the timeline belong to a row of the picture."""
    mine, raised = line["kind"].isin(act[1]), line["what"].str.contains(" raised")
    if "alarm" not in act[1]:
        return mine
    return mine & (raised if act[0] == "raised" else ~raised)


def traces(incident: Incident) -> list[Trace]:
    """Return the readings to draw, in order of their first alarm.

    Where there is no room for all, those with more levels in alarm go first, then more alarms.
    """
    readings = incident.rows["readings"]
    readings = readings.assign(**{c: readings[c].astype(object) for c in ("point", "gas")})
    verdicts = incident.verdicts
    alarmed = verdicts[verdicts["kind"] == "alarm"].drop_duplicates(["point", "gas"])
    wanted = [(str(point), str(gas)) for point, gas in alarmed[["point", "gas"]].to_numpy(object)]
    by = verdicts[verdicts["kind"] == "alarm"].groupby(["point", "gas"])["level"]
    weight = {pair: (levels.nunique(), len(levels)) for pair, levels in by}
    kept = sorted(wanted, key=lambda pair: weight[pair], reverse=True)[:MOST_TRACES]
    wanted = [pair for pair in wanted if pair in kept]
    top = readings[readings["value"].notna()].groupby(["gas", "point"])["value"].max()
    top = top.sort_values(ascending=False, kind="stable")
    wanted += [(point, gas) for gas, point in top.index if (point, gas) not in wanted][:1]
    out = []
    for point, gas in wanted[:MOST_TRACES]:
        mine = readings[(readings["point"] == point) & (readings["gas"] == gas)]
        out.append(Trace(point, gas, hours(mine["time"]), mine["value"].to_numpy(float)))
    return out


def left_undrawn(incident: Incident) -> int:
    """Return how many points and gases alarmed for which the picture has no room."""
    verdicts = incident.verdicts
    alarmed = verdicts[verdicts["kind"] == "alarm"].drop_duplicates(["point", "gas"])
    return max(len(alarmed) - MOST_TRACES, 0)


def _draw_trace(canvas: Canvas, place: int, trace: Trace, incident: Incident) -> None:
    limits = incident.limits
    limits = limits[(limits["point"] == trace.point) & (limits["gas"] == trace.gas)]
    shown = np.concatenate([trace.value[np.isfinite(trace.value)], limits["value"].to_numpy(float)])
    if not (trace.gas == "O2" and shown.size):
        shown = np.append(shown, 0.0)
    low, high = float(shown.min()), float(shown.max())
    pad = 0.08 * ((high - low) or 1.0)
    strip = canvas.strip(place, low - pad, high + 2.4 * pad)
    canvas.name(strip, trace.gas)
    canvas.scale(strip)
    _draw_limits(canvas, strip, limits)
    marker = "o" if trace.time.size <= 300 else ""
    canvas.line(strip, trace.time, trace.value, color=BLUE, marker=marker, markersize=2.2)
    _draw_alarms(canvas, strip, trace, incident)
    left = canvas.window.start + 0.006 * canvas.window.length
    canvas.words(strip, left, strip.high, trace.point, fontsize=8, bold=True, va="top")


def _draw_limits(canvas: Canvas, strip: Strip, limits: pd.DataFrame) -> None:
    window = canvas.window
    start = np.fmax(hours(limits["start"]), window.start)
    end = np.fmin(hours(limits["end"]), window.end)
    values = limits["value"].to_numpy(float)
    for k, row in enumerate(limits.itertuples()):
        # Names of limits that lie close together part upwards and downwards.
        near = (np.abs(values - row.value) < CLOSE * (strip.high - strip.low)) & (
            values != row.value
        )
        part = "center_baseline"
        if near.any():
            part = "bottom" if row.value > values[near].max() else "top"
        span = np.array([start[k], end[k]])
        if span[1] <= span[0]:
            continue
        canvas.line(
            strip, span, np.full(2, row.value), color=RED, linewidth=0.8, linestyle=(0, (5, 2))
        )
        canvas.words(
            strip,
            window.end,
            row.value,
            f" {row.level}",
            color=RED,
            fontsize=6.5,
            va=part,
        )


def _draw_alarms(canvas: Canvas, strip: Strip, trace: Trace, incident: Incident) -> None:
    """Mark on the trace when this point's alarms were raised."""
    line = incident.timeline
    mine = line[
        (line["point"] == trace.point)
        & (line["gas"] == trace.gas)
        & (line["kind"] == "alarm")
        & line["what"].str.contains(" raised")
        & (line["time"] >= incident.asked.start)
    ]
    for time in hours(mine["time"]):
        canvas.line(
            strip,
            np.array([time, time]),
            np.array([strip.low, strip.high]),
            color=RED,
            linewidth=0.9,
            alpha=0.55,
        )


def _draw_acts(
    canvas: Canvas,
    place: int,
    acts: list[Act],
    incident: Incident,
) -> None:
    strip = canvas.rows(place, [name for name, *_ in acts])
    line = incident.timeline[incident.timeline["time"] >= incident.asked.start]
    for row, act in enumerate(acts):
        _, _, marker, color = act
        time = hours(line.loc[_of_act(line, act), "time"])
        canvas.line(
            strip,
            time,
            np.full(time.size, float(row)),
            linestyle="",
            marker=marker,
            markersize=4.5,
            color=color,
        )


def _unwatched_points(incident: Incident) -> list[str]:
    there = set(incident.coverage["point"].astype(object))
    return [str(p) for p in incident.points["point"] if p in there][:MOST_ROWS]


def _draw_unwatched(canvas: Canvas, place: int, points: list[str], incident: Incident) -> None:
    strip = canvas.rows(place, points)
    window, gaps = canvas.window, incident.coverage
    for row, point in enumerate(points):
        mine = gaps[gaps["point"] == point]
        start = np.clip(hours(mine["start"]), window.start, window.end)
        end = np.fmin(np.nan_to_num(hours(mine["end"]), nan=np.inf), window.end)
        canvas.bars(
            strip, row, start, end, facecolors="#e3e8ec", edgecolors=SOFT, linewidths=0.6,
            hatch="////",
        )  # fmt: skip
        for k, reason in enumerate(mine["reason"].astype(str)):
            if end[k] - start[k] > 0.12 * window.length:
                canvas.words(
                    strip,
                    (start[k] + end[k]) / 2,
                    row,
                    f"not watched: {REASONS.get(reason, (reason,))[0]}",
                    fontsize=6.5,
                    ha="center",
                    va="center_baseline",
                    paper=True,
                )
