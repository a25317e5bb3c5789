"""Repairs as the pages show them: alarms and line before and after, and what became of it."""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from alarmsift.report.figures import number, text
from alarmsift.report.times import Moment, moments
from alarmsift.report.words import REPAIRED, plain
from alarmsift.tables.diagnosis import Diagnosis

MOST_REPAIRS = 40


@dataclass(frozen=True)
class RepairLine:
    """One repair; ``point`` is blank for the whole ship, ``page`` where it has none."""

    repair: str
    time: Moment
    point: str
    page: str
    action: str
    note: str
    before: str
    after: str
    ratio: str
    line: str
    outcome: str
    mark: str
    badge: str
    also: str
    why: str


@dataclass(frozen=True)
class RepairView:
    """The repairs to list, how many of each outcome there are, and how many are not listed."""

    lines: tuple[RepairLine, ...]
    counts: tuple[tuple[str, int], ...]
    hidden: int


def repair_view(diagnosis: Diagnosis, pages: dict[str, str]) -> RepairView:
    """Return the repairs as the first page shows them: those with something to say, the latest."""
    frame = diagnosis.repairs
    spoken = frame[frame["outcome"] != "no_trouble"]
    shown = spoken.iloc[-MOST_REPAIRS:]
    counts = _outcomes(frame).value_counts()
    return RepairView(
        repair_lines(shown, diagnosis, pages),
        tuple((word, int(counts.get(key, 0))) for key, (word, _, _) in REPAIRED.items()),
        len(frame) - len(shown),
    )


def repairs_of(diagnosis: Diagnosis, point: str) -> tuple[RepairLine, ...]:
    """Return the repairs that name a point or its space."""
    points = diagnosis.points
    space = text(points.loc[points["point"] == point, "space"].iloc[0])
    names = {point} | ({space} if space else set())
    frame = diagnosis.repairs
    return repair_lines(frame[frame["point"].isin(names)], diagnosis, {})


def repair_lines(
    frame: pd.DataFrame, diagnosis: Diagnosis, pages: dict[str, str]
) -> tuple[RepairLine, ...]:
    """Return rows of the table of repairs as lines."""
    times = moments(frame["time"], diagnosis.logs.clock)
    return tuple(
        RepairLine(
            repair=text(row.repair),
            time=time,
            point=text(row.point),
            page=pages.get(text(row.point), ""),
            action=" ".join(part for part in (plain(row.action), text(row.gas)) if part),
            note=text(row.note),
            before=_rate(row.alarms_before, row.per_day_before),
            after=_rate(row.alarms_after, row.per_day_after),
            ratio=_range(row.ratio, row.ratio_low, row.ratio_high),
            line=_range(row.line_ratio, row.line_ratio_low, row.line_ratio_high),
            outcome=_outcome(outcome, row.days_to_return),
            mark=REPAIRED[outcome][1],
            badge=REPAIRED[outcome][2],
            also=text(row.also),
            why=text(row.why),
        )
        for row, outcome, time in zip(frame.itertuples(), _outcomes(frame), times, strict=True)
    )


def _rate(count: int, a_day: float) -> str:
    return f"{number(a_day, 2)} ({count})" if number(a_day) else str(count)


def _range(middle: float, low: float, high: float) -> str:
    """Return a ratio with its interval, blank where there is none.

    Examples
    --------
    >>> _range(0.125, 0.019, 0.514), _range(2.0, 0.4, float("nan"))
    ('× 0.12 (0.019 to 0.51)', '× 2 (0.4 and more)')
    """
    if not number(middle):
        return ""
    end = f" to {number(high, 2)}" if number(high) else " and more"
    return f"× {number(middle, 2)} ({number(low, 2)}{end})"


def _outcomes(frame: pd.DataFrame) -> pd.Series:
    """Return the key of REPAIRED for each repair; a setpoint that was moved never held, shape (n,).

    It only counts other readings as alarms.
    """
    moved = (frame["action"].astype(str) == "setpoint") & (frame["outcome"] == "held")
    return frame["outcome"].astype(object).mask(moved, "fewer_alarms").astype(str)


def _outcome(outcome: str, days: float) -> str:
    word = REPAIRED[outcome][0]
    if outcome != "came_back":
        return word
    when = f"{number(days, 2)} days" if days >= 2.0 else f"{number(24.0 * days, 2)} h"
    return "did not help" if days < 0.05 else f"{word} after {when}"
