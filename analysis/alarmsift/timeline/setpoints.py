"""Setpoints in force: from the table, site.toml and the operations log, or seen from the alarms."""

from __future__ import annotations

import numpy as np
import pandas as pd

from alarmsift.tables.diagnosis import SETPOINT_COLUMNS
from alarmsift.tables.labels import text_of
from alarmsift.tables.logs import Logs
from alarmsift.tables.schema import GAS_UNITS
from alarmsift.timeline.visits import Visits

# A raise belongs to the visit at most this long before it [cycles]; alarm lists are often written
# some seconds to minutes after the reading (common practice, no source).
RAISE_LAG_CYCLES = 0.6


def setpoints_in_force(logs: Logs, visits: Visits) -> pd.DataFrame:
    """Return what was set at each point, gas and level, and from when to when.

    Returns
    -------
    DataFrame
        SETPOINT_COLUMNS, sorted; ``source`` says where each row comes from.
    """
    stated = pd.concat([_from_table(logs, visits), _from_site(logs, visits)])
    # The more particular wins: site.toml over the table, a point's own row over "all points".
    stated = stated.drop_duplicates(["point", "gas", "level"], keep="last")
    seen = _inferred(logs, visits, stated)
    stated = pd.concat([stated, seen]) if len(seen) else stated
    return _with_changes(stated, logs, visits)


def _rows(frame: pd.DataFrame, source: str, visits: Visits) -> pd.DataFrame:
    """Spread rows without a point over all points; own rows come after, so that they win."""
    if frame.empty:
        return pd.DataFrame(columns=[*SETPOINT_COLUMNS])
    frame = frame.assign(
        source=source,
        start=pd.NaT,
        end=pd.NaT,
        gas=frame["gas"].astype(str),
        level=text_of(frame["level"]).str.lower(),
        unit=[GAS_UNITS.get(str(gas), "") for gas in frame["gas"]],
        direction=_direction(frame["direction"], frame["gas"]),
    )
    blank = frame["point"].isna() | (frame["point"].astype(str).str.strip() == "")
    everywhere = frame[blank].drop(columns="point")
    spread = everywhere.merge(pd.DataFrame({"point": visits.points}), how="cross")
    return pd.concat([spread, frame[~blank]])[SETPOINT_COLUMNS]


def _direction(direction: pd.Series, gas: pd.Series) -> np.ndarray:
    default = np.where(gas.astype(str) == "O2", "falling", "rising")
    text = direction.astype(object)
    known = text.isin(["rising", "falling"])
    return np.where(known, text, default)


def _from_table(logs: Logs, visits: Visits) -> pd.DataFrame:
    return _rows(logs.setpoints.drop(columns=["source_file", "source_row"]), "table", visits)


def _from_site(logs: Logs, visits: Visits) -> pd.DataFrame:
    fields = ["gas", "level", "value", "unit", "point", "deadband", "confirm_visits", "direction"]
    rows = [{name: getattr(item, name) for name in fields} for item in logs.site.setpoints]
    frame = pd.DataFrame(rows, columns=fields)
    frame["deadband"] = frame["deadband"].astype(float)
    return _rows(frame, "site.toml", visits)


def _with_changes(stated: pd.DataFrame, logs: Logs, visits: Visits) -> pd.DataFrame:
    """Split spans where the operations log changes a setpoint."""
    ops = logs.operations
    ops = ops[(ops["action"] == "setpoint") & ops["value"].notna()]
    if ops.empty:
        return _sorted(stated)
    ops = ops.assign(gas=ops["gas"].astype(object), level=ops["level"].astype(object))
    level = ops["level"].astype(str).str.lower().where(ops["level"].notna())
    changed = pd.DataFrame(
        {
            "gas": ops["gas"],
            "level": level,
            "point": ops["point"].astype(object),
            "value": ops["value"],
            "start": ops["time"],
        }
    )
    parts = []
    keys = stated[["point", "gas", "level"]].drop_duplicates()
    for name in ("gas", "level", "point"):  # a blank cell means every one
        if changed[name].isna().any():
            some = changed[changed[name].isna()].drop(columns=name)
            options = pd.DataFrame({name: keys[name].unique()})
            changed = pd.concat([changed.dropna(subset=[name]), some.merge(options, how="cross")])
    parts.append(
        changed.merge(
            stated.drop(columns=["value", "start", "end", "source"]), on=["point", "gas", "level"]
        ).assign(source="operations", end=pd.NaT)
    )
    both = pd.concat([stated, *parts])
    both["start"] = pd.to_datetime(both["start"], utc=True).astype("datetime64[us, UTC]")
    both = both.sort_values(["point", "gas", "level", "start"], na_position="first", kind="stable")
    both = both[~_unchanged(both)]
    following = both.groupby(["point", "gas", "level"], sort=False)["start"].shift(-1)
    return _sorted(both.assign(end=following))


def _unchanged(spans: pd.DataFrame) -> np.ndarray:
    """Tell which spans, in order, only say again what was in force before, shape (n,)."""
    same = np.zeros(len(spans), bool)
    same[1:] = True
    for name in ("point", "gas", "level", "value", "deadband", "direction"):
        one, other = spans[name].iloc[1:].to_numpy(object), spans[name].iloc[:-1].to_numpy(object)
        same[1:] &= (one == other) | (pd.isna(one) & pd.isna(other))
    return same


