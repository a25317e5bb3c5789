"""The table of repairs: alarms and line before and after each, and what became of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import pandas as pd

from alarmsift.repairs.line_level import NO_LEVEL
from alarmsift.repairs.line_outcome import Line, line_levels, line_outcome
from alarmsift.repairs.rates import (
    CLUSTER_HOURS,
    CONFIDENCE,
    clusters,
    dispersion_of,
    in_clusters,
    rate_ratio,
)
from alarmsift.repairs.recurrence import Recurrence, recurrence, trouble_before
from alarmsift.repairs.repair_words import why
from alarmsift.repairs.watched import Watched
from alarmsift.repairs.worklist import Job, Work, jobs_of
from alarmsift.tables.diagnosis import REPAIR_COLUMNS
from alarmsift.tables.labels import text_of
from alarmsift.tables.logs import Logs
from alarmsift.timeline.operations import Operations
from alarmsift.timeline.visits import Visits

# What is compared: at most so long before and after [h] (common practice, no source).
BEFORE_HOURS, AFTER_HOURS = 14.0 * 24.0, 30.0 * 24.0
# Alarms that work itself brings are none: within so long after it [h] (common practice, no source).
AT_WORK_HOURS: Final = 1.0
# Alarms speak for a return rather than a cure from this chance on [-].
LEANING: Final = 0.5


@dataclass(frozen=True)
class Facts:
    """What all repairs are judged by: the ship's alarms and visits, and the ledger."""

    visits: Visits
    alarms: pd.DataFrame  # hour, code (point), gas, level, kind
    health: np.ndarray
    watched: Watched
    ledger: pd.DataFrame
    ends: tuple[float, float]


def repair_table(
    logs: Logs,
    visits: Visits,
    operations: Operations,
    *,
    episodes: pd.DataFrame,
    health: np.ndarray,
    ledger: pd.DataFrame,
) -> pd.DataFrame:
    """Return what each repair did.

    Parameters
    ----------
    logs, visits, operations
        As the timeline made them.
    episodes : DataFrame
        ``point``, ``gas``, ``level``, ``kind``, ``raised``; with a ``cause`` those of test gas are
        left out.
    health : ndarray, shape (n,)
        ln of line health at every visit; NaN where not known.
    ledger : DataFrame
        LEDGER_COLUMNS: whether adjustments held.

    Returns
    -------
    DataFrame
        REPAIR_COLUMNS, in order of time.
    """
    jobs = jobs_of(logs, operations)
    if not jobs:
        return pd.DataFrame(columns=REPAIR_COLUMNS)
    alarms = _alarms(episodes, visits)
    times = [visits.hours[[0, -1]]] if len(visits) else []
    times += [alarms["hour"].to_numpy(float), np.array([job.work.hour for job in jobs])]
    every = np.concatenate(times)
    ends = (float(every.min()), float(every.max()))
    facts = Facts(visits, alarms, health, Watched(visits, ends[1]), ledger, ends)
    rows = [
        _row(number, job, facts, also=_also(job, jobs)) for number, job in enumerate(jobs, start=1)
    ]
    frame = pd.DataFrame(rows)
    frame["time"] = logs.operations["time"].iloc[[job.work.row for job in jobs]].to_numpy()
    frame["time"] = pd.to_datetime(frame["time"], utc=True)
    return frame[REPAIR_COLUMNS]


def _alarms(episodes: pd.DataFrame, visits: Visits) -> pd.DataFrame:
    """Return the alarms that count, in order of time, by the point's index."""
    code = {name: index for index, name in enumerate(visits.points)}
    frame = pd.DataFrame(
        {
            "hour": visits.since(episodes["raised"]),
            "code": episodes["point"].astype(str).map(code).fillna(-1).astype(int),
            "gas": episodes["gas"].astype(object).fillna("").astype(str),
            "level": text_of(episodes["level"]),
            "kind": episodes["kind"].astype(str),
        }
    )
    if "cause" in episodes:
        frame = frame[(episodes["cause"] != "test_gas").to_numpy()]
    return frame.sort_values("hour", kind="stable", ignore_index=True)


def _aimed_at(work: Work, facts: Facts) -> np.ndarray:
    """Return the hours of the alarms that a repair is judged by, in order."""
    alarms, visits = facts.alarms, facts.visits
    mine = np.ones(len(alarms), bool)
    if work.points:
        mine &= alarms["code"].isin(work.points).to_numpy()
    if work.kind != "line":
        mine &= (alarms["kind"] != "fault").to_numpy()
        mine &= (alarms["gas"] == work.gas).to_numpy() | (not work.gas)
    if work.kind == "setpoint" and work.level:
        mine &= (alarms["level"] == work.level).to_numpy()
    if work.kind == "detector" and work.analyser in visits.analysers:
        here = visits.analyser == visits.analysers.index(work.analyser)
        mine &= alarms["code"].isin(np.unique(visits.point[here])).to_numpy()
    return np.asarray(alarms["hour"].to_numpy(float)[mine])


