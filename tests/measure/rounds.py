"""Visits, rounds and windows straight from the canonical tables, for what the product is beside.

Nothing of the package's measuring is used: only ``Logs`` and the list of episodes.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import pandas as pd

from alarmsift.tables.logs import Logs

BEFORE, AFTER = 8, 12  # visits of a window before and after the one that raised
GASES = ("HC", "H2S", "CO", "O2")
# Rows of one point further apart are two visits [h]; alarm rows may come as much early.
SAME_VISIT_H = 20.0 / 3600.0
ALARM_ROW_H = 2.0 / 3600.0


@dataclass(frozen=True)
class Rounds:
    """What the sampling rounds showed: V visits by analyser and time, G gases, P points.

    Attributes
    ----------
    hours, point, analyser : ndarray, shape (V,)
        Time [h since the first reading] and indices.
    value : ndarray, shape (V, G)
        As shown, in the gas's unit, tests and faults included.
    test : ndarray of bool, shape (V,)
    flow, suction, temperature, humidity : ndarray, shape (V,)
        [L/min], [kPa], [degC], [%RH].
    """

    logs: Logs
    origin: pd.Timestamp
    points: list[str]
    gases: list[str]
    hours: np.ndarray
    point: np.ndarray
    analyser: np.ndarray
    value: np.ndarray
    test: np.ndarray
    flow: np.ndarray
    suction: np.ndarray
    temperature: np.ndarray
    humidity: np.ndarray

    def since(self, times: pd.Series) -> np.ndarray:
        """Return hours since the first reading."""
        return ((times - self.origin) / pd.Timedelta(hours=1)).to_numpy(float)

    @cached_property
    def drawn(self) -> np.ndarray:
        """Tell which visits have a reading, shape (V,)."""
        return np.isfinite(self.value).any(axis=1)

    @cached_property
    def previous(self) -> np.ndarray:
        """Return the visit before in the round that drew air (V = none), shape (V,)."""
        last = np.maximum.accumulate(np.where(self.drawn, np.arange(len(self.hours)), -1))
        out = np.concatenate([[-1], last[:-1]])
        first = np.searchsorted(self.analyser, self.analyser)
        return np.where(out >= first, out, len(self.hours))

    @cached_property
    def visits_of(self) -> list[np.ndarray]:
        """Return each point's visits with a reading, in order of time."""
        by = np.lexsort((self.hours, self.point))
        by = by[self.drawn[by]]
        return np.split(by, np.searchsorted(self.point[by], np.arange(1, len(self.points))))

    @cached_property
    def cycle(self) -> float:
        """Return the usual time between two visits of a point [h]."""
        gaps = np.concatenate([np.diff(self.hours[v]) for v in self.visits_of])
        gaps = gaps[gaps > 1.5 / 60.0]
        return float(np.median(gaps)) if len(gaps) else 0.3

    @cached_property
    def day(self) -> int:
        """Return the visits of a point in a day."""
        return max(int(24 / self.cycle), 3)

    @cached_property
    def usual(self) -> np.ndarray:
        """Return the median of the point's day before each visit, shape (V, G)."""
        out = np.full(self.value.shape, np.nan)
        for mine in self.visits_of:
            v = pd.DataFrame(self.value[mine])
            out[mine] = v.rolling(self.day, min_periods=3).median().shift(1)
        return out

    @cached_property
    def base(self) -> np.ndarray:
        """Return a low quantile of each point's readings, shape (P, G)."""
        return np.array([pd.DataFrame(self.value[v]).quantile(0.3) for v in self.visits_of])

    @cached_property
    def noise(self) -> np.ndarray:
        """Return the usual change from visit to visit, shape (P, G)."""
        change = [pd.DataFrame(self.value[v]).diff().abs() for v in self.visits_of]
        out = np.array([c.clip(upper=c.quantile(0.9), axis=1).mean() for c in change])
        return np.fmax(out, 0.01 * np.nan_to_num(np.nanmax(self.value, axis=0)))

    @cached_property
    def grid(self) -> np.ndarray:
        """Return readings above ``base``, (rounds, P, G); gaps of two rounds are filled."""
        shape = (int(self.hours.max() / self.cycle) + 2, len(self.points), len(self.gases))
        out = np.full(shape, np.nan)
        at = np.flatnonzero(self.drawn & ~self.test)
        at = at[np.argsort(self.hours[at], kind="stable")]
        where = (self.hours[at] / self.cycle).astype(int), self.point[at]
        out[where] = self.value[at] - self.base[self.point[at]]
        return pd.DataFrame(out.reshape(len(out), -1)).ffill(limit=2).to_numpy().reshape(shape)


