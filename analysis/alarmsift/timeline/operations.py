"""Spans out of the operations log: disconnected, filled, ventilated, cargo work, tests, weather."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from alarmsift.tables.logs import Logs
from alarmsift.timeline.kin import kin_of
from alarmsift.timeline.taken_off import taken_off
from alarmsift.timeline.visits import Visits

# How the points of one space are told apart at the end of a name (CP).
_WHICH = {"l", "lo", "low", "lower", "bottom", "btm", "bot", "u", "up", "upper", "top", "t", "b"}
_WHICH |= {"1", "2", "a", "f", "aft", "fwd"}

CALIBRATION_ACTIONS = ("zero_check", "zero_adjust", "span_check", "span_adjust")


@dataclass(frozen=True)
class Spans:
    """Spans of one kind of operation.

    Attributes
    ----------
    point : ndarray of int, shape (n,)
        Index into ``visits.points``; -1 for the whole ship.
    start, end : ndarray, shape (n,)
        [h since origin]; ``end`` is inf where no end was logged.
    """

    point: np.ndarray
    start: np.ndarray
    end: np.ndarray

    def active(self, point: np.ndarray, hours: np.ndarray, *, lag: float = 0.0) -> np.ndarray:
        """Tell whether a span (or one that ended at most ``lag`` hours ago) covers each moment."""
        out = np.zeros(len(hours), bool)
        if not len(self.start):
            return out
        # In order of time a span covers one piece of the rows, and only that piece is looked at.
        order = np.arange(len(hours)) if (hours[1:] >= hours[:-1]).all() else np.argsort(hours)
        hours, point = hours[order], np.broadcast_to(point, hours.shape)[order]
        first = np.searchsorted(hours, self.start, "left")
        last = np.searchsorted(hours, self.end + lag, "right")
        for p, a, b in zip(self.point, first, last, strict=True):
            out[a:b] |= True if p < 0 else point[a:b] == p
        back = np.empty_like(out)
        back[order] = out
        return back


@dataclass(frozen=True)
class Operations:
    """The operations log by what it means for the points; empty where there is no log.

    Attributes
    ----------
    logged : bool
        Whether there is an operations log at all.
    disconnected, filling, full, ventilated, cargo, heavy_sea : Spans
        ``full`` is from the start of a fill to the end of the discharge that follows.
    by_action : dict of DataFrame
        ``hours``, ``point`` (index, -1 = all), ``gas`` ('' = any), ``value``, ``reference``,
        ``action``, ``position`` (row position in ``logs.operations``).
    """

    logged: bool
    disconnected: Spans
    filling: Spans
    full: Spans
    ventilated: Spans
    cargo: Spans
    heavy_sea: Spans
    by_action: dict[str, pd.DataFrame]

    def of(self, *actions: str) -> pd.DataFrame:
        """Return the rows of some actions in order of time; empty when there are none."""
        parts = [self.by_action[name] for name in actions if name in self.by_action]
        if not parts:
            return pd.DataFrame(
                {
                    "hours": np.zeros(0),
                    "point": np.zeros(0, "int64"),
                    "gas": np.zeros(0, object),
                    "value": np.zeros(0),
                    "reference": np.zeros(0),
                    "action": np.zeros(0, object),
                    "position": np.zeros(0, "int64"),
                }
            )
        if len(parts) == 1:  # in order already
            return parts[0].reset_index(drop=True)
        return pd.concat(parts).sort_values(["hours", "position"], ignore_index=True)


# From about Beaufort 6 slugs of water can reach the probe of a part-filled tank
# (common practice, no source).
HEAVY_SEA_STATE = 6.0


def read_operations(logs: Logs, visits: Visits) -> Operations:
    """Return the spans of the operations log.

    A row's ``point`` may name a point or a space; all points of the space are meant then. A ballast
    row that names one point of a tank is about the whole tank.
    """
    rows = _rows(logs, visits)
    by_action = {str(name): part for name, part in rows.groupby("action", sort=False)}
    last = float(visits.hours[-1]) if len(visits) else 0.0
    fill = _pairs(by_action, "ballast_fill_start", "ballast_fill_end", default_hours=24.0)
    return Operations(
        logged=len(logs.operations) > 0,
        disconnected=_disconnected(by_action, visits),
        filling=fill,
        full=_pairs(by_action, "ballast_fill_start", "ballast_discharge_end"),
        ventilated=_pairs(by_action, "ventilation_on", "ventilation_off", default_hours=12.0),
        cargo=_pairs(by_action, "cargo_start", "cargo_end", default_hours=36.0),
        heavy_sea=_heavy_sea(by_action, last),
        by_action=by_action,
    )


def _rows(logs: Logs, visits: Visits) -> pd.DataFrame:
    ops = logs.operations
    frame = pd.DataFrame(
        {
            "hours": visits.since(ops["time"]),
            "action": ops["action"].astype(object),
            "gas": ops["gas"].astype(object).fillna(""),
            "value": ops["value"],
            "reference": ops["reference"],
            "position": np.arange(len(ops)),
        }
    )
    index = {name: [code] for code, name in enumerate(visits.points)}
    for space, part in logs.points.dropna(subset=["space"]).groupby("space"):
        inside = [index[p][0] for p in part["point"] if p in index]
        index.setdefault(str(space), inside or [-2])
    name = ops["point"].astype(object).fillna("").astype(str).str.strip()
    for text in name.unique():
        if text and text not in index:
            index[text] = _points_of_space(text, visits.points) or [-2]
    kin = kin_of(visits.points, logs.points)
    tank = frame["action"].astype(str).str.startswith("ballast") | (frame["action"] == "level")
    codes = [
        [-1] if text == "" else _with_kin(index[text], kin) if whole else index[text]
        for text, whole in zip(name, tank, strict=True)
    ]
    frame = frame.assign(point=codes).explode("point")
    frame = frame[(frame["point"] != -2) & frame["hours"].notna()]
    return frame.astype({"point": "int64"}).sort_values(["hours", "position"], ignore_index=True)


def _with_kin(points: list[int], kin: np.ndarray) -> list[int]:
    if min(points) < 0:
        return points
    return sorted(set(points) | set(np.flatnonzero(kin[points].any(axis=0)).tolist()))


def _points_of_space(text: str, points: tuple[str, ...]) -> list[int]:
    """Return the points whose names are a space's name and which of its points they are."""

    def plain(name: str) -> str:
        return "".join(c for c in name.lower() if c.isalnum())

    stem = plain(text)
    return [
        code
        for code, name in enumerate(points)
        if stem and plain(name).startswith(stem) and plain(name)[len(stem) :] in {"", *_WHICH}
    ]


