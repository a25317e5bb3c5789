"""Possible gas: how fast each rise grew, what inflow that asks for, and where it rose first.

Every figure is a range worked out from logs, and none is time to spare. A rise at a line or a
detector in trouble shows too little, so there only the least rate is said.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from alarmsift.evidence.carry import rest_of_before
from alarmsift.evidence.inflow import Inflow, inflow_of
from alarmsift.evidence.rise import Z_90, Rise, rise_of
from alarmsift.evidence.rose_first import Company, company_of
from alarmsift.evidence.rule import counted
from alarmsift.evidence.ship import Ship
from alarmsift.evidence.span_checks import detectors, span_checks
from alarmsift.tables.diagnosis import POSSIBLE_GAS_COLUMNS
from alarmsift.tables.schema import GAS_UNITS
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
WORDS = {
    "range": "{gas} grew by {low} to {high} {unit} an hour over {visits} in {hours} h.",
    "at least": "{gas} grew by at least {least} {unit} an hour; {because}.",
    "none": "No rate can be told: {because}.",
}
FEW = "it rose within {visits}, too few for a range"
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


def possible_gas_table(
    ship: Ship, episodes: pd.DataFrame, conditions: pd.DataFrame
) -> pd.DataFrame:
    """Return a row for each rise behind alarms that may be gas.

    Parameters
    ----------
    ship : Ship
    episodes : DataFrame
        EPISODE_COLUMNS.
    conditions : DataFrame
        CONDITION_COLUMNS.

    Returns
    -------
    DataFrame
        POSSIBLE_GAS_COLUMNS, in order of the raise.
    """
    found = _joined(ship, list(_worth(ship, episodes)))
    rows = [_row(ship, one, rise, conditions) for one, rise in found]
    frame = pd.DataFrame(rows, columns=POSSIBLE_GAS_COLUMNS)
    for name in ("raised", "rise_start", "rise_end", "high_seen", "earliest_high"):
        times = ship.visits.time(frame[name].to_numpy(float))
        frame[name] = pd.Series(times, index=frame.index).astype("datetime64[us, UTC]")
    # Never later than reckoned.
    frame["earliest_high"] = frame["earliest_high"].dt.floor("min")
    return frame


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


def _row(ship: Ship, one: Bouts, rise: Rise | None, conditions: pd.DataFrame) -> dict[str, object]:
    p = ship.visits.points.index(one.point)
    at, _ = course_of(ship, one.point, one.gas)
    noise = float(ship.noise[one.gas][p])
    because = "" if rise is None else _too_small(ship, one, rise, conditions)
    row: dict[str, object] = {
        "bouts": " ".join(one.bouts),
        "point": one.point,
        "gas": one.gas,
        "unit": GAS_UNITS.get(one.gas, ""),
        "treat_as": one.treat_as,
        "p_gas": one.p_gas,
        "raised": one.raised,
    }
    if rise is None or (because or not np.isfinite(rise.low)) and rise.least <= 0.0:
        because = "no rise stands clear of the noise and the error of the readings"
        return _filled(row | {"claim": "none", "why": WORDS["none"].format(because=because)})
    claim = "at least" if because or not np.isfinite(rise.low) else "range"
    company = company_of(ship, one.gas, p, rise)
    row |= _rate(
        rise, claim, one, because=because or FEW.format(visits=counted(rise.visits, "visit"))
    )
    row |= times_at_high(ship, one, rise, claim, at=at, noise=noise)
    row |= _inflow(ship, one, rise, claim, company=company)
    row |= {"rose_first": company.first, "pair": company.pair, "neighbours": company.neighbours}
    return _filled(row)


def _filled(row: dict[str, object]) -> dict[str, object]:
    """Return the row with every column, blank where nothing can be said."""
    words = ("rose_first", "pair", "neighbours", "inflow_why")
    blank = {name: "" if name in words else np.nan for name in POSSIBLE_GAS_COLUMNS}
    return blank | row


def _too_small(ship: Ship, one: Bouts, rise: Rise, conditions: pd.DataFrame) -> str:
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


def _rate(rise: Rise, claim: str, one: Bouts, *, because: str) -> dict[str, object]:
    ranged = claim == "range"
    words = WORDS[claim].format(
        gas=one.gas,
        unit=GAS_UNITS.get(one.gas, ""),
        low=two_figures(max(rise.low, 0.0)),
        high=two_figures(rise.high),
        least=two_figures(rise.least),
        visits=counted(rise.visits, "visit"),
        hours=f"{rise.hours:.1f}",
        because=because,
    )
    return {
        "claim": claim,
        "rise_start": rise.start,
        "rise_end": rise.end,
        "visits": rise.visits,
        "growth": rise.growth if ranged else np.nan,
        "growth_low": max(rise.low, 0.0) if ranged else rise.least,
        "growth_high": rise.high if ranged else np.nan,
        "why": words,
    }


def two_figures(value: float) -> str:
    """Return a number with two figures, never as a power of ten.

    Examples
    --------
    >>> two_figures(252.4), two_figures(0.0614), two_figures(9.96)
    ('250', '0.061', '10')
    """
    return f"{float(f'{value:.2g}'):.15g}"


def times_at_high(  # noqa: PLR0913  (what was seen, what was set, and what is claimed of it)
    ship: Ship, one: Bouts, rise: Rise, claim: str, *, at: np.ndarray, noise: float
) -> dict[str, object]:
    """Return when the readings stood at the high setpoint, or could have at the fastest rate."""
    limits = ship.setpoints
    limits = limits[(limits["point"] == one.point) & (limits["gas"] == one.gas)]
    values = limits["value"].to_numpy(float)
    values = values[np.isfinite(values)]
    if not len(values):
        return {}
    sign = -1.0 if one.gas == "O2" else 1.0
    high = sign * float((sign * values).max())
    shown, hours = sign * ship.visits.value[one.gas][at], ship.visits.hours[at]
    inside = (hours >= rise.start) & (hours <= one.until)
    out: dict[str, object] = {"high_setpoint": high}
    over = np.flatnonzero(inside & (shown >= sign * high))
    if len(over):
        return out | {"high_seen": float(hours[over[0]])}
    if claim != "range" or rise.high <= 0:
        return out
    rows = np.flatnonzero(inside)
    # Counted from the last reading where the alarm still stands, else from the highest one.
    here = rows[-1] if one.still else rows[int(np.argmax(shown[rows]))]
    missing = max(sign * high - shown[here] - Z_90 * noise, 0.0)
    return out | {"earliest_high": float(hours[here] + missing / rise.high)}


def _inflow(
    ship: Ship, one: Bouts, rise: Rise, claim: str, *, company: Company
) -> dict[str, object]:
    if claim != "range":
        return {"inflow_why": "No inflow is told where no range of the rate is."}
    if one.outside:
        return {"inflow_why": "The vapour came from outside, so it tells of no inflow here."}
    if company.stronger:
        return {"inflow_why": f"{company.stronger} in the same space shows more: see there."}
    table = ship.logs.points.drop_duplicates("point").set_index("point")["volume_m3"]
    volume = float(table.get(one.point, np.nan))
    found: Inflow = inflow_of(rise, one.gas, volume, ship.logs.site.lfl)
    out: dict[str, object] = {
        "volume_m3": volume,
        "inflow_low": found.low,
        "inflow_high": found.high,
        "inflow_why": found.why,
    }
    if rise.settled and np.isfinite(found.low):
        out |= {"air_changes_low": rise.air_low, "air_changes_high": rise.air_high}
    return out
