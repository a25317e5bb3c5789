"""From the logs of a ship to everything that is told of one window of time."""

from __future__ import annotations

import pandas as pd

from alarmsift.incident.asked import TIMED, checked
from alarmsift.incident.clock_words import clock_words
from alarmsift.incident.crossings import crossings
from alarmsift.incident.known_at import logs_up_to
from alarmsift.incident.responses import responses
from alarmsift.incident.timeline import timeline
from alarmsift.incident.watch import calibration_at, detectors_table, points_table, reaching
from alarmsift.pipeline.diagnose import diagnose
from alarmsift.tables.diagnosis import SIGN_COLUMNS, Diagnosis
from alarmsift.tables.incident import Asked, Incident
from alarmsift.tables.logs import Logs
from alarmsift.tables.progress import SILENT, Progress
from alarmsift.tables.schema import TABLES, TIME_DTYPE


def build_incident(logs: Logs, asked: Asked, *, progress: Progress = SILENT) -> Incident:
    """Return the incident; with ``asked.known_at`` from rows up to then only.

    Raises
    ------
    InputError
        When the window or a point can't be had.
    """
    if asked.known_at is not None:
        logs = logs_up_to(logs, asked.known_at)
    asked = checked(asked, logs)
    diagnosis = diagnose(logs, further=False, progress=progress)
    progress.stage("Telling the window in order")
    verdicts = _of_points(reaching(diagnosis.episodes, asked, "raised", "cleared"), asked)
    coverage = _of_points(reaching(diagnosis.coverage, asked, "start", "end"), asked)
    conditions = reaching(diagnosis.conditions, asked, "start", "end")
    times = {"start": TIME_DTYPE, "end": TIME_DTYPE}
    setpoints = _of_points(diagnosis.setpoints, asked).astype(times)
    readings = _of_points(logs.readings, asked)
    crossed = crossings(readings, setpoints, asked)
    return Incident(
        name=logs.name,
        asked=asked,
        clock=logs.clock,
        timeline=timeline(logs, crossed, coverage, verdicts, asked),
        responses=responses(verdicts, logs.events, logs.operations, asked),
        points=points_table(diagnosis, coverage, conditions, asked),
        detectors=detectors_table(diagnosis, asked),
        verdicts=calibration_at(verdicts, diagnosis.calibration),
        evidence=_evidence(diagnosis, verdicts),
        conditions=_of_points(conditions, asked, shipwide=True),
        coverage=coverage,
        limits=_in_force(setpoints, asked),
        refused=logs.ledger.rejected,
        rows=_rows(logs, asked),
        clock_words=clock_words(logs, crossed, asked),
    )


def _of_points(frame: pd.DataFrame, asked: Asked, *, shipwide: bool = False) -> pd.DataFrame:
    """Return the rows of the points asked for; detectors and the analyser go with ``shipwide``."""
    if not asked.points:
        return frame.reset_index(drop=True)
    point = frame["point"].astype(object).fillna("")
    kept = point.isin(asked.points)
    if shipwide:
        kept |= point.str.startswith(("detector ", "analyser"))
    return frame[kept].reset_index(drop=True)


def _in_force(setpoints: pd.DataFrame, asked: Asked) -> pd.DataFrame:
    """Return the setpoints in force in the window; a blank start = from the first row."""
    after = setpoints["end"].isna() | (setpoints["end"] >= asked.start)
    before = setpoints["start"].isna() | (setpoints["start"] <= asked.end)
    return setpoints[before & after].reset_index(drop=True)


def _evidence(diagnosis: Diagnosis, verdicts: pd.DataFrame) -> pd.DataFrame:
    keys = [str(key) for key in verdicts["episode"]]
    parts = [diagnosis.signs(key).assign(episode=key) for key in keys]
    columns = ["episode", *SIGN_COLUMNS]
    return pd.concat(parts, ignore_index=True)[columns] if parts else pd.DataFrame(columns=columns)


def _rows(logs: Logs, asked: Asked) -> dict[str, pd.DataFrame]:
    """Return the canonical rows of the window; tables without a time are given whole."""
    out = {}
    for name in TABLES:
        frame = getattr(logs, name)
        if name in TIMED:
            frame = frame[frame["time"].between(asked.start, asked.end)]
        if asked.points and "point" in frame:
            point = frame["point"].astype(object).fillna("")
            frame = frame[point.isin(asked.points) | (point == "")]
        out[name] = frame.reset_index(drop=True)
    return out
