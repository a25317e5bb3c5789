"""The load that alarms put on people, by published measures, with nuisance and without.

An alarm counts when it is raised; a raise of an alarm that stands already is a repeat and does not.
The published figures are for one operator who answers all alarms of a plant. A gas sampling system
is one of many things that call on a ship's officers, so its share should be far under them.

References
----------
.. [1] ANSI/ISA-18.2 and IEC 62682 (from memory): about 150 alarms a day very likely acceptable,
   about 300 a day the most that is manageable; hours over 30, periods of ten minutes over 10 and
   time in flood each under about 1 %; ten most frequent at most 5 %; none chattering; fewer than 5
   on any day standing over 24 h. They ask for at least 30 days of data.
.. [2] HSE, *Chemicals Sheet 6*: one alarm in ten minutes in steady running.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from alarmsift.tables.diagnosis import ALARM_LOAD_COLUMNS, ALARM_TAG_COLUMNS
from alarmsift.timeline.chatter import WITHIN_SECONDS, WITHIN_VISITS, bursts, chatter_index
from alarmsift.timeline.floods import BUSY_HOUR, FLOOD_ABOVE, counts_by, floods
from alarmsift.timeline.visits import Visits

STANDING_HOURS = 24.0
MOST_FREQUENT = 10
ISA = "ANSI/ISA-18.2, IEC 62682 (not checked against the text)"
HSE = "HSE Chemicals Sheet 6"
KEYS = ["kind", "point", "gas", "level"]

Measure = tuple[str, str, str, str, str]
_MEASURES: tuple[Measure, ...] = (
    # metric, title, unit, guide, source
    ("alarms", "Alarms raised", "alarms", "", ""),
    ("days", "Length of the watch", "days", "at least 30 days of data", ISA),
    ("per_day", "Alarms a day, mean", "1/day", "about 150 acceptable, 300 at most", ISA),
    ("per_hour", "Alarms an hour, mean", "1/h", "about 6 acceptable, 12 at most", ISA),
    ("per_10_min", "Alarms in ten minutes, mean", "1/10 min", "under 1 in steady running", HSE),
    ("most_per_day", "Most alarms on one day (UTC)", "alarms", "", ""),
    ("most_per_10_min", "Most alarms in ten minutes", "alarms", "10 at most", ISA),
    ("over_10", "Ten minutes with over 10 alarms", "%", "under about 1 %", ISA),
    ("over_30", "Hours with over 30 alarms", "%", "under about 1 %", ISA),
    ("floods", "Floods", "floods", "", ISA),
    ("flood_most", "Alarms in the largest flood", "alarms", "", ISA),
    ("flood_time", "Time in flood", "%", "under about 1 %", ISA),
    ("top_ten", "Share of the ten most frequent", "%", "under about 1 %, 5 % at most", ISA),
    ("chattering", "Alarms that chatter", "alarms", "none", ISA),
    ("standing", "Alarms that stood over 24 h", "alarms", "", ISA),
    ("standing_day", "Most standing over 24 h at once", "alarms", "under 5 on any day", ISA),
)


def alarm_load(episodes: pd.DataFrame, visits: Visits) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Return the measures, and the alarms that make the load.

    Parameters
    ----------
    episodes : DataFrame, E rows
        EPISODE_COLUMNS.
    visits : Visits
        For the watch's length, and for chatter counted in visits.

    Returns
    -------
    DataFrame, a row a metric
        ALARM_LOAD_COLUMNS.
    DataFrame, a row an alarm (point, gas and level)
        ALARM_TAG_COLUMNS, the most frequent first.
    """
    raised = visits.since(episodes["raised"])
    cleared = visits.since(episodes["cleared"])
    start, end = _watch(visits, raised, cleared)
    rows = episodes[[*KEYS, "treat_as"]].assign(
        raised=raised,
        cleared=np.where(np.isfinite(cleared), cleared, end),
        visit=_visit_number(episodes, visits, raised),
    )
    rest = rows[rows["treat_as"] != "nuisance"]
    origin = visits.origin.hour * 60.0 + visits.origin.minute + visits.origin.second / 60.0
    tags = [alarm_tags(part) for part in (rows, rest)]
    both = [
        _measured(part, own, (start, end), origin)
        for part, own in zip((rows, rest), tags, strict=True)
    ]
    table = pd.DataFrame(
        [
            (metric, title, unit, both[0][metric], both[1][metric], guide, source)
            for metric, title, unit, guide, source in _MEASURES
        ],
        columns=ALARM_LOAD_COLUMNS,
    )
    return table.astype({"all": float, "without_nuisance": float}), tags[0]


