"""Bouts of one point in order of importance, each with the episode that speaks for it."""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from alarmsift.report.axis import Window, hours
from alarmsift.report.words import severity

LEAST_PAD_H = 3.0
PAD_SHARE = 0.6
LONGEST_ZOOM_H = 24.0 * 14
# A zoom shows nothing new when it is nearly the whole period, or inside another one.
SAME_SHARE = 0.6


@dataclass(frozen=True)
class Bout:
    """Episodes that share a cause; ``episode`` is the row that speaks for them all."""

    key: str
    episode: pd.Series
    count: int
    start: float
    end: float
    grade: int


def bouts_of(episodes: pd.DataFrame, window: Window) -> list[Bout]:
    """Return the bouts of one point, the most important first.

    Parameters
    ----------
    episodes : DataFrame
        This point's rows, columns of ``episodes.csv``.
    window : Window
        The period of the logs; an open episode lasts to its end.

    Notes
    -----
    Gravest ``treat_as`` first, then the likeliest gas, then the most episodes, then the latest.
    """
    out = []
    keys = episodes["bout"].astype("object").fillna(episodes["episode"])
    for key, part in episodes.groupby(keys, sort=False, observed=True):
        grade = part["treat_as"].map(severity)
        order = part.assign(grade=grade, length=part["minutes"].fillna(0.0)).sort_values(
            ["grade", "p_gas", "length"], ascending=[True, False, False], kind="stable"
        )
        end = hours(part["cleared"])
        last = window.end if pd.isna(end).any() else float(end.max())
        start = float(hours(part["raised"]).min())
        out.append(Bout(str(key), order.iloc[0], len(part), start, last, int(grade.min())))
    return sorted(out, key=_importance)


def _importance(bout: Bout) -> tuple[float, ...]:
    p_gas = bout.episode["p_gas"]
    return (bout.grade, -(0.0 if pd.isna(p_gas) else p_gas), -bout.count, -bout.start)


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
    for bout in bouts:
        if len(out) >= most:
            break
        zoom = _around(bout, window)
        if zoom.length > SAME_SHARE * window.length:
            continue
        if any(_shared(zoom, other) > SAME_SHARE for other, _ in out):
            continue
        out.append((zoom, bout))
    return out


def _around(bout: Bout, window: Window) -> Window:
    start, end = bout.start, min(bout.end, bout.start + LONGEST_ZOOM_H)
    pad = max(LEAST_PAD_H, PAD_SHARE * (end - start))
    return Window(max(start - pad, window.start), min(end + pad, window.end))


def _shared(a: Window, b: Window) -> float:
    """Return the part of ``a`` that ``b`` shows too, if they are of a like size."""
    overlap = min(a.end, b.end) - max(a.start, b.start)
    return max(overlap, 0.0) / max(a.length, b.length)
