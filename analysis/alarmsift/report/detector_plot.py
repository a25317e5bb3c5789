"""Draws a detector's shared zero over time, with what was checked and adjusted."""

from __future__ import annotations

import numpy as np
import pandas as pd

from alarmsift.report.axis import Window, hours
from alarmsift.report.canvas import Canvas, Strip
from alarmsift.report.colours import AMBER, BLUE, RED, SOFT
from alarmsift.report.envelope import envelope
from alarmsift.tables.clock import ShipClock
from alarmsift.tables.schema import GAS_UNITS

ACTS_IN, ZERO_IN = 0.38, 1.25
BINS = 300
MARKS = {"zero_check": "o", "zero_adjust": "v", "span_check": "s", "span_adjust": "D"}
NAMED_UP_TO = 12


def draw_detector(
    zeros: pd.DataFrame,
    checks: pd.DataFrame,
    *,
    gas: str,
    window: Window,
    clock: ShipClock,
    tolerance: float | None,
) -> str:
    """Return the picture of one detector as SVG.

    Parameters
    ----------
    zeros : DataFrame
        ``time``, ``zero``, ``low``, ``high`` of this detector, in the gas's unit.
    checks : DataFrame
        The rows of ``calibration`` of this gas.
    gas : str
        The gas, for its unit.
    window : Window
        The period of the logs.
    clock : ShipClock
        The clock of the logs.
    tolerance : float or None
        Allowed zero either way, in the gas's unit; drawn when given.
    """
    canvas = Canvas([ACTS_IN, ZERO_IN], window, clock)
    _checks(canvas, checks)
    values = [0.0] if tolerance is None else [-tolerance, tolerance]
    if len(zeros):
        values += [float(zeros["low"].min()), float(zeros["high"].max())]
        values += [float(zeros["zero"].min()), float(zeros["zero"].max())]
    low, high = float(np.nanmin(values)), float(np.nanmax(values))
    pad = 0.12 * ((high - low) or 1.0)
    strip = canvas.strip(1, low - pad, high + pad)
    canvas.name(strip, f"zero\n{GAS_UNITS.get(gas, '')}".strip())
    canvas.scale(strip)
    ends = np.array([window.start, window.end])
    canvas.line(strip, ends, np.zeros(2), color=SOFT, linewidth=0.8)
    if tolerance is not None:
        for side in (-tolerance, tolerance):
            canvas.line(strip, ends, np.full(2, side), color=RED, linestyle=(0, (5, 2)))
        left = window.start + 0.004 * window.length
        words = f"allowed ± {tolerance:g}"
        canvas.words(strip, left, tolerance, words, fontsize=7.5, color=RED, va="bottom")
    if len(zeros):
        _zero(canvas, strip, zeros)
    return canvas.svg()


def _zero(canvas: Canvas, strip: Strip, zeros: pd.DataFrame) -> None:
    """Draw the zero, and its range of doubt as a shade of at most one step a bin."""
    time = hours(zeros["time"])
    line = envelope(time, zeros["zero"].to_numpy(float), bins=BINS, gap=np.inf)
    canvas.line(strip, line.time, line.value, color=BLUE, linewidth=1.1)
    rows = np.unique(np.linspace(0, time.size - 1, min(time.size, BINS)).astype(int))
    low, high = (strip.y(zeros[name].to_numpy(float)[rows]) for name in ("low", "high"))
    good = np.isfinite(low) & np.isfinite(high)
    if good.sum() > 1:
        canvas.band(time[rows][good], low[good], high[good], color="#cfe3f0")


def _checks(canvas: Canvas, checks: pd.DataFrame) -> None:
    rows = ["zero", "span"]
    strip, window = canvas.rows(0, [f"{row} checks" for row in rows]), canvas.window
    time, kinds = hours(checks["time"]), checks["check"].astype(str).to_numpy()
    there = (time >= window.start) & (time <= window.end)
    for kind, marker in MARKS.items():
        mine = (kinds == kind) & there
        if mine.any():
            places = np.full(int(mine.sum()), rows.index(kind.split("_")[0]), dtype=float)
            canvas.line(
                strip, time[mine], places, linestyle="", marker=marker, markersize=4.2, color=AMBER
            )
    for row, name in enumerate(rows):
        mine = there & np.char.startswith(kinds.astype(str), name)
        if mine.sum() <= NAMED_UP_TO:
            _name_checks(canvas, strip, row, time=time[mine], kinds=kinds[mine])


def _name_checks(
    canvas: Canvas, strip: Strip, row: int, *, time: np.ndarray, kinds: np.ndarray
) -> None:
    """Write what was done, each only where the one before it leaves room."""
    length, free = canvas.window.length, -np.inf
    for moment, kind in zip(time, kinds, strict=True):
        word = kind.split("_")[-1]
        room = (0.0075 * len(word) + 0.014) * length
        if free <= moment <= canvas.window.end - room:
            canvas.words(
                strip, moment + 0.006 * length, row, word, fontsize=6.5, va="center_baseline"
            )
            free = moment + room
