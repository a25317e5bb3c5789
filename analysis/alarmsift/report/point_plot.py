"""Draws one point on one time axis: readings, alarms, watch, work, line health, temperature."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from matplotlib.collections import PolyCollection
from matplotlib.figure import Figure

from alarmsift.report.axis import Window, tick_axis
from alarmsift.report.envelope import envelope, merge_spans
from alarmsift.report.figure import AMBER, BLUE, GREEN, GRID, INK, RED, SOFT, new_figure, svg_text
from alarmsift.report.point_series import Bars, GasTrace, Limit, PointSeries
from alarmsift.report.words import REASONS, cause_look

WIDTH_IN = 10.0
LEFT_IN, RIGHT_IN, TOP_IN, BOTTOM_IN, SPACE_IN = 0.92, 0.18, 0.12, 0.42, 0.14
GAS_IN, ROW_IN, LINE_IN, CLIMATE_IN = 1.25, 0.17, 0.85, 0.55
BINS = 450  # about one a point [1/72 inch] and a half of width
DOTS_UP_TO = 220  # single visits are drawn as dots up to this many
LEAST_SHARE = 0.0025  # narrowest bar that still shows, as a share of the window
LETTER_SHARE = 0.012  # narrowest bar that holds its letter
WORDS_UP_TO = 14  # operations are named while there is room
HATCH = {"off": "////", "line": "xxxx", "idle": "....", "no_log": ""}


@dataclass(frozen=True)
class Panel:
    """One strip of the plot: what it is and how high [inch]."""

    key: str
    height: float


def draw_point(series: PointSeries, window: Window) -> str:
    """Return the plot of one point over one window as SVG.

    Parameters
    ----------
    series : PointSeries
        What there is to draw.
    window : Window
        The span of time to show.
    """
    panels = _panels(series, window)
    height = TOP_IN + BOTTOM_IN + sum(p.height for p in panels) + SPACE_IN * (len(panels) - 1)
    figure = new_figure(WIDTH_IN, height)
    top = height - TOP_IN
    axes = None
    for panel in panels:
        axes = _add(figure, top, panel.height)
        top -= panel.height + SPACE_IN
        _fill(axes, panel, series, window)
        axes.set_xlim(window.start, window.end)
        axes.set_xticks([])
    if axes is not None:
        tick_axis(axes, window, series.clock)
    return svg_text(figure)


def _add(figure: Figure, top: float, height: float) -> Axes:
    width_all, height_all = figure.get_size_inches()
    width = width_all - LEFT_IN - RIGHT_IN
    return figure.add_axes(
        (
            LEFT_IN / width_all,
            (top - height) / height_all,
            width / width_all,
            height / height_all,
        )
    )


def _panels(series: PointSeries, window: Window) -> list[Panel]:
    gases = [Panel(trace.gas, GAS_IN) for trace in series.gases]
    rows = _bar_rows(series, window)
    panels = [*gases, Panel("alarms", ROW_IN * max(len(rows), 1) + 0.06)]
    work = _work_rows(series, window)
    if work:
        panels.append(Panel("work", ROW_IN * len(work) + 0.06))
    if series.lines:
        panels.append(Panel("line", LINE_IN))
    if series.climate:
        panels.append(Panel("climate", CLIMATE_IN))
    return panels


def _fill(axes: Axes, panel: Panel, series: PointSeries, window: Window) -> None:
    if panel.key == "alarms":
        _draw_alarms(axes, series, window)
    elif panel.key == "work":
        _draw_work(axes, series, window)
    elif panel.key == "line":
        _draw_lines(axes, series, window)
    elif panel.key == "climate":
        _draw_climate(axes, series, window)
    else:
        trace = next(trace for trace in series.gases if trace.gas == panel.key)
        _draw_gas(axes, trace, series, window)


def _cut(
    time: np.ndarray, value: np.ndarray, window: Window, gap: float
) -> tuple[np.ndarray, np.ndarray, bool]:
    first, last = np.searchsorted(time, [window.start, window.end + 1e-9])
    first, last = max(int(first) - 1, 0), int(last) + 1
    thin = envelope(time[first:last], value[first:last], bins=BINS, gap=gap)
    return thin.time, thin.value, thin.thinned


def _draw_gas(axes: Axes, trace: GasTrace, series: PointSeries, window: Window) -> None:
    time, value, thinned = _cut(trace.time, trace.value, window, series.gap)
    few = not thinned and value.size <= DOTS_UP_TO
    axes.plot(
        time, value, color=BLUE, linewidth=0.9, marker="o" if few else "", markersize=2.2, zorder=3
    )
    limits = [limit for limit in series.limits if limit.gas == trace.gas]
    _draw_limits(axes, limits, window)
    _room(axes, value, [limit.value for limit in limits])
    _edge_marks(axes, trace.over, window, marker="^", colour=RED, place=0.96)
    _edge_marks(axes, trace.odd, window, marker="x", colour=SOFT, place=0.88)
    axes.set_ylabel(f"{trace.gas}\n{trace.unit}", rotation=0, ha="right", va="center", labelpad=14)
    axes.grid(axis="y", color=GRID, linewidth=0.6)
    axes.tick_params(axis="y", length=0, labelsize=7.5)
    axes.set_axisbelow(True)


def _room(axes: Axes, value: np.ndarray, limits: list[float]) -> None:
    shown = np.concatenate([value[np.isfinite(value)], np.array(limits, dtype=float), [0.0]])
    if value[np.isfinite(value)].size and np.nanmin(value) > 10:  # oxygen: zero says nothing
        shown = shown[:-1]
    low, high = float(shown.min()), float(shown.max())
    pad = 0.1 * (high - low or 1.0)
    axes.set_ylim(low - pad, high + 1.4 * pad)
    axes.locator_params(axis="y", nbins=4)


def _draw_limits(axes: Axes, limits: list[Limit], window: Window) -> None:
    for limit in limits:
        start, end = max(limit.start, window.start), min(limit.end, window.end)
        if end <= start:
            continue
        dashes = (0, (5, 2)) if limit.level != "high" else (0, (2, 1.5))
        axes.plot([start, end], [limit.value] * 2, color=RED, linewidth=0.9, linestyle=dashes)
        axes.text(
            start + 0.004 * window.length,
            limit.value,
            f"{limit.level} {limit.value:g}",
            color=RED,
            fontsize=7,
            va="bottom",
            zorder=4,
        )


def _edge_marks(
    axes: Axes, time: np.ndarray, window: Window, *, marker: str, colour: str, place: float
) -> None:
    inside = time[(time >= window.start) & (time <= window.end)]
    if inside.size:
        cells = np.unique((inside - window.start) // (window.length / BINS))
        places = window.start + (cells + 0.5) * window.length / BINS
        axes.plot(
            places,
            np.full(places.size, place),
            linestyle="",
            marker=marker,
            markersize=4,
            color=colour,
            transform=axes.get_xaxis_transform(),
            zorder=5,
        )


def _inside(bars: Bars, window: Window) -> np.ndarray:
    return np.asarray((bars.end >= window.start) & (bars.start <= window.end))


def _bar_rows(series: PointSeries, window: Window) -> list[str]:
    rows = sorted(set(series.alarms.row[_inside(series.alarms, window)]) - {"faults"})
    if (series.alarms.row[_inside(series.alarms, window)] == "faults").any():
        rows.append("faults")
    if _inside(series.unwatched, window).any():
        rows.append("unwatched")
    return rows or ["no alarm"]


def _draw_alarms(axes: Axes, series: PointSeries, window: Window) -> None:
    rows = _bar_rows(series, window)
    _rows_axis(axes, rows)
    for grave in (False, True):
        bars = series.alarms
        keep = _inside(bars, window) & (bars.grave == grave)
        _bars(axes, bars, keep, rows, window=window, grave=grave)
    bars = series.unwatched
    keep = _inside(bars, window)
    if keep.any():
        for start, end, reason in zip(*_merged(bars, keep, window), strict=True):
            word, _, group = REASONS.get(str(reason), (str(reason), "u", "idle"))
            axes.add_collection(
                PolyCollection(
                    [_box(start, end, rows.index("unwatched"))],
                    facecolors="#ffffff" if group == "no_log" else "#e3e8ec",
                    edgecolors=SOFT,
                    linewidths=0.6,
                    hatch=HATCH[group],
                )
            )
            if end - start > 0.09 * window.length:
                _label(axes, start, end, rows.index("unwatched"), word)


def _merged(
    bars: Bars, keep: np.ndarray, window: Window
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    least = LEAST_SHARE * window.length
    start = np.maximum(bars.start[keep], window.start)
    end = np.minimum(np.maximum(bars.end[keep], start + least), window.end)
    return merge_spans(start, end, bars.kind[keep].astype(str), gap=0.5 * least)


def _bars(
    axes: Axes, bars: Bars, keep: np.ndarray, rows: list[str], *, window: Window, grave: bool
) -> None:
    boxes, colours, letters = [], [], []
    for place, name in enumerate(rows):
        mine = keep & (bars.row == name)
        if not mine.any():
            continue
        for start, end, cause in zip(*_merged(bars, mine, window), strict=True):
            look = cause_look(cause)
            boxes.append(_box(start, end, place))
            colours.append(look.colour)
            if end - start >= LETTER_SHARE * window.length:
                letters.append((start, end, place, look))
    if boxes:
        axes.add_collection(
            PolyCollection(
                boxes,
                facecolors=colours,
                edgecolors=INK if grave else "#7d8a95",
                linewidths=1.1 if grave else 0.4,
                zorder=3 if grave else 2,
            )
        )
    for start, end, place, look in letters:
        axes.text(
            (start + end) / 2,
            place,
            look.letter,
            color=look.ink,
            fontsize=7,
            ha="center",
            va="center_baseline",
            zorder=4,
        )


def _box(start: float, end: float, place: int) -> list[tuple[float, float]]:
    low, high = place - 0.38, place + 0.38
    return [(start, low), (end, low), (end, high), (start, high)]


def _label(axes: Axes, start: float, end: float, place: int, word: str) -> None:
    axes.text(
        (start + end) / 2,
        place,
        word,
        fontsize=6.5,
        ha="center",
        va="center_baseline",
        color=INK,
        zorder=5,
        clip_on=True,
        bbox={"facecolor": "#ffffff", "edgecolor": "none", "pad": 0.6, "alpha": 0.85},
    )


def _rows_axis(axes: Axes, rows: list[str]) -> None:
    axes.set_ylim(len(rows) - 0.5, -0.5)
    axes.set_yticks(range(len(rows)), rows)
    axes.tick_params(axis="y", length=0, labelsize=7.5)
    axes.spines["left"].set_visible(False)


def _work_rows(series: PointSeries, window: Window) -> list[str]:
    time = series.ticks.time
    inside = (time >= window.start) & (time <= window.end)
    there = set(series.work.row[_inside(series.work, window)]) | set(series.ticks.row[inside])
    order = ("cargo", "ballast", "ventilation", "line", "calibration", "system")
    return [row for row in order if row in there]


def _draw_work(axes: Axes, series: PointSeries, window: Window) -> None:
    rows = _work_rows(series, window)
    _rows_axis(axes, rows)
    keep = _inside(series.work, window)
    for place, row in enumerate(rows):
        mine = keep & (series.work.row == row)
        if not mine.any():
            continue
        spans = list(zip(*_merged(series.work, mine, window), strict=True))
        boxes = [_box(start, end, place) for start, end, _ in spans]
        axes.add_collection(
            PolyCollection(boxes, facecolors="#cfdde6", edgecolors="#6f8494", linewidths=0.5)
        )
        for start, end, word in spans:
            if end - start > 0.06 * window.length and len(spans) <= WORDS_UP_TO:
                _label(axes, start, end, place, word)
    time = series.ticks.time
    inside = np.flatnonzero((time >= window.start) & (time <= window.end))
    known = [k for k in inside if series.ticks.row[k] in rows]
    places = [rows.index(series.ticks.row[k]) for k in known]
    axes.scatter(time[known], places, marker="d", s=13, color=AMBER, zorder=3, linewidths=0)
    if len(known) <= WORDS_UP_TO:
        _name_ticks(axes, series, known, rows, window=window)


def _name_ticks(
    axes: Axes, series: PointSeries, known: list[int], rows: list[str], *, window: Window
) -> None:
    """Write the operations' names, each only where the one before it in the row leaves room."""
    free = dict.fromkeys(rows, window.start)
    for k in known:
        row, time, word = series.ticks.row[k], series.ticks.time[k], series.ticks.word[k]
        length = 0.0085 * len(word) * window.length
        if time < free[row] or time + length > window.end:
            continue
        free[row] = time + length + 0.01 * window.length
        axes.text(
            time + 0.006 * window.length,
            rows.index(row),
            word,
            fontsize=6.5,
            va="center_baseline",
            color=INK,
        )