@dataclass(frozen=True)
class Raised:
    """The E episodes of a ship in its rounds.

    Attributes
    ----------
    point, gas : ndarray of int, shape (E,)
        Indices; -1 for none.
    raised, cleared, setpoint : ndarray, shape (E,)
    window : ndarray of int, shape (E, BEFORE + 1 + AFTER)
        The point's visits around the one that raised; V for none.
    """

    rounds: Rounds
    table: pd.DataFrame
    point: np.ndarray
    gas: np.ndarray
    raised: np.ndarray
    cleared: np.ndarray
    window: np.ndarray
    setpoint: np.ndarray

    @cached_property
    def fault(self) -> np.ndarray:
        """Tell the fault alarms, shape (E,)."""
        return (self.table["kind"] == "fault").to_numpy()

    def of(self, series: np.ndarray, visit: np.ndarray | None = None) -> np.ndarray:
        """Return a visit series (V,) or (V, G; of the alarm's gas) at visits (E, ...)."""
        visit = self.window if visit is None else visit
        if series.ndim == 1:
            return np.append(series, np.nan)[visit]
        full = np.concatenate([series, np.full((1, series.shape[1]), np.nan)])
        gas = self.gas.reshape(-1, *[1] * (visit.ndim - 1))
        return np.where(gas >= 0, full[visit, np.maximum(gas, 0)], np.nan)

    def own(self, table: np.ndarray) -> np.ndarray:
        """Return a table (P, G) at each episode, shape (E,)."""
        out = table[np.maximum(self.point, 0), np.maximum(self.gas, 0)]
        return np.where((self.point < 0) | (self.gas < 0), np.nan, out)

    def at(self, delta_h: float) -> np.ndarray:
        """Return the point's visit just before raised + delta_h (V = none near), shape (E,)."""
        r = self.rounds
        out = np.full(len(self.raised), len(r.hours))
        for p, mine in enumerate(r.visits_of):
            rows = np.flatnonzero(self.point == p)
            if not len(rows) or not len(mine):
                continue
            when = self.raised[rows] + delta_h + ALARM_ROW_H
            visit = mine[np.clip(np.searchsorted(r.hours[mine], when) - 1, 0, None)]
            out[rows] = np.where(np.abs(when - r.hours[visit]) < 3 * r.cycle, visit, out[rows])
        return out

    def in_grid(self, offsets: np.ndarray) -> np.ndarray:
        """Return all points' readings above base, some rounds off, shape (E, len(offsets), P)."""
        bins = (self.raised / self.rounds.cycle).astype(int)[:, None] + offsets
        bins = np.clip(bins, 0, len(self.rounds.grid) - 1)
        return self.rounds.grid[bins, :, np.maximum(self.gas, 0)[:, None]]


def lay_out(logs: Logs, episodes: pd.DataFrame) -> Raised:
    """Return a ship's episodes in its rounds."""
    r = _rounds(logs)
    point = np.array([r.points.index(p) if p in r.points else -1 for p in episodes["point"]], int)
    gas = np.array([r.gases.index(g) if g in r.gases else -1 for g in episodes["gas"]], int)
    raised, n = r.since(episodes["raised"]), len(r.hours)
    window = np.full((len(episodes), BEFORE + 1 + AFTER), n)
    for p, mine in enumerate(r.visits_of):
        rows = np.flatnonzero(point == p)
        at = np.searchsorted(r.hours[mine], raised[rows] + ALARM_ROW_H, "right") - 1
        position = at[:, None] + np.arange(-BEFORE, AFTER + 1)
        good = (position >= 0) & (position < len(mine)) & (at >= 0)[:, None]
        window[rows] = np.where(good, np.append(mine, n)[np.where(good, position, 0)], n)
    blank = np.full(len(episodes), np.nan)
    cleared = r.since(episodes["cleared"])
    out = Raised(r, episodes, point, gas, raised, cleared, window, blank)
    out.setpoint[:] = _setpoints(out)
    return out


def _rounds(logs: Logs) -> Rounds:
    rows = logs.readings
    origin = rows["time"].min()
    t = ((rows["time"] - origin) / pd.Timedelta(hours=1)).to_numpy(float)
    points = sorted(rows["point"].astype(str).unique())
    gases = [gas for gas in GASES if (rows["gas"] == gas).any()]
    of_point = logs.points.drop_duplicates("point").set_index("point")["analyser"]
    named = rows["analyser"].astype(object).fillna(rows["point"].astype(object).map(of_point))
    analyser = pd.factorize(named)[0]
    order = np.lexsort((np.arange(len(t)), t, analyser))
    rows, t, analyser = rows.iloc[order], t[order], analyser[order]
    point = rows["point"].astype(str).map({p: i for i, p in enumerate(points)}).to_numpy(int)
    new = (np.diff(point) != 0) | (np.diff(analyser) != 0) | (np.diff(t) > SAME_VISIT_H)
    head = np.flatnonzero(np.concatenate([[True], new]))
    visit = np.cumsum(np.concatenate([[True], new])) - 1
    value = np.full((len(head), len(gases)), np.nan)
    status = rows["status"].astype(object)
    for g, gas in enumerate(gases):
        mine = (rows["gas"] == gas).to_numpy()
        shown = rows["value"].to_numpy(float)[mine]
        over = (status[mine] == "over_range").to_numpy() & np.isnan(shown)
        value[visit[mine], g] = np.where(over, np.nanmax(shown, initial=0.0), shown)
    test = np.bincount(visit, (status == "test").to_numpy()) > 0
    air = (
        rows[name].to_numpy(float)[head] for name in ("flow", "suction", "temperature", "humidity")
    )
    return Rounds(
        logs, origin, points, gases, t[head], point[head], analyser[head], value, test, *air
    )


def _setpoints(e: Raised) -> np.ndarray:
    """Return the setpoint of each episode; where no table holds it, the least that ever raised."""
    t = e.table.reset_index(drop=True)
    gas, level = t["gas"].astype(str), t["level"].astype(str).str.lower()
    out = np.full(len(t), np.nan)
    for row in e.rounds.logs.setpoints.itertuples(index=False):
        mine = (gas == row.gas) & (level == str(row.level).lower())
        own = isinstance(row.point, str) and row.point != ""
        mine &= (t["point"] == row.point) if own else ~np.isfinite(out)
        out[mine] = row.value
    least = pd.Series(e.of(e.rounds.value)[:, BEFORE]).groupby([gas, level]).transform("min")
    return np.where(np.isfinite(out), out, least)
