"""Conditions and detectors as the first page shows them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from alarmsift.report.detector_names import checks_of, detector_pages
from alarmsift.report.figures import number, text, value_unit
from alarmsift.report.times import Moment, moments
from alarmsift.report.words import CHECKED, HELD, condition_word, plain
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
    """One zero or span check; ``grave`` where it is out, not valid or did not hold."""

    time: Moment
    check: str
    reference: str
    as_found: str
    as_left: str
    error: str
    tolerance: str
    sensitivity: str
    drift: str
    due: Moment
    late: str
    verdict: str
    why: str
    grave: bool


@dataclass(frozen=True)
class StandLine:
    """How a detector's zero or span stands: when it is due, when it leaves tolerance."""

    detector: str
    page: str
    kind: str
    checks: int
    last: Moment
    due: Moment
    overdue: str
    slope: str
    level: str
    unit: str
    limit: str
    basis: str
    crosses: str
    why: str
    grave: bool


@dataclass(frozen=True)
class DetectorView:
    """One detector: its plot, checks and conditions; ``hidden`` counts checks not listed."""

    name: str
    page: str
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


def detector_views(
    diagnosis: Diagnosis, svgs: dict[str, str], conditions: tuple[ConditionLine, ...]
) -> tuple[DetectorView, ...]:
    """Return every detector that has a picture in ``svgs``, with its checks and conditions."""
    out, pages = [], detector_pages(diagnosis)
    for name, svg in svgs.items():
        mine = checks_of(diagnosis, name)
        last = mine.iloc[-MOST_CHECK_ROWS:]
        out.append(
            DetectorView(
                name=name,
                page=pages.get(name, ""),
                svg=svg,
                words=f"{len(mine)} checks and adjustments in the logs." if len(mine) else "",
                checks=check_lines(last, diagnosis),
                hidden=len(mine) - len(last),
                conditions=tuple(c for c in conditions if c.point == f"detector {name}"),
            )
        )
    return tuple(out)


def check_lines(frame: pd.DataFrame, diagnosis: Diagnosis) -> tuple[CheckLine, ...]:
    """Return rows of the ledger as lines."""
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
            number(row.tolerance),
            f"{100.0 * row.sensitivity:.0f} %" if number(row.sensitivity) else "",
            number(row.drift_per_day, 2),
            due,
            f"{number(row.late_days, 2)} days" if number(row.late_days) else "",
            HELD.get(text(row.held)) or CHECKED.get(text(row.verdict), ""),
            text(row.why),
            row.verdict in ("out", "not_valid") or row.held == "did_not_hold",
        )
        for row, time, due in zip(frame.itertuples(), times, dues, strict=True)
    )


def stand_lines(diagnosis: Diagnosis) -> tuple[StandLine, ...]:
    """Return how every detector's zero and span stand."""
    frame, clock = diagnosis.detectors, diagnosis.logs.clock
    pages = detector_pages(diagnosis)
    lasts, dues = moments(frame["last_check"], clock), moments(frame["due"], clock)
    ends = [moments(frame[name], clock) for name in ("crosses", "crosses_low", "crosses_high")]
    return tuple(
        StandLine(
            text(row.detector),
            pages.get(text(row.detector), ""),
            text(row.kind),
            int(row.checks),
            last,
            due,
            f"{number(row.overdue_days, 2)} days" if number(row.overdue_days) else "",
            _interval(row.slope, row.slope_low, row.slope_high),
            number(row.level, 2),
            text(row.unit),
            f"± {value_unit(row.tolerance, row.unit)}" if number(row.tolerance) else "",
            text(row.basis),
            _crossing(text(row.forecast), *(end.ship[:10] for end in crossing)),
            text(row.why),
            row.forecast == "passed" or bool(number(row.overdue_days)) or row.not_held > 0,
        )
        for row, last, due, *crossing in zip(frame.itertuples(), lasts, dues, *ends, strict=True)
    )


def _interval(middle: float, low: float, high: float) -> str:
    if not number(low):
        return number(middle, 2)
    return f"{number(middle, 2)} ({number(low, 2)} to {number(high, 2)})"


def _crossing(forecast: str, middle: str, low: str, high: str) -> str:
    """Return the day on which a tolerance is left, as far as it is foreseen."""
    if forecast == "expected":
        return f"{middle} ({low} to {high})"
    if forecast == "no_finite_end":
        return f"{middle} ({low} or later)"
    if forecast == "beyond":
        return "not within a year" + (f" (at the earliest {low})" if low else "")
    return {"passed": "beyond it already", "no_data": "too little seen"}.get(forecast, "")
