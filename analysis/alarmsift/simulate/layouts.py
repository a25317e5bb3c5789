"""Two other shapes in which ships export readings: one row a visit, and one column a tag."""

from __future__ import annotations

import pandas as pd

from alarmsift.tables.clock import ShipClock
from alarmsift.tables.schema import GAS_UNITS

MBAR_IN_KPA = 10.0
_SHARED = {
    "flow": "Flow [L/min]",
    "suction": "Vacuum [mbar]",
    "temperature": "Sample temp [degC]",
    "humidity": "RH [%RH]",
}


def merged_readings(readings: pd.DataFrame, clock: ShipClock) -> pd.DataFrame:
    """Return one row a visit: date, time, point, a column a gas, flow and vacuum beside.

    Parameters
    ----------
    readings : DataFrame
        Plain layout, times UTC.
    clock : ShipClock
        The times are written by it, day first.
    """
    gases = list(dict.fromkeys(readings["gas"]))
    visit = readings.groupby(["time", "point"], sort=False).ngroup()
    turn = readings.groupby([visit, "gas"], sort=False).cumcount()  # minutes can repeat a visit
    keys = readings.assign(_visit=visit, _turn=turn)
    first = keys[keys["gas"] == gases[0]].set_index(["_visit", "_turn"])
    local = clock.to_ship(first["time"])
    out = pd.DataFrame(
        {
            "Date": local.dt.strftime("%d.%m.%Y"),
            "Time": local.dt.strftime("%H:%M:%S"),
            "Point": first["point"],
        }
    )
    for gas in gases:
        own = keys[keys["gas"] == gas].set_index(["_visit", "_turn"])
        out[f"{gas} [{GAS_UNITS[gas]}]"] = own["value"].reindex(out.index)
    for name, header in _SHARED.items():
        if name in first:
            scale = MBAR_IN_KPA if name == "suction" else 1.0
            out[header] = (first[name] * scale).round(1)
    if "status" in first:
        out["Status"] = first["status"]
    return out


def wide_readings(readings: pd.DataFrame) -> pd.DataFrame:
    """Return a column a point and gas (``POINT.GAS [unit]``), a row a moment, blank elsewhere."""
    tag = (
        readings["point"].astype(str)
        + "."
        + readings["gas"].astype(str)
        + readings["gas"].map(lambda gas: f" [{GAS_UNITS[gas]}]").astype(str)
    )
    kept = readings.assign(_tag=tag)[["time", "_tag", "value"]]
    order = list(dict.fromkeys(tag))
    wide = kept.groupby(["time", "_tag"], sort=True)["value"].last().unstack("_tag")[order]
    wide = wide.dropna(how="all").reset_index()
    return wide.assign(time=wide["time"].dt.strftime("%Y-%m-%dT%H:%M:%SZ"))
