"""The point-by-day picture: what each point's day was mostly about, by letter and by colour."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from alarmsift.report.words import (
    REASONS,
    Look,
    cause_look,
    severity,
)
from alarmsift.tables.clock import ShipClock
from alarmsift.tables.diagnosis import Diagnosis

PANEL_DAYS = 92  # a quarter of a year a panel: cells stay wide enough for a letter
PANEL_WIDTH, LABEL_WIDTH, ROW_HEIGHT = 960.0, 150.0, 17.0
WIDEST_CELL = 24.0
# Unwatched time of one day from which it is drawn [min].
UNWATCHED_FROM_MIN = 60.0
LABEL_LETTERS = 22
TICK_ROOM = 36.0  # a date takes so much width


@dataclass(frozen=True)
class DayCell:
    """One day of one point; ``look`` is None when only unwatched time is shown."""

    x: float
    look: Look | None
    grave: bool
    unwatched: str
    share: float


@dataclass(frozen=True)
class DayRow:
    """One point's days in a panel."""

    point: str
    short: str
    page: str
    y: float
    cells: tuple[DayCell, ...]


@dataclass(frozen=True)
class DayPanel:
    """A run of days: picture sizes in user units, ``ticks`` are (x, text)."""

    title: str
    first_day: str
    width: float
    height: float
    cell: float
    first_x: float
    days_width: float
    rows: tuple[DayRow, ...]
    ticks: tuple[tuple[float, str], ...]


def day_panels(
    diagnosis: Diagnosis, pages: dict[str, str], times: pd.Series
) -> tuple[DayPanel, ...]:
    """Return the picture in panels of at most a quarter of a year.

    Parameters
    ----------
    diagnosis : Diagnosis
        Episodes and coverage are drawn.
    pages : dict
        Point -> page stem; its order is the order of the rows.
    times : Series of UTC times
        First and last time of the logs.
    """
    clock = diagnosis.logs.clock
    if not len(times) or not pages:
        return ()
    ends = clock.to_ship(times).dt.normalize()
    days = pd.date_range(ends.min(), ends.max(), freq="D")
    causes = _dominant(diagnosis.episodes, clock, times.max())
    gaps = _unwatched(diagnosis.coverage, clock, times.max())
    parts = np.array_split(days, int(np.ceil(len(days) / PANEL_DAYS)))
    return tuple(_panel(pd.DatetimeIndex(part), pages, causes, gaps) for part in parts)


def _by_day(frame: pd.DataFrame, columns: tuple[str, str], clock: ShipClock) -> pd.DataFrame:
    """Return a row a span and ship's day that it touches, with ``day`` and ``in_day`` [min]."""
    start, end = (clock.to_ship(frame[name]).reset_index(drop=True) for name in columns)
    first, last = start.dt.normalize(), end.dt.normalize()
    counts = ((last - first).dt.days + 1).clip(lower=1).to_numpy(dtype=int)
    rows = np.repeat(np.arange(len(frame)), counts)
    step = np.arange(rows.size) - np.repeat(np.cumsum(counts) - counts, counts)
    out = frame.iloc[rows].reset_index(drop=True)
    day = first.iloc[rows].reset_index(drop=True) + pd.to_timedelta(step, unit="D")
    low = start.iloc[rows].reset_index(drop=True).clip(lower=day)
    high = end.iloc[rows].reset_index(drop=True).clip(upper=day + pd.Timedelta(days=1))
    out["day"] = day
    out["in_day"] = ((high - low).dt.total_seconds() / 60).clip(lower=0)
    return out


