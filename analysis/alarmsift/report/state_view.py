"""Conditions and detectors as the first page shows them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from alarmsift.report.figures import number, text
from alarmsift.report.times import Moment, moments
from alarmsift.report.words import condition_word, plain
from alarmsift.tables.clock import ShipClock
from alarmsift.tables.diagnosis import Diagnosis

MOST_CHECK_ROWS, MOST_CONDITIONS = 14, 40


@dataclass(frozen=True)
class ConditionLine:
    """One condition of a line, detector or analyser."""

    point: str
    page: str
    word: str
    start: Moment
    end: Moment
    probability: float
    why: str
    next_check: str


@dataclass(frozen=True)
class CheckLine:
    """One zero or span check."""

    time: Moment
    check: str
    reference: str
    as_found: str
    as_left: str
    error: str
    drift: str
    due: Moment


@dataclass(frozen=True)
class DetectorView:
    """One detector: its plot, checks and conditions; ``hidden`` counts checks not listed."""

    name: str
    svg: str
    words: str
    checks: tuple[CheckLine, ...]
    hidden: int
    conditions: tuple[ConditionLine, ...]


def gravest(conditions: pd.DataFrame) -> pd.DataFrame:
    """Return the conditions to list: still so, then the longest; in the order they came."""
    length = (conditions["end"] - conditions["start"]).dt.total_seconds().fillna(np.inf)
    rows = length.sort_values(ascending=False, kind="stable").index[:MOST_CONDITIONS]
    return conditions.loc[rows.sort_values()]


def condition_lines(
    frame: pd.DataFrame, pages: dict[str, str], clock: ShipClock
) -> tuple[ConditionLine, ...]:
    """Return conditions as lines with the page of their point and ship's times."""
    starts, ends = moments(frame["start"], clock), moments(frame["end"], clock)
    return tuple(
        ConditionLine(
            str(row.point),
            pages.get(str(row.point), ""),
            condition_word(row.condition),
            start,
            end,
            float(row.probability),
            text(row.why),
            text(row.next_check),
        )
        for row, start, end in zip(frame.itertuples(), starts, ends, strict=True)
    )


def detector_name(analyser: object, gas: object, several: bool) -> str:
    """Return the detector's name as conditions write it, without the word "detector"."""
    return f"{gas} ({analyser})" if several and text(analyser) else str(gas)


def detector_views(
    diagnosis: Diagnosis, svgs: dict[str, str], conditions: tuple[ConditionLine, ...]
) -> tuple[DetectorView, ...]:
    """Return every detector that has a picture in ``svgs``, with its checks and conditions."""
    out = []
    for name, svg in svgs.items():
        gas = name.split(" ")[0]
        mine = diagnosis.calibration[diagnosis.calibration["gas"] == gas]
        last = mine.iloc[-MOST_CHECK_ROWS:]
        out.append(
            DetectorView(
                name=name,
                svg=svg,
                words=f"{len(mine)} checks and adjustments in the logs." if len(mine) else "",
                checks=_check_lines(last, diagnosis),
                hidden=len(mine) - len(last),
                conditions=tuple(c for c in conditions if c.point == f"detector {name}"),
            )
        )
    return tuple(out)


def _check_lines(frame: pd.DataFrame, diagnosis: Diagnosis) -> tuple[CheckLine, ...]:
    clock = diagnosis.logs.clock
    times, dues = moments(frame["time"], clock), moments(frame["due"], clock)
    return tuple(
        CheckLine(
            time,
            plain(row.check),
            number(row.reference),
            number(row.as_found),
            number(row.as_left),
            number(row.error),
            number(row.drift_per_day, 2),
            due,
        )
        for row, time, due in zip(frame.itertuples(), times, dues, strict=True)
    )
