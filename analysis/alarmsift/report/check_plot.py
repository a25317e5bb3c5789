"""Draws what the checks of a detector found: errors against their tolerance, and sensitivity."""

from __future__ import annotations

import numpy as np
import pandas as pd

from alarmsift.calibration.tolerance import SPAN_SHARE
from alarmsift.conditions.low_sensitivity import LIMIT
from alarmsift.report.axis import Window, hours
from alarmsift.report.canvas import Canvas, Strip
from alarmsift.report.colours import AMBER, BLUE, INK, RED, SOFT
from alarmsift.tables.clock import ShipClock

ERROR_IN, SHARE_IN = 1.05, 1.0
NAMED_UP_TO = 16
# What was done: marker, filled, colour, word. As found and as left are told by their shape.
LOOKS: tuple[tuple[str, str, bool, str, str], ...] = (
    ("within", "o", False, BLUE, "found within"),
    ("out", "s", True, RED, "found out"),
    ("left", "v", True, AMBER, "as left by an adjustment"),
    ("other", "x", True, SOFT, "not valid, or no tolerance known"),
)


def draw_checks(
    ledger: pd.DataFrame, *, window: Window, clock: ShipClock, unit: str, zero_limit: float
) -> str:
    """Return errors of the zero and the span and the sensitivity over time as SVG.

    Parameters
    ----------
    ledger : DataFrame
        LEDGER_COLUMNS of one detector.
    window : Window
        The period of the logs.
    clock : ShipClock
        The clock of the logs.
    unit : str
        Unit of the gas.
    zero_limit : float
        How far the zero may be off either way; NaN = nobody says.
    """
    canvas = Canvas([ERROR_IN, ERROR_IN, SHARE_IN], window, clock)
    zeros, spans = (ledger[ledger["kind"] == kind] for kind in ("zero", "span"))
    _errors(canvas, 0, zeros, zeros["true_error"], limit=zero_limit, name=f"zero\noff by\n{unit}")
    share = 100.0 * spans["true_error"] / spans["reference_true"].abs()
    name = "span\noff by\n%"
    _errors(canvas, 1, spans, share, limit=100.0 * SPAN_SHARE, name=name)
    _sensitivity(canvas, 2, spans)
    return canvas.svg()


def look_of(rows: pd.DataFrame) -> np.ndarray:
    """Return the key of LOOKS of each row, shape (n,)."""
    verdict = rows["verdict"].astype(str).to_numpy()
    left = rows["check"].astype(str).str.endswith("adjust").to_numpy(dtype=bool)
    known = np.isin(verdict, ("within", "out"))
    return np.where(~known, "other", np.where(left, "left", verdict))


def _errors(
    canvas: Canvas, place: int, rows: pd.DataFrame, values: pd.Series, *, limit: float, name: str
) -> None:
    error = values.to_numpy(float)
    reach = np.nanmax(np.abs(np.append(error, [limit, 1e-9])))
    strip = canvas.strip(place, -1.35 * reach, 1.35 * reach)
    canvas.name(strip, name)
    canvas.scale(strip)
    ends = np.array([canvas.window.start, canvas.window.end])
    canvas.line(strip, ends, np.zeros(2), color=SOFT, linewidth=0.8)
    if np.isfinite(limit):
        for side in (-limit, limit):
            canvas.line(strip, ends, np.full(2, side), color=RED, linestyle=(0, (5, 2)))
        _say(canvas, strip, limit, f"allowed ± {limit:g}")
    _dots(canvas, strip, rows, error)


def _sensitivity(canvas: Canvas, place: int, spans: pd.DataFrame) -> None:
    share = 100.0 * spans["sensitivity"].to_numpy(float)
    shown = np.append(share[np.isfinite(share)], [100.0, 100.0 * LIMIT])
    pad = 0.15 * (shown.max() - shown.min())
    strip = canvas.strip(place, float(shown.min() - pad), float(shown.max() + 2.0 * pad))
    canvas.name(strip, "span\ngas\n%")
    canvas.scale(strip)
    ends = np.array([canvas.window.start, canvas.window.end])
    canvas.line(strip, ends, np.full(2, 100.0), color=SOFT, linewidth=0.8)
    canvas.line(strip, ends, np.full(2, 100.0 * LIMIT), color=RED, linestyle=(0, (5, 2)))
    _say(canvas, strip, 100.0 * LIMIT, f"counts as too low under {LIMIT:.0%}")
    _dots(canvas, strip, spans, share)


def _say(canvas: Canvas, strip: Strip, value: float, text: str) -> None:
    start = canvas.window.start + 0.004 * canvas.window.length
    canvas.words(strip, start, value, text, fontsize=7.5, color=RED, va="bottom")


def _dots(canvas: Canvas, strip: Strip, rows: pd.DataFrame, value: np.ndarray) -> None:
    time, window = hours(rows["time"]), canvas.window
    there = np.isfinite(value) & (time >= window.start) & (time <= window.end)
    looks = look_of(rows) if len(rows) else np.empty(0, dtype=object)
    for key, marker, filled, colour, _ in LOOKS:
        mine = there & (looks == key)
        if mine.any():
            canvas.line(
                strip,
                time[mine],
                value[mine],
                linestyle="",
                marker=marker,
                markersize=5.0,
                color=colour,
                markerfacecolor=colour if filled else "#ffffff",
            )
    if there.sum() <= NAMED_UP_TO:
        for k in np.flatnonzero(there):
            words = f"{value[k]:.3g}".replace("-", "−")
            canvas.words(
                strip, time[k] + 0.007 * window.length, value[k], words, fontsize=7.5, color=INK,
                va="bottom",
            )  # fmt: skip
