"""Possible gas: how fast each rise grew, what inflow that asks for, and where it rose first.

Every figure is a range worked out from logs, and none is time to spare. A rise at a line or a
detector in trouble shows too little, so there only the least rate is said.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from alarmsift.evidence.alarm_rise import (
    Bouts,
    alarms_with_rises,
    too_small,
    troubles,
    visits_of,
)
from alarmsift.evidence.inflow import Inflow, inflow_of
from alarmsift.evidence.rise import Z_90, Rise
from alarmsift.evidence.rose_first import Company, company_of
from alarmsift.evidence.rule import counted
from alarmsift.evidence.ship import Ship
from alarmsift.tables.diagnosis import POSSIBLE_GAS_COLUMNS
from alarmsift.tables.schema import GAS_UNITS

WORDS = {
    "range": "{gas} grew by {low} to {high} {unit} an hour over {visits} in {hours} h.",
    "at least": "{gas} grew by at least {least} {unit} an hour; {because}.",
    "none": "No rate can be told: {because}.",
}
FEW = "it rose within {visits}, too few for a range"


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
    found = alarms_with_rises(ship, episodes)
    trouble = troubles(ship, conditions)
    rows = [_row(ship, one, rise, trouble) for one, rise in found]
    frame = pd.DataFrame(rows, columns=POSSIBLE_GAS_COLUMNS)
    for name in ("raised", "rise_start", "rise_end", "high_seen", "earliest_high"):
        times = ship.visits.time(frame[name].to_numpy(float))
        frame[name] = pd.Series(times, index=frame.index).astype("datetime64[us, UTC]")
    # Never later than reckoned.
    frame["earliest_high"] = frame["earliest_high"].dt.floor("min")
    return frame


def _row(ship: Ship, one: Bouts, rise: Rise | None, trouble: pd.DataFrame) -> dict[str, object]:
    p = ship.visits.points.index(one.point)
    at = visits_of(ship, one.point, one.gas)
    noise = float(ship.noise[one.gas][p])
    because = "" if rise is None else too_small(ship, one, rise, trouble)
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
