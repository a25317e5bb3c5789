"""Draws a detector's shared zero over time, with what was checked and adjusted."""

from __future__ import annotations

import numpy as np
import pandas as pd
from matplotlib.axes import Axes

from alarmsift.report.axis import Window, hours, tick_axis
from alarmsift.report.envelope import envelope
from alarmsift.report.figure import AMBER, BLUE, GRID, INK, RED, SOFT, new_figure, svg_text
from alarmsift.tables.clock import ShipClock

WIDTH_IN, HEIGHT_IN = 10.0, 1.75
BINS = 450
MARKS = {"zero_check": "o", "zero_adjust": "v", "span_check": "s", "span_adjust": "D"}
NAMED_UP_TO = 16


def draw_detector(
    zeros: pd.DataFrame,
    checks: pd.DataFrame,
    *,
    window: Window,
    clock: ShipClock,
    tolerance: float | None,
) -> str:
    """Return the plot of one detector as SVG.

    Parameters
    ----------
    zeros : DataFrame
        ``time``, ``zero``, ``low``, ``high`` of this detector, in the gas's unit.
    checks : DataFrame
        The rows of ``calibration`` of this gas.
    window : Window
        The period of the logs.
    clock : ShipClock
        The clock of the logs.
    tolerance : float or None
        Allowed zero either way, in the gas's unit; drawn when given.
    """
    figure = new_figure(WIDTH_IN, HEIGHT_IN)
    axes = figure.add_axes((0.07, 0.27, 0.915, 0.68))
    time = hours(zeros["time"]) if len(zeros) else np.empty(0)
    if time.size:
        _band(axes, time, zeros)
        line = envelope(time, zeros["zero"].to_numpy(float), bins=BINS, gap=np.inf)
        axes.plot(line.time, line.value, color=BLUE, linewidth=1.1)
    axes.axhline(0.0, color=SOFT, linewidth=0.7)
    if tolerance is not None:
        for side in (-tolerance, tolerance):
            axes.axhline(side, color=RED, linewidth=0.8, linestyle=(0, (5, 2)))
    _checks(axes, checks, window)
    axes.grid(axis="y", color=GRID, linewidth=0.6)
    axes.set_axisbelow(True)
    axes.tick_params(axis="y", length=0, labelsize=7.5)
    axes.locator_params(axis="y", nbins=5)
    axes.set_xlim(window.start, window.end)
    tick_axis(axes, window, clock)
    return svg_text(figure)


def _band(axes: Axes, time: np.ndarray, zeros: pd.DataFrame) -> None:
    """Shade between the bounds, at most one step a bin."""
    rows = np.unique(np.linspace(0, time.size - 1, min(time.size, 2 * BINS)).astype(int))
    low, high = zeros["low"].to_numpy(float)[rows], zeros["high"].to_numpy(float)[rows]
    axes.fill_between(time[rows], low, high, color="#cfe3f0", linewidth=0)


def _checks(axes: Axes, checks: pd.DataFrame, window: Window) -> None:
    if not len(checks):
        return
    time = hours(checks["time"])
    kinds = checks["check"].astype(str).to_numpy()
    for kind, marker in MARKS.items():
        mine = kinds == kind
        if mine.any():
            axes.plot(
                time[mine],
                np.full(int(mine.sum()), 0.93),
                linestyle="",
                marker=marker,
                markersize=4.5,
                color=AMBER,
                transform=axes.get_xaxis_transform(),
            )
    adjusted = time[np.isin(kinds, ("zero_adjust", "span_adjust"))]
    for moment in adjusted:
        axes.axvline(moment, color=AMBER, linewidth=0.6, linestyle=(0, (1, 2)))
    if len(checks) <= NAMED_UP_TO:
        free = -np.inf
        for moment, kind in zip(time, kinds, strict=True):
            if moment < free:
                continue
            word = kind.replace("_", " ")
            axes.text(
                moment + 0.006 * window.length,
                0.93,
                word,
                fontsize=6.5,
                color=INK,
                va="center_baseline",
                transform=axes.get_xaxis_transform(),
            )
            free = moment + (0.008 * len(word) + 0.012) * window.length
