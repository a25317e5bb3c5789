"""The rises behind alarms that may be gas: which alarms share one, and how far readings tell it.

Low and high alarms of one point and gas that stand on the same rise are one.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from alarmsift.evidence.carry import rest_of_before
from alarmsift.evidence.rise import Rise, rise_of
from alarmsift.evidence.ship import Ship
from alarmsift.evidence.span_checks import checks_by_detector
from alarmsift.timeline.visits import OVER

# Alarms that are not settled are looked at from this probability of gas; under it a rate would
# mostly be that of moisture or drift (CP).
WORTH_FROM = 0.05
# Share of the shared zero's walk over the rise that may be put down wrongly (CP).
ZERO_UNSURE = 0.25
# No more than this of a sample is a rest of the one before, or the line brings no air at all [-].
MOST_KEPT = 0.5
# Span checks outside this were no checks of a working detector (CP) [-].
TOLD = (0.3, 1.5)
# Conditions under which a reading is too small.
TOO_SMALL = ("water", "blocked", "air_leak", "low_sensitivity")
TOP = "readings went over the top of the display"
SMALL = "the line or the detector was in trouble, so the readings are too small"

Checks = list[tuple[str, int, str, pd.DataFrame]]  # as ``checks_by_detector`` gives them


@dataclass(frozen=True)
class Bouts:
    """Bouts of one point and gas that stood at the same time, low and high alike."""

    bouts: tuple[str, ...]
    point: str
    gas: str
    treat_as: str
    p_gas: float
    outside: bool
    raised: float
    until: float
    still: bool

    def with_(self, later: Bouts) -> Bouts:
        """Return these and later alarms as one."""
        grave = "gas" if "gas" in (self.treat_as, later.treat_as) else "unresolved"
        return replace(
            self,
            bouts=tuple(dict.fromkeys([*self.bouts, *later.bouts])),
            treat_as=grave,
            p_gas=max(self.p_gas, later.p_gas),
            outside=self.outside and later.outside,
            until=max(self.until, later.until),
            still=self.still or later.still,
        )


def alarms_with_rises(ship: Ship, episodes: pd.DataFrame) -> list[tuple[Bouts, Rise | None]]:
    """Return the alarms that are worth a rate (columns of EPISODE_COLUMNS), each with its rise."""
    return _joined(ship, list(_worth(ship, episodes)))


def _worth(ship: Ship, episodes: pd.DataFrame) -> Iterator[Bouts]:
    """Yield the alarms that are worth a rate, those of one point and gas and time together."""
    mine = episodes[(episodes["kind"] == "alarm") & episodes["point"].isin(ship.visits.points)]
    mine = mine[mine["gas"].isin(ship.visits.gases)]
    worth = (mine["treat_as"] == "gas") | (
        (mine["treat_as"] == "unresolved") & (mine["p_gas"] >= WORTH_FROM)
    )
    mine = mine[worth]
    if mine.empty:
        return
    last = float(ship.visits.hours[-1]) if len(ship.visits) else 0.0
    mine = mine.assign(
        from_hour=ship.visits.since(mine["raised"]),
        to_hour=np.nan_to_num(ship.visits.since(mine["cleared"]), nan=last),
    ).sort_values(["point", "gas", "from_hour"], kind="stable")
    by_bout = mine.groupby("bout", sort=False).agg(
        point=("point", "first"),
        gas=("gas", "first"),
        from_hour=("from_hour", "min"),
        to_hour=("to_hour", "max"),
    )
    by_bout = by_bout.sort_values(["point", "gas", "from_hour"], kind="stable")
    reach = by_bout.groupby(["point", "gas"])["to_hour"].cummax().shift(1)
    key = by_bout["point"].astype(str) + "\n" + by_bout["gas"].astype(str)
    new = (key != key.shift(1)) | (by_bout["from_hour"] > reach)
    number = new.cumsum().reindex(mine["bout"]).to_numpy(int)
    names = {name: mine[name].to_numpy(object) for name in ("bout", "point", "gas")}
    begin, end = mine["from_hour"].to_numpy(float), mine["to_hour"].to_numpy(float)
    p_gas, is_gas = mine["p_gas"].to_numpy(float), (mine["treat_as"] == "gas").to_numpy()
    outside = (mine["cause"] == "ambient_vapour").to_numpy()
    still = mine["cleared"].isna().to_numpy()
    groups = [np.flatnonzero(number == one) for one in np.unique(number)]
    for rows in sorted(groups, key=lambda rows: float(begin[rows[0]])):
        yield Bouts(
            bouts=tuple(dict.fromkeys(names["bout"][rows])),
            point=str(names["point"][rows[0]]),
            gas=str(names["gas"][rows[0]]),
            treat_as="gas" if is_gas[rows].any() else "unresolved",
            p_gas=float(p_gas[rows].max()),
            outside=bool(outside[rows].all()),
            raised=float(begin[rows[0]]),
            until=float(end[rows].max()),
            still=bool(still[rows].any()),
        )


def _joined(ship: Ship, alarms: list[Bouts]) -> list[tuple[Bouts, Rise | None]]:
    """Return the alarms with their rises; alarms on one and the same rise are one."""
    out: list[tuple[Bouts, Rise | None]] = []
    last: dict[tuple[str, str], int] = {}
    checks = list(checks_by_detector(ship)) if alarms else []
    for one in alarms:
        rise, key = rise_behind(ship, one, checks), (one.point, one.gas)
        before, earlier = out[last[key]] if key in last else (one, None)
        if rise is not None and earlier is not None and rise.start <= earlier.end:
            both = before.with_(one)
            out[last[key]] = (both, rise_behind(ship, both, checks))
            continue
        last[key] = len(out)
        out.append((one, rise))
    return out


def visits_of(ship: Ship, point: str, gas: str) -> np.ndarray:
    """Return the visits of a point with a valid reading."""
    at = ship.visits.of(ship.visits.points.index(point))
    return np.asarray(at[np.isfinite(ship.excess[gas][at])])


def course_of(ship: Ship, point: str, gas: str) -> tuple[np.ndarray, np.ndarray]:
    """Return the visits with a valid reading and the readings, rising with danger.

    Zero, background and the rest of the sample before are taken out.
    """
    at, excess = visits_of(ship, point, gas), ship.excess[gas]
    if gas == "O2":
        return at, -excess[at]
    return at, excess[at] - rest_of_before(
        ship.visits, ship.shown[gas], ship.carry[gas], excess, at
    )


def rise_behind(ship: Ship, one: Bouts, checks: Checks) -> Rise | None:
    """Return the rise behind the alarms, what the shared zero leaves unsure put in."""
    at, value = course_of(ship, one.point, one.gas)
    noise = float(ship.noise[one.gas][ship.visits.points.index(one.point)])
    hours = ship.visits.hours[at]
    rise = rise_of(hours, value, noise=noise, raised=one.raised, until=one.until)
    if rise is None or not np.isfinite(rise.low):
        return rise
    inside = (hours >= rise.start) & (hours <= rise.end)
    walked = float(np.ptp(ship.zero[one.gas][at[inside]]))
    unsure = ZERO_UNSURE * walked / rise.hours
    analyser = int(ship.visits.analyser[at[0]])
    told = [rows for of, code, _, rows in checks if (of, code) == (one.gas, analyser)]
    least, most = _share_shown(ship, one, told, rise)
    low = rise.growth - float(np.hypot(rise.growth - rise.low, unsure))
    high = rise.growth + float(np.hypot(rise.high - rise.growth, unsure))
    return replace(
        rise,
        growth=rise.growth * 2.0 / (least + most),
        low=low / (most if low > 0 else 1.0),
        high=high / least,
        middle=rise.middle * 2.0 / (least + most),
    )


def _share_shown(
    ship: Ship, one: Bouts, told: list[pd.DataFrame], rise: Rise
) -> tuple[float, float]:
    """Return the least and most share of the gas that the readings of a rise may show [-].

    All of it may be shown; the rest of the sample before may have kept some away; and the span
    checks around the rise say what the detector showed of test gas.
    """
    gas, p = one.gas, ship.visits.points.index(one.point)
    seen = [1.0, 1.0 - min(float(np.nan_to_num(ship.carry[gas].by_point[p])), MOST_KEPT)]
    for checks in told:
        hours, sens = checks["hours"].to_numpy(float), checks["sens"].to_numpy(float)
        found = (hours >= rise.end) & ~checks["adjust"].to_numpy(bool)
        seen += [*sens[hours <= rise.start][-1:], *sens[found][:1]]
    near = np.clip(np.array(seen, float), *TOLD)
    return float(near.min()), float(near.max())


def troubles(ship: Ship, conditions: pd.DataFrame) -> pd.DataFrame:
    """Return the conditions that make readings too small: ``point``, ``start``, ``end`` [h]."""
    mine = conditions[conditions["condition"].isin(TOO_SMALL)]
    start, end = ship.visits.since(mine["start"]), ship.visits.since(mine["end"])
    names = mine["point"].astype(str).to_numpy(object)
    return pd.DataFrame({"point": names, "start": start, "end": np.nan_to_num(end, nan=np.inf)})


def too_small(ship: Ship, one: Bouts, rise: Rise, trouble: pd.DataFrame) -> str:
    """Return why the readings of the rise are too small; blank when they are not."""
    at = ship.visits.of(ship.visits.points.index(one.point))
    at = at[(ship.visits.hours[at] >= rise.start) & (ship.visits.hours[at] <= rise.end)]
    if (ship.visits.status[one.gas][at] == OVER).any():
        return TOP
    start, end = trouble["start"].to_numpy(float), trouble["end"].to_numpy(float)
    then = trouble["point"].to_numpy(object)[(start <= rise.end) & (end >= rise.start)]
    detector = f"detector {one.gas}"
    return SMALL if any(name == one.point or name.startswith(detector) for name in then) else ""
