"""Visits: one turn of an analyser at one point, one value a gas.

Readings arrive as one row a gas; here they become one row a visit, in order of time, with the
neighbours that later steps need: the visit before it in the analyser's round (what was in the
pipework just before) and the visits of the same point.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import pandas as pd

from alarmsift.tables.logs import Logs
from alarmsift.tables.schema import STATUSES
from alarmsift.timeline.round_step import by_small, just_before, round_hours
from alarmsift.timeline.two_rounds import rounds_of

US_PER_HOUR = 3_600_000_000
CANONICAL_TIME = pd.DatetimeTZDtype("us", "UTC")
NO_TIME = np.iinfo("int64").min  # how numpy stores a missing time
OK, OVER, UNDER, FAULT, TEST, NOT_SAMPLED = range(len(STATUSES))
# Two gases of one visit may be logged some seconds apart: at most this share of a dwell
# (common practice, no source).
SAME_VISIT_DWELL = 0.4


@dataclass(frozen=True)
class Visits:
    """All visits of a ship, in order of time.

    Attributes
    ----------
    origin : Timestamp
        UTC time of hour 0.
    hours : ndarray, shape (n,)
        Time of the visit [h since origin].
    point, analyser : ndarray of int, shape (n,)
        Index into ``points`` and ``analysers``.
    flow, suction, temperature, humidity : ndarray, shape (n,)
        [L/min], [kPa below ambient], [degC], [%RH]; NaN where not logged.
    value : dict of ndarray, shape (n,)
        By gas, in the gas's unit; NaN where there is no valid reading. An over-range reading
        without a number counts as the top of what was ever shown.
    raw : dict of ndarray, shape (n,)
        As ``value``, but with the numbers shown during tests and faults kept.
    status : dict of ndarray of int8, shape (n,)
        By gas, index into STATUSES; -1 where the visit has no row for the gas.
    reading : dict of ndarray of int64, shape (n,)
        By gas, row position in ``logs.readings``; -1 for none.
    previous : ndarray of int, shape (n,)
        The visit just before this one in the same analyser that really drew air; -1 for none, and
        where a row between the two is missing.
    order : ndarray of int, shape (n,)
        Visits sorted by point, then time.
    first : ndarray of int, shape (P + 1,)
        ``order[first[p]:first[p + 1]]`` are the visits of point p.
    cycle_hours : float
        Median time of one round [h].
    told_apart : bool
        The logs name no analyser, but their rounds keep no step: the names are ours.
    """

    origin: pd.Timestamp
    points: tuple[str, ...]
    analysers: tuple[str, ...]
    gases: tuple[str, ...]
    hours: np.ndarray
    point: np.ndarray
    analyser: np.ndarray
    flow: np.ndarray
    suction: np.ndarray
    temperature: np.ndarray
    humidity: np.ndarray
    value: dict[str, np.ndarray]
    raw: dict[str, np.ndarray]
    status: dict[str, np.ndarray]
    reading: dict[str, np.ndarray]
    previous: np.ndarray
    order: np.ndarray
    first: np.ndarray
    cycle_hours: float
    told_apart: bool = False

    def __len__(self) -> int:
        return len(self.hours)

    def share_of_turns(self, gas: str) -> np.ndarray:
        """Return the share of its turns at which each point has a reading of the gas, shape (P,).

        Near 1 where the log holds every round, near 0 where readings were kept only in alarm.
        """
        if not len(self.hours) or not np.isfinite(self.cycle_hours):
            return np.zeros(len(self.points))
        count = np.bincount(self.point[self.reading[gas] >= 0], minlength=len(self.points))
        turns = (self.hours[-1] - self.hours[0]) / self.cycle_hours + 1.0
        return np.asarray(count / turns)

    def of(self, point: int) -> np.ndarray:
        """Return the indices of a point's visits in order of time."""
        return self.order[self.first[point] : self.first[point + 1]]

    def time(self, hours: np.ndarray | float) -> pd.DatetimeIndex:
        """Return UTC times of hours since origin, shape as given (flattened)."""
        micro = np.round(np.atleast_1d(np.asarray(hours, float)) * US_PER_HOUR)
        missing = ~np.isfinite(micro)
        stamps = pd.DatetimeIndex(
            np.where(missing, 0, micro).astype("int64").astype("timedelta64[us]")
            + np.datetime64(self.origin.tz_convert(None), "us")
        ).tz_localize("UTC")
        return stamps.where(~missing)

    def since(self, times: pd.Series) -> np.ndarray:
        """Return hours since origin of UTC times, shape (n,); NaN for missing times."""
        if times.dtype != CANONICAL_TIME:
            times = pd.to_datetime(times, utc=True).astype(CANONICAL_TIME)
        stamp = times.to_numpy("datetime64[us]").view("int64")
        hours = (stamp - self.origin_us) / US_PER_HOUR
        hours[stamp == NO_TIME] = np.nan
        return np.asarray(hours)

    @cached_property
    def origin_us(self) -> int:
        """Origin in microseconds since 1970."""
        return int(self.origin.value // 1000)  # Timestamp.value is in nanoseconds

    @cached_property
    def drawn(self) -> np.ndarray:
        """Tell for each visit whether air was really drawn (not a skipped point's row)."""
        return _kept(
            np.any([self.status[g] != NOT_SAMPLED for g in self.gases], axis=0)
            & np.any([self.status[g] >= 0 for g in self.gases], axis=0)
        )

    @cached_property
    def valid(self) -> np.ndarray:
        """Tell for each visit whether any gas has a valid reading, shape (n,)."""
        return _kept(np.any([np.isfinite(self.value[g]) for g in self.gases], axis=0))


def _kept(flag: np.ndarray | np.bool_) -> np.ndarray:
    """Return a flag that nobody may change, since all callers share it."""
    out = np.asarray(flag)
    out.flags.writeable = False
    return out


def build_visits(logs: Logs) -> Visits:
    """Return the visits of a ship's readings.

    Parameters
    ----------
    logs : Logs
        Readings sorted by time. May hold no row at all.

    Returns
    -------
    Visits
    """
    readings = logs.readings
    time = readings["time"].to_numpy("datetime64[us]").astype("int64")
    origin_us = _origin_us(logs)
    point, points = _codes(readings["point"])
    gas, gases = _codes(readings["gas"])
    point_analyser, analysers = _analyser(logs, points, point)
    told_apart = analysers == ("",)
    if told_apart:
        drew = np.isfinite(logs.readings["value"].to_numpy(float))
        point_analyser, analysers = _by_step(time, point, drew, len(points))
        told_apart = len(analysers) > 1
    visit, n_visits, head = _visit_ids(time, point, gas, point_analyser)

    status = _status(readings)
    raw = readings["value"].to_numpy(float)
    value = _valid_value(raw, status, gas)
    columns = {
        name: _per_visit_mean(readings[name].to_numpy(float), visit, n_visits)
        for name in ("flow", "suction", "temperature", "humidity")
    }
    per_gas: dict[str, dict[str, np.ndarray]] = {"value": {}, "raw": {}, "status": {}, "row": {}}
    for code, name in enumerate(gases):
        rows = np.flatnonzero(gas == code)
        target = visit[rows]
        for key, source, blank in (
            ("value", value, np.nan),
            ("raw", raw, np.nan),
            ("status", status, -1),
            ("row", np.arange(len(raw)), -1),
        ):
            filled = np.full(n_visits, blank, dtype=source.dtype if key != "row" else "int64")
            filled[target] = source[rows]
            per_gas[key][name] = filled
    v_point, v_analyser = point[head], point_analyser[head]
    hours = (time[head] - origin_us) / US_PER_HOUR
    drawn = np.zeros(n_visits, bool)
    for name in gases:
        drawn |= (per_gas["status"][name] >= 0) & (per_gas["status"][name] != NOT_SAMPLED)
    order = by_small(v_point)
    first = np.searchsorted(v_point[order], np.arange(len(points) + 1))
    return Visits(
        origin=pd.Timestamp(origin_us, unit="us", tz="UTC"),
        points=points,
        analysers=analysers,
        gases=gases,
        hours=hours,
        point=v_point,
        analyser=v_analyser,
        value=per_gas["value"],
        raw=per_gas["raw"],
        status=per_gas["status"],
        reading=per_gas["row"],
        previous=just_before(v_analyser, drawn, hours, v_point),
        order=order,
        first=first,
        cycle_hours=round_hours(hours[drawn], v_point[drawn], v_analyser[drawn]),
        told_apart=told_apart,
        **columns,
    )


def _origin_us(logs: Logs) -> int:
    starts = [
        frame["time"].min()
        for frame in (logs.readings, logs.events, logs.operations)
        if len(frame) and frame["time"].notna().any()
    ]
    return int(min(starts).value // 1000) if starts else 0  # Timestamp.value is in nanoseconds


def _codes(series: pd.Series) -> tuple[np.ndarray, tuple[str, ...]]:
    code, names = series.cat.codes.to_numpy(), series.cat.categories
    used = np.bincount(code[code >= 0] if (code < 0).any() else code, minlength=len(names)) > 0
    rank = np.append(np.cumsum(used) - 1, -1)
    return rank[code], tuple(str(name) for name in names[used])


def _analyser(
    logs: Logs, points: tuple[str, ...], point: np.ndarray
) -> tuple[np.ndarray, tuple[str, ...]]:
    """Return the analyser of each reading; the readings' own column first, then the points'."""
    table = logs.points.dropna(subset=["analyser"]).drop_duplicates("point")
    known = dict(zip(table["point"], table["analyser"].astype(str), strict=True))
    by_point = np.array([known.get(name, "") for name in points] or [""], dtype=object)
    own, labels = _codes(logs.readings["analyser"])
    # The few combinations of point and own label are named, not the readings.
    table = np.repeat(by_point[:, None], len(labels) + 1, axis=1)
    table[:, 1:] = np.array(labels, dtype=object)
    pair = point * (len(labels) + 1) + own + 1
    used = np.flatnonzero(np.bincount(pair, minlength=table.size))
    codes, uniques = pd.factorize(pd.Series(table.ravel()[used], dtype=object), sort=True)
    lookup = np.zeros(table.size, "int64")
    lookup[used] = codes
    return lookup[pair], tuple(str(u) for u in uniques) or ("",)


def _by_step(
    time: np.ndarray, point: np.ndarray, drew: np.ndarray, n_points: int
) -> tuple[np.ndarray, tuple[str, ...]]:
    """Return the analyser of each reading where the logs name none."""
    at, here = time[drew], point[drew]
    turn = np.ones(len(at), bool)
    turn[1:] = (np.diff(at) != 0) | (np.diff(here) != 0)
    group = rounds_of(at[turn] / US_PER_HOUR, here[turn], n_points)
    number = int(group.max(initial=0)) + 1
    names = tuple(str(i + 1) for i in range(number)) if number > 1 else ("",)
    return group[point], names


def _status(readings: pd.DataFrame) -> np.ndarray:
    categories = readings["status"].cat.categories
    lookup = np.array([STATUSES.index(c) if c in STATUSES else OK for c in categories] + [OK])
    return np.asarray(lookup[readings["status"].cat.codes.to_numpy()], dtype="int8")


def _valid_value(raw: np.ndarray, status: np.ndarray, gas: np.ndarray) -> np.ndarray:
    usable = np.array([code in (OK, OVER, UNDER) for code in range(len(STATUSES))])[status]
    value = np.where(usable, raw, np.nan)
    blank = np.flatnonzero((status == OVER) & np.isnan(raw))
    for code in np.unique(gas[blank]):
        shown = value[gas == code]
        value[blank[gas[blank] == code]] = np.nanmax(shown, initial=-np.inf)
    value[blank] = np.where(np.isfinite(value[blank]), value[blank], np.nan)
    return value


def _visit_ids(
    time: np.ndarray, point: np.ndarray, gas: np.ndarray, analyser: np.ndarray
) -> tuple[np.ndarray, int, np.ndarray]:
    """Return each reading's visit, the number of visits, and each visit's first reading.

    Readings of one point and time belong together, whatever the order of the gases in the file;
    a gas that comes twice at one point and time opens a second visit.
    """
    n = len(time)
    if n == 0:
        return np.zeros(0, "int64"), 0, np.zeros(0, "int64")
    n_gases = int(gas.max()) + 1
    place = _moment(time) * (int(analyser.max()) + 1) + analyser
    place = place * (int(point.max()) + 1) + point
    key = place * n_gases + gas
    by = _sorting(key)
    same = np.zeros(n, bool)
    same[1:] = key[by][1:] == key[by][:-1]
    if same.any():
        repeat = np.empty(n, "int64")
        repeat[by] = _run_count(same)
        place = place * (int(repeat.max()) + 1) + repeat
        by = _sorting(place)
    # Without repeats the first order has the readings of one visit side by side already.
    new = np.ones(n, bool)
    new[1:] = place[by][1:] != place[by][:-1]
    # Number the visits by their first reading, so that rows of equal time keep the file's order.
    first = np.minimum.reduceat(by, np.flatnonzero(new))
    rank = np.empty(len(first), "int64")
    rank[_sorting(first)] = np.arange(len(first))
    visit = np.empty(n, "int64")
    visit[by] = rank[np.cumsum(new) - 1]
    head = np.sort(first)
    return _join_near(visit, head, time, point, gas, analyser)


def _moment(time: np.ndarray) -> np.ndarray:
    """Return the rank of each time among the different times, shape (n,)."""
    step = np.diff(time)
    if (step >= 0).all():
        return np.concatenate([[0], np.cumsum(step > 0)])
    return np.asarray(np.unique(time, return_inverse=True)[1])


def _sorting(key: np.ndarray) -> np.ndarray:
    """Return the stable order of keys that mostly come in order already."""
    if (np.diff(key) >= 0).all():
        return np.arange(len(key))
    return np.argsort(key, kind="stable")


def _join_near(  # noqa: PLR0913  (the columns of one reading)
    visit: np.ndarray,
    head: np.ndarray,
    time: np.ndarray,
    point: np.ndarray,
    gas: np.ndarray,
    analyser: np.ndarray,
) -> tuple[np.ndarray, int, np.ndarray]:
    """Join visits of one point that follow at once and hold other gases (logged seconds apart)."""
    n_visits, n_gases = len(head), int(gas.max()) + 1
    held = np.zeros((n_visits, n_gases), bool)
    held[visit, gas] = True
    if n_gases == 1 or held.all(axis=1).mean() > 0.9 or n_visits < 4:
        return visit, n_visits, head
    changes = np.flatnonzero(np.diff(point[head]) != 0)
    dwell = np.median(np.diff(time[head][changes])) if len(changes) > 2 else 60e6
    joined = np.zeros(n_visits, bool)
    joined[1:] = (
        (point[head][1:] == point[head][:-1])
        & (analyser[head][1:] == analyser[head][:-1])
        & (np.diff(time[head]) <= SAME_VISIT_DWELL * max(dwell, 1e6))
        & ~(held[1:] & held[:-1]).any(axis=1)
    )
    number = np.cumsum(~joined) - 1
    return number[visit], int(number[-1]) + 1, head[~joined]


def _run_count(same: np.ndarray) -> np.ndarray:
    """Return 0, 1, 2, ... within each run of True that follows a False."""
    index = np.arange(len(same))
    start = np.maximum.accumulate(np.where(~same, index, 0))
    return index - start


def _per_visit_mean(column: np.ndarray, visit: np.ndarray, n_visits: int) -> np.ndarray:
    good = np.isfinite(column)
    if not good.any():
        return np.full(n_visits, np.nan)
    total = np.bincount(visit[good], column[good], n_visits)
    count = np.bincount(visit[good], minlength=n_visits)
    with np.errstate(invalid="ignore"):
        return np.asarray(np.where(count > 0, total / np.maximum(count, 1), np.nan))
