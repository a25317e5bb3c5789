"""Who was not watched when: a line of gaps a point, and the hours of each reason."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from alarmsift.report.axis import Window, hours, tick_places
from alarmsift.report.envelope import merge_spans
from alarmsift.report.words import REASONS
from alarmsift.tables.clock import ShipClock

LABEL_WIDTH, LINE_WIDTH, ROW_HEIGHT = 150.0, 800.0, 17.0
LEAST = 1.5  # narrowest gap that still shows [user unit]


@dataclass(frozen=True)
class Gap:
    """One drawn gap, in user units."""

    x: float
    width: float
    group: str


@dataclass(frozen=True)
class WatchRow:
    """One point: its gaps to draw, and hours unwatched by group of reasons."""

    point: str
    page: str
    y: float
    gaps: tuple[Gap, ...]
    hours: dict[str, float]
    all_hours: float
    longest_minutes: float
    share: float


@dataclass(frozen=True)
class WatchPicture:
    """All points on one time axis; ``ticks`` are (x, ship's date)."""

    width: float
    height: float
    first_x: float
    line_width: float
    rows: tuple[WatchRow, ...]
    ticks: tuple[tuple[float, str], ...]


def watch_picture(
    coverage: pd.DataFrame, pages: dict[str, str], *, window: Window, clock: ShipClock
) -> WatchPicture:
    """Return the picture and the hours behind it.

    Parameters
    ----------
    coverage : DataFrame
        Columns of ``coverage.csv``.
    pages : dict
        Point -> page stem, in the order of the rows.
    window : Window
        The period of the logs.
    clock : ShipClock
        The clock of the logs.
    """
    parts = dict(iter(coverage.groupby("point", observed=True)))
    nothing = coverage.iloc[:0]
    rows = [
        _row(point, page, 20 + ROW_HEIGHT * k, parts.get(point, nothing), window=window)
        for k, (point, page) in enumerate(pages.items())
    ]
    places = tick_places(window, clock)
    utc = pd.Series(pd.to_datetime(places * 3600.0, unit="s", utc=True).as_unit("us"))
    form = "%d %b" if window.length > 72 else "%d %b %H:%M"
    texts = clock.to_ship(utc).dt.strftime(form) if len(utc) else []
    return WatchPicture(
        LABEL_WIDTH + LINE_WIDTH + 10,
        24 + ROW_HEIGHT * len(rows),
        LABEL_WIDTH,
        LINE_WIDTH,
        tuple(rows),
        tuple(zip(_x(places, window).tolist(), texts, strict=True)),
    )


def _x(time: np.ndarray, window: Window) -> np.ndarray:
    return np.asarray(LABEL_WIDTH + (time - window.start) / window.length * LINE_WIDTH)


def _row(point: str, page: str, y: float, gaps: pd.DataFrame, *, window: Window) -> WatchRow:
    start = np.clip(hours(gaps["start"]), window.start, window.end)
    end = np.clip(np.nan_to_num(hours(gaps["end"]), nan=window.end), start, window.end)
    group = np.array([REASONS.get(str(r), ("", "", "idle"))[2] for r in gaps["reason"]], dtype=str)
    left, right = _x(start, window), _x(end, window)
    drawn = zip(*merge_spans(left, np.maximum(right, left + LEAST), group, gap=0.5), strict=True)
    by_group = {name: float((end - start)[group == name].sum()) for name in dict.fromkeys(group)}
    minutes = gaps["minutes"].astype(float)
    total = sum(by_group.values())
    return WatchRow(
        point=point,
        page=page,
        y=y,
        gaps=tuple(Gap(float(a), float(b - a), str(name)) for a, b, name in drawn),
        hours=by_group,
        all_hours=total,
        longest_minutes=float(minutes.max()) if len(minutes) else 0.0,
        share=total / window.length,
    )
