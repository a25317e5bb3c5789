"""The strips of bars: alarms and unwatched time, and the work done on ship and line."""

from __future__ import annotations

import numpy as np

from alarmsift.report.axis import Window
from alarmsift.report.canvas import Canvas, Strip
from alarmsift.report.colours import AMBER, INK, SOFT
from alarmsift.report.envelope import merge_spans
from alarmsift.report.point_series import Bars, PointSeries
from alarmsift.report.words import REASONS, cause_look

LEAST_SHARE = 0.0025  # narrowest bar that still shows, as a share of the window
LETTER_SHARE = 0.012  # narrowest bar that holds its letter
WORD_SHARE = 0.07  # narrowest bar that holds a word
WORDS_UP_TO = 14  # operations are named while there is room
HATCH = {"off": "////", "line": "xxxx", "idle": "||||", "no_log": "---"}
WORK_ROWS = ("cargo", "ballast", "ventilation", "line", "calibration", "system")
FAULTS, UNWATCHED, NOTHING = "faults", "unwatched", "no alarm"
THIN_EDGE = "#7d8a95"


def inside(bars: Bars, window: Window) -> np.ndarray:
    """Tell which bars reach into the window, shape (n,)."""
    return np.asarray((bars.end >= window.start) & (bars.start <= window.end))


def row_names(series: PointSeries, window: Window) -> list[str]:
    """Return the rows of the strip of alarms, the gases first."""
    there = set(series.alarms.row[inside(series.alarms, window)])
    rows = sorted(there - {FAULTS}) + [FAULTS] * (FAULTS in there)
    if inside(series.unwatched, window).any():
        rows.append(UNWATCHED)
    return rows or [NOTHING]


def work_names(series: PointSeries, window: Window) -> list[str]:
    """Return the rows of the strip of work; none when nothing was logged."""
    time = series.ticks.time
    there = set(series.work.row[inside(series.work, window)])
    there |= set(series.ticks.row[(time >= window.start) & (time <= window.end)])
    return [row for row in WORK_ROWS if row in there]


def draw_alarms(canvas: Canvas, place: int, series: PointSeries, *, rows: list[str]) -> None:
    """Draw the alarms by cause (colour and letter) and the unwatched time (pattern)."""
    strip = canvas.rows(place, rows)
    keep = inside(series.alarms, canvas.window)
    for grave in (False, True):
        for row, name in enumerate(rows):
            mine = keep & (series.alarms.grave == grave) & (series.alarms.row == name)
            if mine.any():
                _causes(canvas, strip, row, series.alarms, mine=mine)
    gaps = inside(series.unwatched, canvas.window)
    if gaps.any():
        _gaps(canvas, strip, rows.index(UNWATCHED), series.unwatched, mine=gaps)


def _merged(
    bars: Bars, mine: np.ndarray, window: Window
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return the bars cut to the window, each wide enough to show, neighbours joined."""
    least = LEAST_SHARE * window.length
    start = np.clip(bars.start[mine], window.start, window.end - least)
    end = np.minimum(np.maximum(bars.end[mine], start + least), window.end)
    return merge_spans(start, end, bars.kind[mine].astype(str), gap=0.5 * least)


def _causes(canvas: Canvas, strip: Strip, row: int, bars: Bars, *, mine: np.ndarray) -> None:
    length, grave = canvas.window.length, bool(bars.grave[mine][0])
    start, end, cause = _merged(bars, mine, canvas.window)
    looks = [cause_look(one) for one in cause]
    narrow = end - start < 2 * LEAST_SHARE * length
    edge = INK if grave else THIN_EDGE
    canvas.bars(
        strip,
        row,
        start,
        end,
        facecolors=[look.colour for look in looks],
        edgecolors=[look.colour if n else edge for look, n in zip(looks, narrow, strict=True)],
        linewidths=1.1 if grave else 0.4,
        zorder=3.2 if grave else 3,
    )
    for k in np.flatnonzero(end - start >= LETTER_SHARE * length):
        canvas.words(
            strip,
            (start[k] + end[k]) / 2,
            row,
            looks[k].letter,
            color=looks[k].ink,
            ha="center",
            va="center_baseline",
        )


def _gaps(canvas: Canvas, strip: Strip, row: int, bars: Bars, *, mine: np.ndarray) -> None:
    start, end, reason = _merged(bars, mine, canvas.window)
    known = [REASONS.get(str(one), (str(one), "", "idle")) for one in reason]
    groups = np.array([group for _, _, group in known])
    for group, hatch in HATCH.items():
        here = groups == group
        if here.any():
            canvas.bars(
                strip,
                row,
                start[here],
                end[here],
                facecolors="#ffffff" if group == "no_log" else "#e3e8ec",
                edgecolors=SOFT,
                linewidths=0.6,
                hatch=hatch,
            )
    for k in np.flatnonzero(end - start > WORD_SHARE * canvas.window.length):
        _word(canvas, strip, (start[k] + end[k]) / 2, row, known[k][0])


def _word(canvas: Canvas, strip: Strip, time: float, row: int, text: str) -> None:
    canvas.words(
        strip, time, row, text, fontsize=6.5, ha="center", va="center_baseline", paper=True
    )


def draw_work(canvas: Canvas, place: int, series: PointSeries, *, rows: list[str]) -> None:
    """Draw cargo, ballast and line work as spans, and single acts as marks with their names."""
    strip = canvas.rows(place, rows)
    keep = inside(series.work, canvas.window)
    for row, name in enumerate(rows):
        mine = keep & (series.work.row == name)
        if mine.any():
            _spans(canvas, strip, row, series.work, mine=mine)
    time, window = series.ticks.time, canvas.window
    there = np.flatnonzero((time >= window.start) & (time <= window.end))
    if there.size:
        places = np.array([rows.index(name) for name in series.ticks.row[there]], dtype=float)
        canvas.line(
            strip, time[there], places, linestyle="", marker="d", markersize=3.6, color=AMBER
        )
    if there.size <= WORDS_UP_TO:
        _name_acts(canvas, strip, series, rows=rows, there=there)


def _spans(canvas: Canvas, strip: Strip, row: int, bars: Bars, *, mine: np.ndarray) -> None:
    start, end, word = _merged(bars, mine, canvas.window)
    canvas.bars(strip, row, start, end, facecolors="#cfdde6", edgecolors="#6f8494", linewidths=0.5)
    if start.size <= WORDS_UP_TO:
        for k in np.flatnonzero(end - start > WORD_SHARE * canvas.window.length):
            _word(canvas, strip, (start[k] + end[k]) / 2, row, str(word[k]))


def _name_acts(
    canvas: Canvas, strip: Strip, series: PointSeries, *, rows: list[str], there: np.ndarray
) -> None:
    """Write the acts' names, each only where the one before it in its row leaves room."""
    window = canvas.window
    free = dict.fromkeys(rows, window.start)
    for k in there:
        name, time, word = series.ticks.row[k], series.ticks.time[k], series.ticks.word[k]
        length = 0.0085 * len(word) * window.length
        if time >= free[name] and time + length <= window.end:
            free[name] = time + length + 0.01 * window.length
            canvas.words(
                strip,
                time + 0.006 * window.length,
                rows.index(name),
                word,
                fontsize=6.5,
                va="center_baseline",
            )