def _disconnected(by_action: dict[str, pd.DataFrame], visits: Visits) -> Spans:
    """Return when lines were off: by the log, ended where readings came back."""
    # A row while the line was off, by the log, may be a repeat; or the row that put it back in
    # between was never written, and the readings tell.
    logged = _pairs(by_action, "disconnect", "reconnect", repeats=True)
    back = by_action.get("reconnect")
    point, start, end = taken_off(
        visits,
        (logged.point, logged.start, logged.end),
        np.zeros((0, 2)) if back is None else back[["point", "hours"]].to_numpy(float),
    )
    return Spans(point, start, end)


def _pairs(
    by_action: dict[str, pd.DataFrame],
    start: str,
    end: str,
    *,
    default_hours: float = np.inf,
    repeats: bool = False,
) -> Spans:
    """Pair starts with the first end of the same point that follows; repeated starts are one."""
    starts, ends = by_action.get(start), by_action.get(end)
    if starts is None:
        return Spans(np.zeros(0, "int64"), np.zeros(0), np.zeros(0))
    out: list[tuple[int, float, float]] = []
    for point, part in starts.groupby("point"):
        stop = np.zeros(0)
        if ends is not None:
            stop = ends.loc[(ends["point"] == point) | (ends["point"] == -1), "hours"].to_numpy()
        begin = part["hours"].to_numpy()
        after = np.searchsorted(stop, begin, "left")
        finish = np.where(
            after < len(stop), stop[np.minimum(after, len(stop) - 1)] if len(stop) else 0.0, np.inf
        )
        finish = np.where(np.isinf(finish), begin + default_hours, finish)
        keep = np.append(True, (begin[1:] >= finish[:-1]) | repeats)[: len(begin)]
        out += [(int(point), a, b) for a, b in zip(begin[keep], finish[keep], strict=True)]
    array = np.array(out, dtype=float).reshape(-1, 3)
    return Spans(array[:, 0].astype("int64"), array[:, 1], array[:, 2])


def _heavy_sea(by_action: dict[str, pd.DataFrame], last: float) -> Spans:
    rows = by_action.get("sea_state")
    if rows is None:
        return Spans(np.zeros(0, "int64"), np.zeros(0), np.zeros(0))
    start = rows["hours"].to_numpy()
    # A sea state holds until the next entry, at most a day.
    end = np.minimum(np.append(start[1:], last), start + 24.0)
    heavy = rows["value"].to_numpy(float) >= HEAVY_SEA_STATE
    return Spans(np.full(heavy.sum(), -1), start[heavy], end[heavy])
