"""Possible gas as pages show it: ranges of rate and inflow, never worded as time to spare."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from alarmsift.report.figures import number, text, value_unit
from alarmsift.report.times import Moment, moments
from alarmsift.report.words import severity
from alarmsift.tables.diagnosis import Diagnosis

MOST_GAS = 12


@dataclass(frozen=True)
class GasLine:
    """One rise behind alarms that may be gas; words are blank where nothing is said."""

    point: str
    page: str
    gas: str
    treat_as: str
    raised: Moment
    start: Moment
    rate: str
    why: str
    high: str
    seen: Moment
    earliest: Moment
    inflow: str
    inflow_why: str
    air: str
    first: str
    pair: str
    neighbours: str


def gas_lines(
    diagnosis: Diagnosis, pages: dict[str, str], *, point: str | None = None
) -> tuple[GasLine, ...]:
    """Return the rises, the gravest and latest first.

    Parameters
    ----------
    diagnosis : Diagnosis
    pages : dict
        Point -> page stem.
    point : str or None
        This point's only.
    """
    frame = diagnosis.possible_gas
    if point is not None:
        frame = frame[frame["point"] == point]
    grade = frame["treat_as"].map(severity).astype(float)
    order = frame.assign(grade=grade).sort_values(
        ["grade", "raised"], ascending=[True, False], kind="stable"
    )
    frame = frame.loc[order.index]
    names = ("raised", "rise_start", "high_seen", "earliest_high")
    times = [moments(frame[name], diagnosis.logs.clock) for name in names]
    return tuple(
        GasLine(
            point=str(row.point),
            page=pages.get(str(row.point), ""),
            gas=str(row.gas),
            treat_as=str(row.treat_as),
            raised=raised,
            start=start,
            rate=_rate(row),
            why=_why(row),
            high=value_unit(row.high_setpoint, row.unit),
            seen=seen,
            earliest=earliest,
            inflow=between(row.inflow_low, row.inflow_high, "L/min"),
            inflow_why=text(row.inflow_why),
            air=between(row.air_changes_low, row.air_changes_high, "an hour"),
            first=text(row.rose_first),
            pair=text(row.pair),
            neighbours=text(row.neighbours),
        )
        for row, raised, start, seen, earliest in zip(frame.itertuples(), *times, strict=True)
    )


def _rate(row: Any) -> str:
    unit = f"{row.unit} an hour"
    if row.claim == "at least":
        return f"at least {two_figures(row.growth_low)} {unit}"
    return between(row.growth_low, row.growth_high, unit)


def _why(row: Any) -> str:
    """Return what the rate rests on; a range speaks for itself."""
    if row.claim != "range":
        return text(row.why)
    hours = (row.rise_end - row.rise_start).total_seconds() / 3600.0
    return f"{number(row.visits)} visits in {number(hours)} h."


def two_figures(value: object) -> str:
    """Return a number with two figures, blank when missing."""
    short = number(value, 2)
    return number(float(f"{value:.2g}"), 4) if short else ""


def between(low: object, high: object, unit: str) -> str:
    """Return a range in words, two figures each; blank when an end is missing.

    Examples
    --------
    >>> between(0.4915, 0.6196, "L/min"), between(1.0, float("nan"), "L/min")
    ('0.49 to 0.62 L/min', '')
    >>> between(103.0, 2412.0, "L/min")
    '100 to 2 400 L/min'
    """
    first, last = two_figures(low), two_figures(high)
    return f"{first} to {last} {unit}" if first and last else ""
