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
from alarmsift.evidence.span_checks import detectors, span_checks
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
    number = dict(zip(by_bout.index, new.cumsum(), strict=True))
    groups = mine.groupby(mine["bout"].map(number), sort=False)
    parts = sorted((part for _, part in groups), key=lambda part: part["from_hour"].min())
    for part in parts:
        gravest = part.sort_values(["p_gas"], ascending=False, kind="stable").iloc[0]
        yield Bouts(
            bouts=tuple(dict.fromkeys(part.sort_values("from_hour", kind="stable")["bout"])),
            point=str(gravest["point"]),
            gas=str(gravest["gas"]),
            treat_as="gas" if (part["treat_as"] == "gas").any() else "unresolved",
            p_gas=float(part["p_gas"].max()),
            outside=bool((part["cause"] == "ambient_vapour").all()),
            raised=float(part["from_hour"].min()),
            until=float(part["to_hour"].max()),
            still=bool(part["cleared"].isna().any()),
        )


def _joined(ship: Ship, alarms: list[Bouts]) -> list[tuple[Bouts, Rise | None]]:
    """Return the alarms with their rises; alarms on one and the same rise are one."""
    out: list[tuple[Bouts, Rise | None]] = []
    last: dict[tuple[str, str], int] = {}
    for one in alarms:
        rise, key = rise_behind(ship, one), (one.point, one.gas)
        before, earlier = out[last[key]] if key in last else (one, None)
        if rise is not None and earlier is not None and rise.start <= earlier.end:
            both = before.with_(one)
            out[last[key]] = (both, rise_behind(ship, both))
            continue
        last[key] = len(out)
        out.append((one, rise))
    return out


def course_of(ship: Ship, point: str, gas: str) -> tuple[np.ndarray, np.ndarray]:
    """Return the visits with a valid reading and the readings, rising with danger.

    Zero, background and the rest of the sample before are taken out.
    """
    at = ship.visits.of(ship.visits.points.index(point))
    value = ship.excess[gas]
    if gas == "O2":
        value = -value
    else:
        value = value - rest_of_before(ship.visits, ship.shown[gas], ship.carry[gas], value)
    value = value[at]
    good = np.isfinite(value)
    return at[good], value[good]


def rise_behind(ship: Ship, one: Bouts) -> Rise | None:
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
    least, most = _share_shown(ship, one, int(ship.visits.analyser[at[0]]), rise)
    low = rise.growth - float(np.hypot(rise.growth - rise.low, unsure))
    high = rise.growth + float(np.hypot(rise.high - rise.growth, unsure))
    return replace(
        rise,
        growth=rise.growth * 2.0 / (least + most),
        low=low / (most if low > 0 else 1.0),
        high=high / least,
        middle=rise.middle * 2.0 / (least + most),
    )


def _share_shown(ship: Ship, one: Bouts, analyser: int, rise: Rise) -> tuple[float, float]:
    """Return the least and most share of the gas that the readings of a rise may show [-].

    All of it may be shown; the rest of the sample before may have kept some away; and the span
    checks around the rise say what the detector showed of test gas.
    """
    gas, p = one.gas, ship.visits.points.index(one.point)
    seen = [1.0, 1.0 - min(float(np.nan_to_num(ship.carry[gas].by_point[p])), MOST_KEPT)]
    for of, code, name in detectors(ship):
        if (of, code) == (gas, analyser):
            checks = span_checks(ship, gas, analyser, name)
            hours = checks["hours"].to_numpy(float)
            before, after = checks[hours <= rise.start], checks[hours >= rise.end]
            found = after[~after["adjust"].astype(bool)]
            seen += [*before["sens"].iloc[-1:], *found["sens"].iloc[:1]]
    near = np.clip(np.array(seen, float), *TOLD)
    return float(near.min()), float(near.max())


def too_small(ship: Ship, one: Bouts, rise: Rise, conditions: pd.DataFrame) -> str:
    """Return why the readings of the rise are too small; blank when they are not."""
    at = ship.visits.of(ship.visits.points.index(one.point))
    at = at[(ship.visits.hours[at] >= rise.start) & (ship.visits.hours[at] <= rise.end)]
    if (ship.visits.status[one.gas][at] == OVER).any():
        return TOP
    mine = conditions[conditions["condition"].isin(TOO_SMALL)]
    name = mine["point"].astype(str)
    mine = mine[(name == one.point) | name.str.startswith(f"detector {one.gas}")]
    start = ship.visits.since(mine["start"])
    end = np.nan_to_num(ship.visits.since(mine["end"]), nan=np.inf)
    return SMALL if ((start <= rise.end) & (end >= rise.start)).any() else ""
