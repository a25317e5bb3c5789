"""What each alarm of an incident most likely was, as its page shows it, with its rows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from alarmsift.report.evidence_view import Bar, weight_bar
from alarmsift.report.figures import number, percent, text
from alarmsift.report.times import Moment, moment
from alarmsift.report.words import Look, cause_look, ending_word
from alarmsift.tables.incident import Incident

LEAST_DB = 0.5  # a sign that weighs less on both sides is in evidence.csv only [dB]


@dataclass(frozen=True)
class SignLine:
    """One sign behind a verdict."""

    words: str
    cause_bar: Bar
    gas_bar: Bar
    source: str


@dataclass(frozen=True)
class VerdictView:
    """One alarm as the signs have it."""

    episode: str
    what: str
    point: str
    raised: Moment
    cleared: str
    look: Look
    treat_as: str
    probability: str
    p_gas: str
    runner_up: str
    why: str
    next_check: str
    calibration: str
    signs: tuple[SignLine, ...]


def verdict_view(row: Any, incident: Incident) -> VerdictView:
    """Return one row of the verdicts with the signs that weigh something."""
    signs = incident.evidence[incident.evidence["episode"] == row.episode]
    heavy = (signs[["for_cause", "for_gas"]].abs() >= LEAST_DB).any(axis=1)
    return VerdictView(
        episode=str(row.episode),
        what=what_alarm(row),
        point=text(row.point),
        raised=moment(row.raised, incident.clock),
        cleared=ending_word(row.ended_by) if pd.notna(row.cleared) else "still open",
        look=cause_look(row.cause),
        treat_as=str(row.treat_as),
        probability=percent(row.probability),
        p_gas=percent(row.p_gas) if row.kind == "alarm" else "",
        runner_up=cause_look(row.runner_up).word if text(row.runner_up) else "",
        why=text(row.why),
        next_check=text(row.next_check),
        calibration=_calibration(row),
        signs=tuple(_sign(one) for one in signs[heavy].itertuples()),
    )


def _calibration(row: Any) -> str:
    """Return the age and error of the detector's last checks at the raise."""
    told = [
        f"{kind} check {age:.1f} days before, error {number(error)}"
        for kind, age, error in (
            ("zero", row.zero_age_days, row.zero_error),
            ("span", row.span_age_days, row.span_error),
        )
        if np.isfinite(age)
    ]
    if told:
        return "; ".join(told)
    return "no check of this detector is logged before it" if text(row.gas) else ""


def _sign(one: Any) -> SignLine:
    first, last = one.first_row, one.last_row
    where = source(one.source_file, first)
    if where and pd.notna(last) and last != first:
        where = f"{one.source_file}, rows {int(first)} to {int(last)}"
    return SignLine(
        words=text(one.words),
        cause_bar=weight_bar(one.for_cause),
        gas_bar=weight_bar(one.for_gas),
        source=where,
    )


def what_alarm(row: Any) -> str:
    """Return gas, level and kind of an alarm in words."""
    return " ".join(part for part in (text(row.gas), text(row.level), text(row.kind)) if part)


def source(file: object, row: object) -> str:
    """Return the source of a fact; blank when there is none.

    Examples
    --------
    >>> source("events.csv", 12.0), source("", float("nan"))
    ('events.csv, row 12', '')
    """
    if not text(file) or row is None or not np.isfinite(float(row)):  # type: ignore[arg-type]
        return ""
    return f"{file}, row {int(float(row))}"  # type: ignore[arg-type]