def _row(number: int, job: Job, facts: Facts, *, also: str) -> dict[str, object]:
    work = job.work
    window = (
        max(job.before, job.start - BEFORE_HOURS, facts.ends[0]),
        min(job.after, job.end + AFTER_HOURS, facts.ends[1]),
    )
    hours = _aimed_at(work, facts)
    settled = min(job.end + AT_WORK_HOURS, window[1])
    before = hours[(hours >= window[0]) & (hours < job.start)]
    after = hours[(hours >= settled) & (hours < window[1])]
    moments = np.array([window[0], job.start, settled, window[1]])
    at = facts.watched.at(work.points, moments)
    days = (float(at[1] - at[0]), float(at[3] - at[2]))
    within = CLUSTER_HOURS if in_clusters(before, after) else 0.0
    groups = [clusters(one, within=within) for one in (before, after)]
    spread = dispersion_of(*(np.bincount(group) for group in groups))
    rate = rate_ratio(len(before), len(after), days=days, dispersion=spread)
    first = [
        each[np.unique(g, return_index=True)[1]]
        for each, g in zip((before, after), groups, strict=True)
    ]
    ago = at[1] - facts.watched.at(work.points, first[0])
    later = facts.watched.at(work.points, first[1]) - at[2]
    alarms = recurrence(trouble_before(ago, days[0]), later, days[1])
    measured = Recurrence("no_trouble", np.nan)
    levels = NO_LEVEL
    if work.kind == "line" and work.points:
        rows = np.sort(np.concatenate([facts.visits.of(point) for point in sorted(work.points)]))
        rows = rows[np.isfinite(facts.health[rows])]
        line = Line(facts.visits.hours[rows], facts.health[rows])
        levels = line_levels(line, (job.start, job.end), window)
        measured = line_outcome(levels, line, (job.start, job.end), until=window[1])
    if work.kind == "detector":
        measured = _by_ledger(job, facts)
        if measured.outcome == "too_early" and alarms.outcome == "held":
            measured = Recurrence("no_trouble", np.nan)  # not checked since: the alarms decide
    outcome = together(alarms, measured)
    row = {
        "repair": f"R{number:04d}",
        "point": work.name,
        "gas": work.gas,
        "action": work.action,
        "note": work.note,
        "days_before": days[0],
        "alarms_before": len(before),
        "days_after": days[1],
        "alarms_after": len(after),
        "per_day_before": _per_day(len(before), days[0]),
        "per_day_after": _per_day(len(after), days[1]),
        "ratio": _finite(rate.ratio),
        "ratio_low": rate.low,
        "ratio_high": _finite(rate.high),
        "line_before": levels.before,
        "line_after": levels.after,
        "line_ratio": levels.ratio,
        "line_ratio_low": levels.low,
        "line_ratio_high": levels.high,
        "confidence": CONFIDENCE,
        "outcome": outcome.outcome,
        "days_to_return": outcome.days,
        "also": also,
    }
    return row | {"why": why(row)}


def _per_day(count: int, days: float) -> float:
    return count / days if days > 0.0 else np.nan


def _finite(ratio: float) -> float:
    """Return a ratio, blank where it has no upper end."""
    return ratio if np.isfinite(ratio) else np.nan


def _by_ledger(job: Job, facts: Facts) -> Recurrence:
    """Return whether an adjustment held, by the checks and readings after it."""
    work, ledger = job.work, facts.ledger
    hours = facts.visits.since(pd.to_datetime(ledger["time"], utc=True))
    mine = (ledger["check"] == work.action) & (ledger["gas"] == work.gas)
    mine &= ledger["analyser"] == work.analyser
    rows = ledger[mine & (np.abs(hours - work.hour) < 1e-6)]
    if not len(rows) or rows["held"].iloc[0] == "":
        return Recurrence("no_trouble", np.nan)
    key = {"did_not_hold": "came_back"}.get(rows["held"].iloc[0], rows["held"].iloc[0])
    days = float(rows["held_days"].iloc[0])
    return Recurrence(str(key), days if key == "came_back" else np.nan)


def together(alarms: Recurrence, measured: Recurrence) -> Recurrence:
    """Return one outcome of what the alarms say and what was measured on the line or the detector.

    What came back counts, by either. Where alarms are too few to tell and rather speak for the
    cure, the measure of the thing that was worked on decides; else doubt of either is kept.

    Examples
    --------
    >>> few = Recurrence("too_early", np.nan, chance=0.4)
    >>> together(few, Recurrence("held", np.nan)).outcome
    'held'
    >>> together(few, Recurrence("no_trouble", np.nan)).outcome
    'too_early'
    >>> together(Recurrence("held", np.nan), Recurrence("came_back", 2.0)).days
    2.0
    """
    told = [alarms, measured]
    back = [one for one in told if one.outcome == "came_back"]
    if back:
        return min(back, key=lambda one: one.days)
    if measured.outcome == "held" and not alarms.chance > LEANING:
        return measured
    keys = {one.outcome for one in told}
    for key in ("too_early", "held"):
        if key in keys:
            return Recurrence(key, float("nan"))
    return Recurrence("no_trouble", float("nan"))


def _also(job: Job, jobs: list[Job]) -> str:
    """Return other work in the time compared that can have changed the same alarms."""
    first, last = job.start - BEFORE_HOURS, job.end + AFTER_HOURS
    first, last = max(first, job.before), min(last, job.after)
    others = [
        other.work
        for other in jobs
        if first < other.work.hour < last
        and not other.work.same_target(job.work)
        and job.work.touches(other.work)
    ]
    names = [work.action.replace("_", " ") for work in others]
    counted = {name: names.count(name) for name in names}
    return ", ".join(
        f"{name} ({count})" if count > 1 else name for name, count in list(counted.items())
    )