def _dominant(
    episodes: pd.DataFrame, clock: ShipClock, last: pd.Timestamp
) -> dict[tuple[str, pd.Timestamp], tuple[str, str]]:
    """Return (point, day) -> cause, treat_as: the gravest, then the longest in the day."""
    if not len(episodes):
        return {}
    frame = episodes[["point", "cause", "treat_as", "raised", "cleared"]].copy()
    frame["cleared"] = frame["cleared"].fillna(last).clip(lower=frame["raised"])
    frame["grade"] = frame["treat_as"].map(severity)
    frame = _by_day(frame, ("raised", "cleared"), clock)
    keys = ["point", "day", "grade", "cause", "treat_as"]
    sums = frame.groupby(keys, observed=True, sort=True)["in_day"].sum().reset_index()
    sums = sums.sort_values(["grade", "in_day"], ascending=[True, False], kind="stable")
    best = sums.drop_duplicates(["point", "day"])
    return {
        (str(point), day): (str(cause), str(treat))
        for point, day, cause, treat in zip(
            best["point"], best["day"], best["cause"], best["treat_as"], strict=True
        )
    }


def _unwatched(
    coverage: pd.DataFrame, clock: ShipClock, last: pd.Timestamp
) -> dict[tuple[str, pd.Timestamp], tuple[str, float]]:
    """Return (point, day) -> reason with most minutes, and all unwatched minutes of that day."""
    if not len(coverage):
        return {}
    frame = coverage[["point", "start", "end", "reason"]].copy()
    frame["end"] = frame["end"].fillna(last).clip(lower=frame["start"])
    frame = _by_day(frame, ("start", "end"), clock)
    sums = frame.groupby(["point", "day", "reason"], observed=True)["in_day"].sum().reset_index()
    whole = sums.groupby(["point", "day"], observed=True)["in_day"].sum()
    best = sums.sort_values("in_day", ascending=False, kind="stable")
    best = best.drop_duplicates(["point", "day"])
    return {
        (str(point), day): (str(reason), float(whole[(point, day)]))
        for point, day, reason in zip(best["point"], best["day"], best["reason"], strict=True)
    }


def _panel(
    days: pd.DatetimeIndex,
    pages: dict[str, str],
    causes: dict[tuple[str, pd.Timestamp], tuple[str, str]],
    gaps: dict[tuple[str, pd.Timestamp], tuple[str, float]],
) -> DayPanel:
    cell = min((PANEL_WIDTH - LABEL_WIDTH) / len(days), WIDEST_CELL)
    rows = []
    for place, (point, page) in enumerate(pages.items()):
        cells = [
            _cell(LABEL_WIDTH + cell * k, causes.get((point, day)), gaps.get((point, day)))
            for k, day in enumerate(days)
            if (point, day) in causes or (point, day) in gaps
        ]
        shown = tuple(one for one in cells if one.look is not None or one.unwatched)
        rows.append(DayRow(point, _short(point), page, 20 + ROW_HEIGHT * place, shown))
    step = next(s for s in (1, 2, 5, 7, 14) if cell * s >= TICK_ROOM or s == 14)
    ticks = [
        (LABEL_WIDTH + cell * k, days[k].strftime("%d %b"))
        for k in range(0, len(days), step)
        if cell * (len(days) - k) >= TICK_ROOM
    ]
    return DayPanel(
        title=f"{days[0]:%d %b %Y} to {days[-1]:%d %b %Y}",
        first_day=f"{days[0]:%Y-%m-%d}",
        width=LABEL_WIDTH + cell * len(days) + 1,
        height=24 + ROW_HEIGHT * len(pages),
        cell=cell,
        first_x=LABEL_WIDTH,
        days_width=cell * len(days),
        rows=tuple(rows),
        ticks=tuple(ticks),
    )


def _cell(x: float, cause: tuple[str, str] | None, gap: tuple[str, float] | None) -> DayCell:
    look, grave, group, share = None, False, "", 0.0
    if cause is not None:
        look = cause_look(cause[0])
        grave = severity(cause[1]) <= severity("unresolved")
    if gap is not None and gap[1] >= UNWATCHED_FROM_MIN:
        group = REASONS.get(gap[0], ("", "", "idle"))[2]
        share = min(gap[1] / 1440, 1.0)
    return DayCell(x, look, grave, group, share)


def _short(point: str) -> str:
    return point if len(point) <= LABEL_LETTERS else point[: LABEL_LETTERS - 1] + "…"