def _watch(visits: Visits, raised: np.ndarray, cleared: np.ndarray) -> tuple[float, float]:
    """Return first and last moment of the logs [h]; at least a minute."""
    seen = visits.hours if len(visits) else np.zeros(0)
    every = np.concatenate([seen, raised, cleared])
    every = every[np.isfinite(every)]
    if not len(every):
        return 0.0, 1.0 / 60.0
    return float(every.min()), float(max(every.max(), every.min() + 1.0 / 60.0))


def _visit_number(episodes: pd.DataFrame, visits: Visits, raised: np.ndarray) -> np.ndarray:
    """Return at which visit of its point each alarm was raised, shape (E,); NaN for faults."""
    out = np.full(len(episodes), np.nan)
    alarm = (episodes["kind"] == "alarm").to_numpy()
    for name, which in episodes.groupby("point", sort=False).indices.items():
        if name in visits.points:
            mine = visits.of(visits.points.index(str(name)))
            hours = visits.hours[mine[visits.drawn[mine]]]
            rows = which[alarm[which]]
            out[rows] = np.searchsorted(hours, raised[rows] + 1e-6, "right")
    return out


def alarm_tags(rows: pd.DataFrame) -> pd.DataFrame:
    """Return the alarms by point, gas and level.

    Parameters
    ----------
    rows : DataFrame, E rows
        ``kind``, ``point``, ``gas``, ``level``, ``treat_as``, ``raised`` and ``cleared`` [h],
        ``visit`` (number of the point's visit; NaN for what has none).
    """
    out = []
    ordered = rows.sort_values("raised", kind="stable")
    raised, visits = ordered["raised"].to_numpy(float), ordered["visit"].to_numpy(float)
    long = ordered["cleared"].to_numpy(float) - raised > STANDING_HOURS
    nuisance = (ordered["treat_as"] == "nuisance").to_numpy()
    keys = ordered[KEYS[1:]].to_numpy(object)
    number = ordered.groupby(KEYS, sort=True, dropna=False).ngroup().to_numpy()
    for part in (np.flatnonzero(number == one) for one in range(number.max(initial=-1) + 1)):
        visit, seconds = visits[part], raised[part] * 3600.0
        scanned = bool(np.isfinite(visit).all())
        when, within = (visit, WITHIN_VISITS) if scanned else (seconds, WITHIN_SECONDS)
        out.append(
            {
                **dict(zip(KEYS[1:], keys[part[0]], strict=True)),
                "raises": len(part),
                "share": len(part) / len(rows),
                "nuisance": int(nuisance[part].sum()),
                "chatter_index": chatter_index(visit) if scanned else np.nan,
                "chattering": bool(bursts(when, within=float(within)).any()),
                "standing": int(long[part].sum()),
            }
        )
    frame = pd.DataFrame(out, columns=ALARM_TAG_COLUMNS)
    return frame.sort_values("raises", ascending=False, kind="stable", ignore_index=True)


def _measured(
    rows: pd.DataFrame, tags: pd.DataFrame, span: tuple[float, float], origin: float
) -> dict[str, float]:
    """Return every measure.

    ``tags`` is what ``alarm_tags`` gives, ``span`` first and last moment of the logs [h], and
    ``origin`` hour 0 by the clock [min since midnight UTC].
    """
    hours, number = span[1] - span[0], len(rows)
    minutes = rows["raised"].to_numpy(float) * 60.0 + origin
    watch = (span[0] * 60.0 + origin, span[1] * 60.0 + origin)
    flood = floods(minutes, *watch)
    in_hours = counts_by(minutes, *watch, period=60.0)
    in_days = counts_by(minutes, *watch, period=1440.0)
    long = (rows["cleared"] - rows["raised"]) > STANDING_HOURS
    return {
        "alarms": number,
        "days": hours / 24.0,
        "per_day": 24.0 * number / hours,
        "per_hour": number / hours,
        "per_10_min": number / hours / 6.0,
        "most_per_day": int(in_days.max()),
        "most_per_10_min": int(flood.counts.max()),
        "over_10": _percent(flood.counts > FLOOD_ABOVE),
        "over_30": _percent(in_hours > BUSY_HOUR),
        "floods": flood.number,
        "flood_most": flood.most,
        "flood_time": _percent(flood.flooded),
        "top_ten": 100.0 * float(tags["share"].iloc[:MOST_FREQUENT].sum()) if number else 0.0,
        "chattering": int(tags["chattering"].sum()),
        "standing": int(long.sum()),
        "standing_day": _most_at_once(
            rows.loc[long, "raised"].to_numpy(float) + STANDING_HOURS,
            rows.loc[long, "cleared"].to_numpy(float),
        ),
    }


def _percent(part: np.ndarray) -> float:
    return 100.0 * float(np.mean(part))


def _most_at_once(start: np.ndarray, end: np.ndarray) -> int:
    """Return how many spans overlap at most."""
    if not len(start):
        return 0
    begun = np.arange(1, len(start) + 1)
    over = np.searchsorted(np.sort(end), np.sort(start), "right")
    return int((begun - over).max())
