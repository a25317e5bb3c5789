"""The pictures of the PDF: the points by days, and the highest reading of each day."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from alarmsift.report.day_drawing import gap_height
from alarmsift.report.day_picture import DayCell, DayPanel
from alarmsift.report.figures import number
from alarmsift.report.pdf_sheet import GRAVE, INK, MARGIN, RULE, SOFT, WASH, Sheets
from alarmsift.tables.clock import ShipClock
from alarmsift.tables.schema import GAS_UNITS

CHART_HEIGHT, CHART_LEFT = 24.0, 14.0  # [mm]
ROW_MM = 4.1  # of the picture of days
Colour = tuple[int, int, int]


@dataclass(frozen=True)
class DailyHighest:
    """The highest reading of each ship's day of one gas at one point, and its setpoints.

    ``days`` and ``highest`` have the shape (n,); ``setpoints`` are (level, value).
    """

    gas: str
    unit: str
    days: pd.DatetimeIndex
    highest: np.ndarray
    setpoints: tuple[tuple[str, float], ...]


def daily_highest(
    visits: pd.DataFrame, setpoints: pd.DataFrame, clock: ShipClock
) -> list[DailyHighest]:
    """Return the days of one point for each gas that it was read for.

    Parameters
    ----------
    visits : DataFrame
        This point's visits.
    setpoints : DataFrame
        This point's setpoints, each with the time from which it held.
    clock : ShipClock
        Days are the ship's.
    """
    if not len(visits):
        return []
    day = clock.to_ship(visits["time"]).dt.normalize()
    every = pd.date_range(day.min(), day.max(), freq="D")
    out = []
    for gas in (name for name in GAS_UNITS if name in visits and name != "O2"):
        top = visits.groupby(day)[gas].max().reindex(every)
        if not top.notna().any():
            continue
        mine = setpoints[(setpoints["gas"] == gas) & setpoints["end"].isna()]
        levels = [(str(row.level), float(row.value)) for row in mine.itertuples()]
        out.append(DailyHighest(gas, GAS_UNITS[gas], every, top.to_numpy(float), tuple(levels)))
    return out


def draw_daily(sheets: Sheets, chart: DailyHighest) -> None:
    """Draw a bar a day with the setpoints as dashed lines."""
    sheets.room(CHART_HEIGHT + 12)
    sheets.ink(7.6, colour=SOFT)
    sheets.cell(
        0,
        4,
        f"Highest {chart.gas} reading of each ship's day, {chart.unit}; dark where it reached a "
        "setpoint, test gas too",
    )
    top = sheets.get_y() + 5.5
    left, wide = MARGIN + CHART_LEFT, sheets.epw - CHART_LEFT - 14
    peak = max(float(np.nanmax(chart.highest)), *(value for _, value in chart.setpoints), 1e-9)
    scale = CHART_HEIGHT / (1.08 * peak)
    foot = top + CHART_HEIGHT
    sheets.set_fill_color(*WASH)
    sheets.rect(left, top, wide, CHART_HEIGHT, style="F")
    step = wide / len(chart.days)
    least = min((value for _, value in chart.setpoints), default=np.inf)
    for k in np.flatnonzero(np.isfinite(chart.highest)):
        value = max(float(chart.highest[k]), 0.0)
        sheets.set_fill_color(*(GRAVE if value >= least else (111, 132, 148)))
        sheets.rect(
            left + step * k, foot - value * scale, max(step * 0.8, 0.15), value * scale, "F"
        )
    _scale(sheets, chart, foot=foot, scale=scale, left=left, wide=wide)
    sheets.set_xy(MARGIN, foot + 5.5)


def _scale(
    sheets: Sheets, chart: DailyHighest, *, foot: float, scale: float, left: float, wide: float
) -> None:
    sheets.ink(6.6, colour=SOFT)
    peak = CHART_HEIGHT / scale / 1.08
    for value in (0.0, peak):
        sheets.set_xy(MARGIN, foot - value * scale - 1.5)
        sheets.cell(CHART_LEFT - 1.5, 3, number(value) or "0", align="R")
    sheets.set_draw_color(*INK)
    sheets.set_line_width(0.25)
    sheets.line(left, foot, left + wide, foot)
    sheets.set_dash_pattern(dash=1.2, gap=0.8)
    for level, value in chart.setpoints:
        y = foot - value * scale
        sheets.line(left, y, left + wide, y)
        sheets.set_xy(left + wide + 0.8, y - 1.5)
        sheets.cell(14, 3, sheets.held(sheets.fit(f"{level} {number(value)}"), 13))
    sheets.set_dash_pattern()
    days = len(chart.days)
    for k in range(0, days, max(1, int(np.ceil(days / 9)))):
        x = left + wide / days * k
        sheets.line(x, foot, x, foot + 1)
        sheets.set_xy(x, foot + 1)
        sheets.cell(14, 3, f"{chart.days[k]:%d %b}")


def days_height(panel: DayPanel) -> float:
    """Return the height of a panel [mm]; one of very many points goes on over the next sheet."""
    return min(8 + ROW_MM * len(panel.rows), 200.0)


def draw_days(sheets: Sheets, panel: DayPanel) -> None:
    """Draw a panel of the point-by-day picture, a letter a cell, heavy frames for gas."""
    sheets.room(days_height(panel))
    sheets.ink(7.6, colour=SOFT)
    sheets.cell(0, 4, panel.title)
    sheets.ln(8)
    mm = sheets.epw / max(panel.width, 700.0)
    for x, words in panel.ticks:
        sheets.ink(6.2, colour=SOFT)
        sheets.set_xy(MARGIN + x * mm, sheets.get_y() - 3.2)
        sheets.cell(12, 3, words)
        sheets.set_xy(MARGIN, sheets.get_y() + 3.2)
    for row in panel.rows:
        sheets.room(ROW_MM)
        y = sheets.get_y()
        sheets.ink(6.6)
        sheets.set_xy(MARGIN, y)
        sheets.cell(
            panel.first_x * mm, ROW_MM, sheets.held(sheets.fit(row.point), panel.first_x * mm - 1)
        )
        sheets.set_fill_color(*WASH)
        sheets.rect(MARGIN + panel.first_x * mm, y, panel.days_width * mm, ROW_MM - 0.4, style="F")
        for cell in row.cells:
            _day(sheets, cell, y=y, mm=mm, wide=panel.cell * mm)
        sheets.set_xy(MARGIN, y + ROW_MM)
    sheets.ln(2)


def _day(sheets: Sheets, cell: DayCell, *, y: float, mm: float, wide: float) -> None:
    x, height = MARGIN + cell.x * mm, ROW_MM - 0.4
    if cell.look is not None:
        sheets.set_fill_color(*_rgb(cell.look.colour))
        sheets.set_draw_color(*(INK if cell.grave else RULE))
        sheets.set_line_width(0.45 if cell.grave else 0.1)
        sheets.rect(x + 0.1, y, wide - 0.2, height, style="DF")
        sheets.ink(min(6.0, wide * 2.3), bold=True, colour=_rgb(cell.look.ink))
        sheets.set_xy(x, y)
        sheets.put(cell.look.letter, wide=wide, high=height, align="C")
    if cell.unwatched:
        tall = gap_height(cell) / 14.0 * height
        sheets.set_fill_color(*SOFT)
        sheets.rect(x + wide * 0.3, y + height - tall, wide * 0.4, tall, style="F")


def _rgb(colour: str) -> Colour:
    return int(colour[1:3], 16), int(colour[3:5], 16), int(colour[5:7], 16)
