"""Draws one point on one time axis: readings, alarms, watch, work, line health, temperature."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from alarmsift.report.axis import Window
from alarmsift.report.bars import draw_alarms, draw_work, inside, row_names, work_names
from alarmsift.report.canvas import Canvas, Strip
from alarmsift.report.colours import AMBER, BLUE, GREEN, RED, SOFT
from alarmsift.report.envelope import envelope, merge_spans
from alarmsift.report.point_series import GasTrace, Limit, PointSeries

GAS_IN, ROW_IN, LINE_IN, CLIMATE_IN = 1.25, 0.17, 0.85, 0.55
BINS = 300  # two values a bin: about one a point [1/72 inch] of width
DOTS_UP_TO = 220  # single visits are drawn as dots up to this many
SAME_SHARE = 0.0025  # spans nearer than this share of the window can't be told apart
OXYGEN_FROM = 10.0  # readings that never come under this don't need the zero line
TINTS = ((False, "#eef1d9"), (True, "#f6dcd8"))

Draw = Callable[[Canvas, int], None]


def draw_point(series: PointSeries, window: Window) -> str:
    """Return the picture of one point over one window as SVG.

    Parameters
    ----------
    series : PointSeries
        What there is to draw.
    window : Window
        The span of time to show.
    """
    strips = _strips(series, window)
    canvas = Canvas([height for height, _ in strips], window, series.clock)
    for place, (_, draw) in enumerate(strips):
        draw(canvas, place)
    return canvas.svg()


def _strips(series: PointSeries, window: Window) -> list[tuple[float, Draw]]:
    """Return (height [inch], what draws it) of every strip, from the top down."""
    strips: list[tuple[float, Draw]] = [(GAS_IN, _gas_drawer(one, series)) for one in series.gases]
    rows = row_names(series, window)
    strips.append((ROW_IN * len(rows) + 0.06, lambda c, k: draw_alarms(c, k, series, rows=rows)))
    work = work_names(series, window)
    if work:
        strips.append((ROW_IN * len(work) + 0.06, lambda c, k: draw_work(c, k, series, rows=work)))
    if series.lines:
        strips.append((LINE_IN, lambda c, k: _draw_lines(c, k, series)))
    if series.climate:
        strips.append((CLIMATE_IN, lambda c, k: _draw_climate(c, k, series)))
    return strips


def _gas_drawer(trace: GasTrace, series: PointSeries) -> Draw:
    return lambda canvas, place: _draw_gas(canvas, place, trace, series=series)


def _cut(
    time: np.ndarray, value: np.ndarray, window: Window, gap: float
) -> tuple[np.ndarray, np.ndarray, bool]:
    first, last = np.searchsorted(time, [window.start, window.end + 1e-9])
    thin = envelope(time[first:last], value[first:last], bins=BINS, gap=gap)
    return thin.time, thin.value, thin.thinned


def _draw_gas(canvas: Canvas, place: int, trace: GasTrace, *, series: PointSeries) -> None:
    window = canvas.window
    time, value, thinned = _cut(trace.time, trace.value, window, series.gap)
    limits = [limit for limit in series.limits if limit.gas == trace.gas]
    strip = canvas.strip(place, *_room(value, [limit.value for limit in limits]))
    canvas.name(strip, f"{trace.gas}\n{trace.unit}")
    canvas.scale(strip)
    _shade(canvas, strip, trace.gas, series)
    few = not thinned and value.size <= DOTS_UP_TO
    canvas.line(strip, time, value, color=BLUE, marker="o" if few else "", markersize=2.2)
    for limit in limits:
        _draw_limit(canvas, strip, limit)
    _edge_marks(canvas, strip, trace.over, marker="^", color=RED, place=0.95)
    _edge_marks(canvas, strip, trace.odd, marker="x", color=SOFT, place=0.87)


def _room(value: np.ndarray, limits: list[float]) -> tuple[float, float]:
    """Return the lowest and highest value of the strip: readings, setpoints and, as a rule, 0."""
    good = value[np.isfinite(value)]
    shown = np.concatenate([good, np.array(limits, dtype=float)])
    if not (good.size and good.min() > OXYGEN_FROM):
        shown = np.append(shown, 0.0)
    low, high = float(shown.min()), float(shown.max())
    pad = 0.1 * ((high - low) or 1.0)
    return low - pad, high + 1.4 * pad


def _shade(canvas: Canvas, strip: Strip, gas: str, series: PointSeries) -> None:
    """Tint the time of this gas's alarms, darker where they are to be treated as gas."""
    bars, window = series.alarms, canvas.window
    mine = inside(bars, window) & np.char.startswith(bars.row.astype(str), f"{gas} ")
    for grave, tint in TINTS:
        keep = mine & (bars.grave == grave)
        if not keep.any():
            continue
        one = np.zeros(int(keep.sum()), dtype=int)
        start, end, _ = merge_spans(
            bars.start[keep], bars.end[keep], one, gap=SAME_SHARE * window.length
        )
        low, high = np.full(start.size, strip.bottom), np.full(start.size, strip.top)
        canvas.boxes(
            start, end, low, high, facecolors=tint, edgecolors="none", zorder=0.5 + 0.1 * grave
        )


