"""Bouts of one point in order of importance, each with the episode that speaks for it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from alarmsift.report.axis import Window, hours
from alarmsift.report.words import severity

LEAST_PAD_H = 3.0
PAD_SHARE = 0.6
LONGEST_ZOOM_H = 24.0 * 14
# A zoom shows nothing new when it is nearly the whole period, or inside another one.
SAME_SHARE = 0.6
MOST_LIGHT = 2  # zooms of alarms that are not to be treated as gas


@dataclass(frozen=True)
class Bout:
    """Episodes that share a cause; ``episode`` is the row that speaks for them all.

    ``start`` and ``end`` are hours since 1970-01-01 UTC [h].
    """

    key: str
    episode: pd.Series
    count: int
    start: float
    end: float


def bouts_of(episodes: pd.DataFrame, window: Window, *, most: int) -> list[Bout]:
    """Return the most important bouts of one point, in that order.

    Parameters
    ----------
    episodes : DataFrame
        This point's rows, columns of ``episodes.csv``.
    window : Window
        The period of the logs; an open episode lasts to its end.
    most : int
        At most so many.

    Notes
    -----
    Gravest ``treat_as`` first, then the likeliest gas, then the most episodes, then the latest.
    In a bout the gravest episode speaks, then the likeliest gas, then the longest.
    """
    if not len(episodes):
        return []
    key = episodes["bout"].astype("object").fillna(episodes["episode"])
    frame = pd.DataFrame(
        {
            "key": key,
            "grade": episodes["treat_as"].map(severity),
            "p_gas": episodes["p_gas"].fillna(0.0),
            "minutes": episodes["minutes"].fillna(0.0),
            "start": hours(episodes["raised"]),
            "end": np.nan_to_num(hours(episodes["cleared"]), nan=window.end),
        }
    )
    frame["number"] = frame.groupby("key")["start"].transform("size")
    frame["first"] = frame.groupby("key")["start"].transform("min")
    frame["last"] = frame.groupby("key")["end"].transform("max")
    frame = frame.sort_values(
        ["grade", "p_gas", "minutes"], ascending=[True, False, False], kind="stable"
    ).drop_duplicates("key")
    frame = frame.sort_values(
        ["grade", "p_gas", "number", "first"], ascending=[True, False, False, False], kind="stable"
    ).iloc[:most]
    return [
        Bout(str(row.key), episodes.loc[row.Index], int(row.number), row.first, row.last)
        for row in frame.itertuples()
    ]


def zoom_windows(bouts: list[Bout], window: Window, *, most: int) -> list[tuple[Window, Bout]]:
    """Return at most ``most`` windows around the most important bouts.

    Parameters
    ----------
    bouts : list of Bout
        The most important first.
    window : Window
        The period of the logs.
    most : int
        At most so many.
    """
    out: list[tuple[Window, Bout]] = []
    light = 0
    for bout in bouts:
        if len(out) >= most:
            break
        is_light = severity(bout.episode["treat_as"]) > severity("unresolved")
        if is_light and light >= MOST_LIGHT:
            continue
        zoom = _around(bout, window)
        if zoom.length > SAME_SHARE * window.length:
            continue
        if any(_shared(zoom, other) > SAME_SHARE for other, _ in out):
            continue
        out.append((zoom, bout))
        light += is_light
    return out


def _around(bout: Bout, window: Window) -> Window:
    start, end = bout.start, min(bout.end, bout.start + LONGEST_ZOOM_H)
    pad = max(LEAST_PAD_H, PAD_SHARE * (end - start))
    return Window(max(start - pad, window.start), min(end + pad, window.end))


def _shared(a: Window, b: Window) -> float:
    """Return the part of ``a`` that ``b`` shows too, if they are of a like size."""
    overlap = min(a.end, b.end) - max(a.start, b.start)
    return max(overlap, 0.0) / max(a.length, b.length)
