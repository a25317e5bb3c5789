"""Does the alarm list go by another clock than the readings?

A gas alarm is raised soon after a reading crosses its setpoint. When the differences between raises
and crossings of the same point, gas and level gather far from nought, the two systems' clocks
differ. That is said, with its uncertainty; only ``alarm_clock_min`` in site.toml changes a time.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from alarmsift.reading.ledger import Books
from alarmsift.tables.site import Site

_WIDEST = 14 * 60.0  # widest difference that is looked for: the widest zone on Earth [min]
_TOGETHER = 6.0  # differences this close speak of one offset [min]; a visit and some lag
# An alarm is raised within so long after its reading when the clocks agree [min]: a round of half
# an hour (MSC.1/Circ.1370, 2.1.2), and one more where a second visit has to confirm.
_LAG = 65.0
_EARLY = 3.0  # and, with clocks of whole minutes, so long before it [min]
_LEAST = 5  # alarms that must agree
_SHARE = 0.6  # of the alarms that could be matched
_CLEAR = 1.5  # times as many alarms as agree on no difference, or on the next best one


@dataclass(frozen=True)
class Offset:
    """How far the alarm list's clock is ahead of the readings' [min]."""

    minutes: float
    uncertainty: float  # half a 95 % interval
    matched: int
    alarms: int


def estimate(
    readings: pd.DataFrame, events: pd.DataFrame, setpoints: pd.DataFrame
) -> Offset | None:
    """Return the offset on which the alarms agree; None when they don't, or when it is none.

    Parameters
    ----------
    readings, events, setpoints : DataFrame
        Canonical tables. Levels without a setpoint are not used.
    """
    differences, alarms = _differences(readings, events, setpoints)
    if len(differences) < _LEAST:
        return None
    minutes = np.array([d for d, _ in differences])
    owner = np.array([i for _, i in differences])
    order = np.argsort(minutes)
    minutes, owner = minutes[order], owner[order]
    ends = np.searchsorted(minutes, minutes + _TOGETHER, side="right")
    counts = np.array([len(set(owner[i:j].tolist())) for i, j in enumerate(ends)])
    best = int(counts.argmax())
    inside = minutes[best : ends[best]]
    middle = float(np.median(inside))
    usual = (minutes >= -_EARLY) & (minutes <= _LAG)
    agree = len(set(owner[usual].tolist()))
    far = np.abs(minutes - middle) > 2 * _TOGETHER
    second = int(counts[far].max(initial=0))
    matched = int(counts[best])
    clear = matched >= _CLEAR * max(second, agree)
    if matched < max(_LEAST, _SHARE * alarms) or not clear or -_EARLY <= middle <= _LAG:
        return None
    # 1.253 s / sqrt(n) is the standard error of a median, s from the quartiles (normal errors).
    spread = float(np.subtract(*np.percentile(inside, [75, 25]))) / 1.349
    half = max(1.96 * 1.253 * spread / np.sqrt(len(inside)), 1.0)
    return Offset(middle, half, matched, alarms)


def _differences(
    readings: pd.DataFrame, events: pd.DataFrame, setpoints: pd.DataFrame
) -> tuple[list[tuple[float, int]], int]:
    """Return (raise less crossing [min], number of the alarm) for all pairs that are near."""
    raised = events[(events["event"] == "alarm") & (events["state"] == "raised")]
    limits = _limits(setpoints)
    out: list[tuple[float, int]] = []
    alarms = 0
    for (gas, level), rows in raised.groupby(["gas", "level"], observed=True):
        mine = readings[(readings["gas"] == gas) & readings["value"].notna()]
        for point, some in rows.groupby("point", observed=True):
            limit = limits.get((str(gas), str(level), str(point))) or limits.get(
                (str(gas), str(level), "")
            )
            here = mine[mine["point"] == point] if limit else mine.iloc[:0]
            if limit is None or not len(here):
                continue
            crossed = _crossings(here, limit)
            times = some["time"].to_numpy("datetime64[us]").astype(np.int64) / 60e6
            pairs = times[:, None] - crossed[None, :]
            for i, j in np.argwhere(np.abs(pairs) <= _WIDEST).tolist():
                out.append((float(pairs[i, j]), alarms + i))
            alarms += len(times)
    return out, alarms


def _limits(setpoints: pd.DataFrame) -> dict[tuple[str, str, str], tuple[float, bool]]:
    """Return (gas, level, point; blank = all) -> setpoint and whether it is for falling values."""
    names = setpoints[["gas", "level", "point", "direction"]].astype("object").fillna("")
    rows = zip(names.itertuples(index=False, name=None), setpoints["value"], strict=True)
    return {(str(g), str(lv), str(p)): (float(v), d == "falling") for (g, lv, p, d), v in rows}


def _crossings(readings: pd.DataFrame, limit: tuple[float, bool]) -> np.ndarray:
    """Return when the readings of one point and gas went over (or under) a limit [min]."""
    value = readings["value"].to_numpy()
    over = value <= limit[0] if limit[1] else value >= limit[0]
    first = over & ~np.concatenate([[False], over[:-1]])
    time = readings["time"].to_numpy("datetime64[us]").astype(np.int64)
    crossed: np.ndarray = time[first] / 60e6
    return crossed


def set_right(frames: dict[str, pd.DataFrame], site: Site, books: Books) -> dict[str, pd.DataFrame]:
    """Return the tables with the alarm list's times shifted as site.toml says; else only tell."""
    if site.alarm_clock_min is not None:
        events = frames["events"]
        shift = pd.to_timedelta(round(site.alarm_clock_min * 60e6), unit="us")
        books.learn(
            f"The alarm list's clock was taken as {site.alarm_clock_min:g} min ahead of the "
            "readings' (alarm_clock_min in site.toml)."
        )
        time = (events["time"] - shift).astype(events["time"].dtype)
        return frames | {"events": events.assign(time=time)}
    found = estimate(frames["readings"], frames["events"], frames["setpoints"])
    if found is not None:
        books.warn(
            f"The alarm list's clock seems to be {abs(found.minutes):.1f} min "
            f"(+/- {found.uncertainty:.1f} min) {'ahead of' if found.minutes > 0 else 'behind'} "
            f"the readings': {found.matched} of {found.alarms} gas alarms then follow a reading "
            f"over the setpoint. Nothing was shifted; the line alarm_clock_min = "
            f"{found.minutes:.1f} in site.toml does it."
        )
    return frames
