"""What an incident hands on to its page and its pack: frames only, nothing left to compute."""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from alarmsift.tables.clock import ShipClock

TIMELINE_COLUMNS = [
    "time",  # UTC
    "ship_time",  # as the ship's clock showed it
    "kind",  # reading, alarm, fault, acknowledgement, operation, ...: KINDS
    "point",
    "gas",
    "what",  # one sentence
    "value",
    "unit",
    "basis",  # fact (stands in the logs) or inference (worked out from them)
    "episode",
    "source_file",
    "source_row",
]
# Kinds of rows, in the order in which rows of one moment are told.
KINDS = (
    "clock",
    "operation",
    "disconnection",
    "calibration",
    "unwatched",
    "reading",
    "fault",
    "alarm",
    "acknowledgement",
    "finding",
)
RESPONSES = ("acknowledge", "resample", "ventilate", "clear")
RESPONSE_COLUMNS = [
    "episode",
    "point",
    "gas",
    "level",
    "kind",
    "raised",
    *(f"{name}{part}" for name in RESPONSES for part in ("_time", "_minutes", "_file", "_row")),
]
POINT_COLUMNS = [
    "point",
    "space",
    "minutes",  # length of the window
    "watched_minutes",
    "unwatched_minutes",
    "unwatched_why",  # reasons with their minutes
    "visits",
    "line_health",  # median of flow over suction against the clean line [-]
    "flow_share",  # median of flow over the clean flow [-]
    "conditions",  # silent failures that reach into the window
]
DETECTOR_COLUMNS = [
    "gas",
    "check",
    "time",
    "age_days",  # at the start of the window
    "reference",
    "as_found",
    "as_left",
    "error",
    "due",
    "source_file",
    "source_row",
]
SOURCE_FILE_COLUMNS = ["file", "table", "layout", "bytes", "sha256", "original_sha256", "left_out"]


@dataclass(frozen=True)
class Asked:
    """What was asked for; times UTC.

    Attributes
    ----------
    start, end : Timestamp
        The window, both ends in it. ``end`` is never after ``known_at``.
    points : tuple of str
        Blank = all.
    known_at : Timestamp or None
        Rows after it are taken as not there.
    left_out : tuple of str
        Columns that are left out of the copies, as asked for.
    """

    start: pd.Timestamp
    end: pd.Timestamp
    points: tuple[str, ...] = ()
    known_at: pd.Timestamp | None = None
    left_out: tuple[str, ...] = ()


@dataclass(frozen=True)
class Incident:
    """One window of one ship.

    Attributes
    ----------
    timeline, responses, points, detectors : DataFrame
        TIMELINE_COLUMNS, RESPONSE_COLUMNS, POINT_COLUMNS, DETECTOR_COLUMNS.
    verdicts : DataFrame
        EPISODE_COLUMNS of the alarms and faults that reach into the window, and
        ``zero_age_days``, ``zero_error``, ``span_age_days``, ``span_error`` at the raise.
    evidence : DataFrame
        ``episode`` and SIGN_COLUMNS.
    conditions, coverage : DataFrame
        CONDITION_COLUMNS and COVERAGE_COLUMNS, what reaches into the window.
    limits : DataFrame
        SETPOINT_COLUMNS, in force in the window at the points asked for.
    refused : DataFrame
        REJECTED_COLUMNS: rows and cells of the whole files that could not be used. None with
        ``known_at``: a row that can't be read has no time that is sure.
    rows : dict of str to DataFrame
        Canonical tables cut to the window and points, with their source columns.
    clock_words : tuple of str
        How the ship's clock stands to UTC, and every doubt about it, as sentences.
    """

    name: str
    asked: Asked
    clock: ShipClock
    timeline: pd.DataFrame
    responses: pd.DataFrame
    points: pd.DataFrame
    detectors: pd.DataFrame
    verdicts: pd.DataFrame
    evidence: pd.DataFrame
    conditions: pd.DataFrame
    coverage: pd.DataFrame
    limits: pd.DataFrame
    refused: pd.DataFrame
    rows: dict[str, pd.DataFrame]
    clock_words: tuple[str, ...]