def _sorted(frame: pd.DataFrame) -> pd.DataFrame:
    frame = frame.assign(
        start=pd.to_datetime(frame["start"], utc=True).astype("datetime64[us, UTC]"),
        end=pd.to_datetime(frame["end"], utc=True).astype("datetime64[us, UTC]"),
        value=frame["value"].astype(float),
        deadband=frame["deadband"].astype(float),
    )
    by = ["point", "gas", "level", "start"]
    return frame[SETPOINT_COLUMNS].sort_values(by, na_position="first", ignore_index=True)


def crossing_bounds(
    logs: Logs, visits: Visits, gas: str, level: str, *, falling: bool
) -> pd.DataFrame:
    """Return for each raise what the readings say of the setpoint.

    The setpoint lies above the point's reading before the raise and at or below the reading that
    raised it (rising alarms; falling ones mirrored).

    Returns
    -------
    DataFrame
        ``point``, ``hours``, ``below`` (value before), ``at`` (value that raised), signs turned
        for falling alarms so that ``below < at`` always.
    """
    events = logs.events
    chosen = events[
        (events["event"] == "alarm")
        & (events["state"] == "raised")
        & (events["gas"] == gas)
        & (text_of(events["level"]).str.lower() == level)
    ]
    sign = -1.0 if falling else 1.0
    parts = []
    for name, rows in chosen.groupby(chosen["point"].astype(object)):
        if name not in visits.points or gas not in visits.value:
            continue
        mine = visits.of(visits.points.index(str(name)))
        mine = mine[np.isfinite(visits.value[gas][mine])]
        if len(mine) < 2:
            continue
        hours = visits.since(rows["time"])
        at = np.searchsorted(visits.hours[mine], hours + 1e-6, "right") - 1
        good = at >= 1
        lag = hours[good] - visits.hours[mine][at[good]]
        good[good] = lag <= RAISE_LAG_CYCLES * visits.cycle_hours
        value = sign * visits.value[gas][mine]
        parts.append(
            pd.DataFrame(
                {
                    "point": name,
                    "hours": hours[good],
                    "below": value[at[good] - 1],
                    "at": value[at[good]],
                }
            )
        )
    if not parts:
        return pd.DataFrame(columns=["point", "hours", "below", "at"], dtype=float)
    bounds = pd.concat(parts, ignore_index=True)
    return bounds[bounds["below"] < bounds["at"]]


def most_agreed(below: np.ndarray, at: np.ndarray) -> tuple[float, float, float]:
    """Return the setpoint that most intervals (below, at] agree on.

    Parameters
    ----------
    below, at : ndarray, shape (n,)
        Bounds of each raise.

    Returns
    -------
    (float, float, float)
        Setpoint (a round number in the agreed interval where there is one), the share of raises
        that agree, and the width of the agreed interval.
    """
    edges = np.sort(np.unique(at))
    agree = np.searchsorted(np.sort(below), edges, "left") - np.searchsorted(
        np.sort(at), edges, "left"
    )
    best = int(np.argmax(agree))
    high = float(edges[best])
    inside = (below < high) & (at >= high)
    low = float(below[inside].max())
    return _round_number(low, high), float(inside.mean()), high - low


def _round_number(low: float, high: float) -> float:
    """Return the roundest number in (low, high]: setpoints are set by people."""
    for step in (10.0, 5.0, 1.0, 0.5, 0.1):
        candidate = np.floor(high / step + 1e-9) * step
        if candidate > low:
            return float(round(candidate, 6))
    return high


def _inferred(logs: Logs, visits: Visits, stated: pd.DataFrame) -> pd.DataFrame:
    events = logs.events[logs.events["event"] == "alarm"]
    if events.empty:
        return pd.DataFrame(columns=SETPOINT_COLUMNS)
    known = set(zip(stated["gas"], stated["level"], strict=True))
    pairs = events[["gas", "level"]].astype(str)
    pairs = pairs.assign(level=pairs["level"].str.lower()).drop_duplicates()
    parts = []
    for gas, level in pairs.itertuples(index=False):
        if (gas, level) in known or gas not in visits.value:
            continue
        parts += _infer_one(logs, visits, gas, level)
    return pd.DataFrame(parts, columns=SETPOINT_COLUMNS)


def _infer_one(logs: Logs, visits: Visits, gas: str, level: str) -> list[dict[str, object]]:
    """Infer one level for all points; a point whose raises disagree gets its own value."""
    falling = gas == "O2"
    sign = -1.0 if falling else 1.0
    bounds = crossing_bounds(logs, visits, gas, level, falling=falling)
    if bounds.empty:
        return []
    common, _, _ = most_agreed(bounds["below"].to_numpy(), bounds["at"].to_numpy())
    own = dict.fromkeys(visits.points, common)
    for name, rows in bounds.groupby("point"):
        fits = ((rows["below"] < common) & (rows["at"] >= common)).mean()
        if len(rows) >= 3 and fits < 0.5:
            value, share, _ = most_agreed(rows["below"].to_numpy(), rows["at"].to_numpy())
            if share > fits:
                own[str(name)] = value
    base = {
        "gas": gas,
        "level": level,
        "unit": GAS_UNITS.get(gas, ""),
        "deadband": np.nan,
        "direction": "falling" if falling else "rising",
        "start": pd.NaT,
        "end": pd.NaT,
        "source": "inferred",
    }
    return [{**base, "point": name, "value": sign * value} for name, value in own.items()]