def _draw_limit(canvas: Canvas, strip: Strip, limit: Limit) -> None:
    window = canvas.window
    start, end = max(limit.start, window.start), min(limit.end, window.end)
    if end <= start:
        return
    dashes = (0, (2, 1.5)) if limit.level == "high" else (0, (5, 2))
    canvas.line(strip, np.array([start, end]), np.full(2, limit.value), color=RED, linestyle=dashes)
    canvas.words(
        strip,
        start + 0.004 * window.length,
        limit.value,
        f"{limit.level} {limit.value:g}",
        color=RED,
        va="bottom",
    )


def _edge_marks(
    canvas: Canvas, strip: Strip, time: np.ndarray, *, marker: str, color: str, place: float
) -> None:
    """Mark visits near the upper edge of a strip, at most one mark a bin."""
    window = canvas.window
    there = time[(time >= window.start) & (time <= window.end)]
    if not there.size:
        return
    cells = np.unique((there - window.start) // (window.length / BINS))
    places = window.start + (cells + 0.5) * window.length / BINS
    value = strip.low + place * (strip.high - strip.low)
    canvas.line(
        strip,
        places,
        np.full(places.size, value),
        linestyle="",
        marker=marker,
        markersize=4,
        color=color,
        zorder=5,
    )


def _draw_lines(canvas: Canvas, place: int, series: PointSeries) -> None:
    window = canvas.window
    looks = {"line health": (GREEN, "-"), "flow share": (SOFT, "--")}
    cut = {label: _cut(time, value, window, series.gap) for label, time, value in series.lines}
    tops = [float(np.nanmax(y)) for _, y, _ in cut.values() if y.size]
    strip = canvas.strip(place, 0.0, min(max([1.3, *tops]), 2.5))
    canvas.name(strip, "line")
    canvas.scale(strip, [0.0, 0.5, 1.0])
    canvas.line(
        strip,
        np.array([window.start, window.end]),
        np.full(2, 0.5),
        color=RED,
        linewidth=0.7,
        linestyle=(0, (1, 2)),
    )
    for k, (label, (x, y, _)) in enumerate(cut.items()):
        colour, dashes = looks[label]
        canvas.line(strip, x, y, color=colour, linestyle=dashes)
        left = window.start + (0.01 + 0.11 * k) * window.length
        key = np.array([left, left + 0.025 * window.length])
        canvas.line(strip, key, np.full(2, 0.16), color=colour, linestyle=dashes)
        canvas.words(strip, key[1] + 0.006 * window.length, 0.16, label, va="center_baseline")


def _draw_climate(canvas: Canvas, place: int, series: PointSeries) -> None:
    cut = [_cut(time, value, canvas.window, series.gap) for _, time, value in series.climate]
    values = np.concatenate([y[np.isfinite(y)] for _, y, _ in cut])
    low, high = (float(values.min()), float(values.max())) if values.size else (0.0, 1.0)
    strip = canvas.strip(place, low - 1.0, high + 1.0)
    canvas.name(strip, "temp.\n°C")
    canvas.scale(strip, sorted({round(low), round((low + high) / 2), round(high)}))
    for x, y, thinned in cut:
        canvas.line(strip, x, y, color=AMBER, linewidth=0.4 if thinned else 0.8)
