"""What one point's history holds for a setpoint study: valid readings, real events, nuisance."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from alarmsift.setpoints.candidate import Setting
from alarmsift.tables.diagnosis import Diagnosis
from alarmsift.tables.schema import GAS_UNITS
from alarmsift.timeline.bouts import BOUT_GAP_HOURS

# Nuisance that maintenance or better work cures; a setpoint must not hide it. A disturbance is
# traced and mended, and jumps past any setpoint.
MENDED = (
    "zero_drift", "blocked", "water", "carry_over", "moisture", "pump", "test_gas", "spike",
)  # fmt: skip
NOTHING, LEFT, MEND, HELD, REAL = range(5)
# A background that is not settled, though gas is under this probability, may come as one alarm that
# stands (and is treated as gas); from here on every bout of it keeps a raise of its own. So do the
# unsettled alarms that the signs call something else, unless a graver level rises with them (CP;
# set on simulated ships).
DOUBTFUL_FROM = 0.05


@dataclass(frozen=True)
class History:
    """One point, gas and level.

    Attributes
    ----------
    hours, danger : ndarray, shape (n,)
        Valid visits: time since the first row [h], and the reading turned so that more is worse.
    kind_of : ndarray of int, shape (n,)
        What an alarm at the visit would be: NOTHING (no verdict), LEFT (nuisance left for a
        setpoint), MEND (nuisance that maintenance cures), HELD (a background near the setpoint by
        its signs, but not settled) or REAL (gas, or unresolved).
    events : ndarray, shape (e, 2)
        Start and end [h] of each event that every setting must raise anew: all that may be gas
        (DOUBTFUL_FROM), and what else is REAL unless it is no gas and an event of a graver level
        told it.
    of_held : ndarray of bool, shape (e,)
        Which of them are HELD.
    held : int
        Alarms of this level that are HELD.
    neighbour_real : int
        Real events at other points of the same space, and at this point on another level.
    today : Setting
        In force at the end of the logs.
    watched : ndarray, shape (d,)
        Share of each day that was watched.
    next_level : float
        Setpoint of the next graver level; infinite where there is none.
    episodes : DataFrame
        The logged alarms of this level.
    origin : Timestamp
        Hour 0.
    lag : float
        How far the alarm list may trail the readings: one round [h].
    stated : float
        The setpoint at the first row of the logs; NaN where nothing states one and it is only
        read from the alarms.
    lowest : bool
        No other level of the gas is safer: it is this one that a published ceiling holds.
    """

    point: str
    space_kind: str
    gas: str
    level: str
    unit: str
    sign: float
    hours: np.ndarray
    danger: np.ndarray
    kind_of: np.ndarray
    events: np.ndarray
    neighbour_real: int
    today: Setting
    next_level: float
    watched: np.ndarray
    episodes: pd.DataFrame
    origin: pd.Timestamp
    lag: float
    of_held: np.ndarray
    held: int = 0
    stated: float = float("nan")
    lowest: bool = True


def histories(diagnosis: Diagnosis) -> list[History]:
    """Return the history of every point, gas and level that has a setpoint and readings."""
    visits, limits = diagnosis.visits, diagnosis.setpoints
    origin = visits["time"].min() if len(visits) else pd.NaT
    last = limits.drop_duplicates(["point", "gas", "level"], keep="last")
    known = limits[limits["source"] != "inferred"]
    known = known.drop_duplicates(["point", "gas", "level"], keep="first")
    stated = known.set_index(["point", "gas", "level"])["value"].to_dict()
    days = int((visits["time"].max() - origin).total_seconds() // 86400) + 1 if len(visits) else 0
    confirm = _confirm(diagnosis)
    alarms = diagnosis.episodes[diagnosis.episodes["kind"] == "alarm"]
    alarms = alarms.assign(grade=_grades(alarms), chance=_real_chance(diagnosis, alarms))
    rows_of = {str(name): rows for name, rows in visits.groupby("point", observed=True)}
    out = []
    for row in last.itertuples():
        point, gas = str(row.point), str(row.gas)
        if point not in rows_of or gas not in visits or not np.isfinite(row.value):
            continue
        band = 0.0 if pd.isna(row.deadband) else float(row.deadband)
        visits_on = confirm.get((gas, str(row.level)), 1)
        today = Setting(float(row.value), band, visits_on, visits_on)
        others = last[(last["point"] == point) & (last["gas"] == gas)]
        others = others.astype({"level": str}).set_index("level")["value"]
        sign = -1.0 if row.direction == "falling" else 1.0
        one = _one(
            diagnosis,
            alarms,
            rows_of[point],
            origin,
            days,
            (point, gas, str(row.level)),
            sign,
            today,
            others[sign * others > sign * today.value],
        )
        lowest = not (sign * others < sign * today.value).any()
        at_first = float(stated.get((row.point, row.gas, row.level), np.nan))
        out.append(replace(one, lowest=lowest, stated=at_first))
    return [one for one in out if len(one.hours)]


def _confirm(diagnosis: Diagnosis) -> dict[tuple[str, str], int]:
    table = diagnosis.logs.setpoints
    rows = table[table["confirm_visits"].notna()]
    found = {
        (str(gas), str(level).lower()): max(1, int(count))
        for gas, level, count in zip(
            rows["gas"], rows["level"], rows["confirm_visits"], strict=True
        )
    }
    return found | {
        (one.gas, one.level.lower()): max(1, int(one.confirm_visits))
        for one in diagnosis.logs.site.setpoints
        if one.confirm_visits is not None
    }


def _one(  # noqa: PLR0913, PLR0917  (the parts of one history)
    diagnosis: Diagnosis,
    alarms: pd.DataFrame,
    rows: pd.DataFrame,
    origin: pd.Timestamp,
    days: int,
    key: tuple[str, str, str],
    sign: float,
    today: Setting,
    graver: pd.Series,
) -> History:
    point, gas, level = key
    value = rows[gas].to_numpy(float)
    status = rows[f"{gas}_status"].astype(object)
    good = np.isfinite(value) & status.isin(["ok", "over_range", "under_range"]).to_numpy()
    hours = _hours(rows["time"], origin)[good]
    cycle = diagnosis.cycle_minutes / 60.0
    mine = alarms[(alarms["point"] == point) & (alarms["gas"] == gas)]
    spans = _spans(mine, origin, cycle)
    what = np.full(len(hours), NOTHING)
    grade = mine["grade"].to_numpy()
    for kind in (LEFT, MEND, HELD, REAL):  # the gravest last, so that it stands
        for start, end in spans[grade == kind]:
            what[np.searchsorted(hours, start) : np.searchsorted(hours, end, "right")] = kind
    here = (mine["level"] == level).to_numpy()
    held = here & (grade == HELD)
    chance = mine["chance"].to_numpy()
    doubtful = (grade >= HELD) & (chance >= DOUBTFUL_FROM)
    above = mine["level"].isin(graver.index).to_numpy() & (doubtful | (grade == REAL))
    raised = mine["raised"].to_numpy()
    told_above = _beside(raised, raised[above], pd.Timedelta(hours=cycle))
    told_above &= (mine["treat_as"] != "gas").to_numpy()
    may_be = ((grade == REAL) & ~told_above) | doubtful
    own = mine[here & (grade >= HELD) & may_be]
    events, of_held = _events(own, held[here & (grade >= HELD) & may_be], origin, cycle)
    day = np.bincount((hours // 24).astype(int), minlength=days)[:days]
    return History(
        point=point,
        space_kind=_about(diagnosis, point, "kind"),
        gas=gas,
        level=level,
        unit=GAS_UNITS.get(gas, ""),
        sign=sign,
        hours=hours,
        danger=sign * value[good],
        kind_of=what,
        events=events,
        of_held=of_held,
        held=int(held.sum()),
        neighbour_real=int(((grade >= HELD) & ~here).sum())
        + _same_space(diagnosis, alarms, point, gas),
        today=today,
        next_level=float(sign * (sign * graver).min()) if len(graver) else np.inf * sign,
        watched=np.minimum(day * cycle / 24.0, 1.0),
        episodes=mine[mine["level"] == level],
        origin=origin,
        lag=cycle,
    )


def _hours(times: pd.Series, origin: pd.Timestamp) -> np.ndarray:
    return np.asarray((times - origin).dt.total_seconds().to_numpy(float) / 3600.0)


def _spans(alarms: pd.DataFrame, origin: pd.Timestamp, cycle: float) -> np.ndarray:
    """Return start and end [h] of each alarm, a visit wider: lists trail the readings."""
    start = _hours(alarms["raised"], origin)
    return np.column_stack([start - cycle, start + alarms["minutes"].to_numpy(float) / 60.0])


def _grades(alarms: pd.DataFrame) -> np.ndarray:
    """Return what each alarm is to a setpoint study: LEFT, MEND, HELD or REAL, shape (E,)."""
    unresolved = alarms["treat_as"] == "unresolved"
    background = alarms["cause"] == "tight_setpoint"
    return np.select(
        [unresolved & background, alarms["treat_as"].isin(["gas", "unresolved"]),
         alarms["cause"].isin(MENDED)],
        [HELD, REAL, MEND],
        LEFT,
    )  # fmt: skip


def _real_chance(diagnosis: Diagnosis, alarms: pd.DataFrame) -> np.ndarray:
    """Return P(gas) + P(ambient_vapour) of each alarm, 1 where a verdict has none, shape (E,)."""
    chance = diagnosis.probabilities[["gas", "ambient_vapour"]].sum(axis=1, min_count=2)
    return chance.reindex(alarms["episode"]).fillna(1.0).to_numpy(float)


def _events(
    alarms: pd.DataFrame, held: np.ndarray, origin: pd.Timestamp, cycle: float
) -> tuple[np.ndarray, np.ndarray]:
    """Return start and end [h] of each event, shape (e, 2), and which are held.

    Alarms of one sort that follow within the gap of a bout are one event, whatever each was called.
    """
    if not len(alarms):
        return np.zeros((0, 2)), np.zeros(0, bool)
    spans = pd.DataFrame(_spans(alarms, origin, cycle), columns=["start", "end"])
    spans["held"] = held
    spans = spans.sort_values(["held", "start"], kind="stable", ignore_index=True)
    until = spans.groupby("held")["end"].cummax().groupby(spans["held"]).shift()
    new = ~(spans["start"] - until <= BOUT_GAP_HOURS)
    joined = spans.groupby(new.cumsum()).agg(
        start=("start", "min"), end=("end", "max"), held=("held", "all")
    )
    times = joined[["start", "end"]].to_numpy(float).reshape(-1, 2)
    return times, joined["held"].to_numpy(bool)


def _beside(times: np.ndarray, others: np.ndarray, reach: pd.Timedelta) -> np.ndarray:
    """Tell which times have one of the others so near to them, shape (n,)."""
    if not len(others):
        return np.zeros(len(times), bool)
    others = np.sort(others)
    after = np.clip(np.searchsorted(others, times), 0, len(others) - 1)
    apart = np.minimum(
        np.abs(others[after] - times), np.abs(others[np.maximum(after - 1, 0)] - times)
    )
    return np.asarray(apart <= reach)


def _about(diagnosis: Diagnosis, point: str, column: str) -> str:
    cell = diagnosis.points.loc[diagnosis.points["point"] == point, column]
    return str(cell.iloc[0]) if len(cell) and pd.notna(cell.iloc[0]) else ""


def _same_space(diagnosis: Diagnosis, alarms: pd.DataFrame, point: str, gas: str) -> int:
    """Return the real alarms of the gas at the other points of the same space."""
    space = _about(diagnosis, point, "space")
    if not space:
        return 0
    table = diagnosis.points
    others = table.loc[(table["space"].astype(str) == space) & (table["point"] != point), "point"]
    real = alarms["treat_as"].isin(["gas", "unresolved"]) & (alarms["gas"] == gas)
    return int((real & alarms["point"].isin(others)).sum())