def _draw_lines(axes: Axes, series: PointSeries, window: Window) -> None:
    looks = {"line health": (GREEN, "-"), "flow share": (SOFT, "--")}
    for label, time, value in series.lines:
        colour, dashes = looks[label]
        x, y, _ = _cut(time, value, window, series.gap)
        axes.plot(x, y, color=colour, linestyle=dashes, linewidth=0.9, label=label)
    axes.axhline(0.5, color=RED, linewidth=0.7, linestyle=(0, (1, 2)))
    axes.set_ylim(0, max(1.3, min(axes.get_ylim()[1], 2.5)))
    axes.set_yticks([0, 0.5, 1])
    axes.tick_params(axis="y", length=0, labelsize=7.5)
    axes.set_ylabel("line", rotation=0, ha="right", va="center", labelpad=14)
    axes.grid(axis="y", color=GRID, linewidth=0.6)
    axes.legend(
        loc="lower left", fontsize=6.5, ncols=2, frameon=True, framealpha=0.85, edgecolor="none"
    )


def _draw_climate(axes: Axes, series: PointSeries, window: Window) -> None:
    for _, time, value in series.climate:
        x, y, _ = _cut(time, value, window, series.gap)
        axes.plot(x, y, color=AMBER, linewidth=0.8)
    axes.set_ylabel("temp.\n°C", rotation=0, ha="right", va="center", labelpad=14)
    axes.grid(axis="y", color=GRID, linewidth=0.6)
    axes.locator_params(axis="y", nbins=3)
    axes.tick_params(axis="y", length=0, labelsize=7.5)
