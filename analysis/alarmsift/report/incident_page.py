"""The page of an incident: the story in order, facts apart from inference, fit to be printed."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from markupsafe import Markup

from alarmsift.report.figures import number, percent, text, value_unit
from alarmsift.report.incident_plot import incident_svg, left_undrawn
from alarmsift.report.incident_verdicts import VerdictView, source, verdict_view, what_alarm
from alarmsift.report.render import environment, picture
from alarmsift.report.times import Moment, duration, moment
from alarmsift.report.words import (
    condition_word,
    plain,
    reason_word,
)
from alarmsift.tables.incident import RESPONSES, Incident


@dataclass(frozen=True)
class StoryLine:
    """One row of the timeline."""

    ship: str
    utc: str
    kind: str
    point: str
    gas: str
    what: str
    value: str
    inferred: bool
    before: bool
    source: str


@dataclass(frozen=True)
class ResponseLine:
    """One alarm: what it was, when, and after how long each answer came."""

    what: str
    point: str
    raised: Moment
    answers: tuple[tuple[str, str], ...]  # words, source


@dataclass(frozen=True)
class PointLine:
    """What one point was doing."""

    point: str
    space: str
    visits: str
    watched: str
    why: str
    health: str
    conditions: str


@dataclass(frozen=True)
class DetectorLine:
    """The last check of one kind."""

    gas: str
    check: str
    time: Moment
    age: str
    reference: str
    found: str
    left: str
    error: str
    source: str


@dataclass(frozen=True)
class IncidentPage:
    """All that the template shows."""

    name: str
    start: Moment
    end: Moment
    length: str
    points: tuple[str, ...]
    known_at: Moment | None
    left_out: tuple[str, ...]
    facts: tuple[str, ...]
    clock: tuple[str, ...]
    svg: Markup
    undrawn: int
    story: tuple[StoryLine, ...]
    responses: tuple[ResponseLine, ...]
    watch: tuple[PointLine, ...]
    detectors: tuple[DetectorLine, ...]
    verdicts: tuple[VerdictView, ...]


def write_incident_page(incident: Incident, folder: Path) -> None:
    """Write ``index.html`` and its picture ``story.svg`` into ``folder``."""
    whole, inline = incident_svg(incident)
    (folder / "story.svg").write_text(whole, encoding="utf-8", newline="\n")
    page = incident_page(incident, picture(inline))
    html = environment().get_template("incident.html.j2").render(page=page)
    (folder / "index.html").write_text(html, encoding="utf-8", newline="\n")


def incident_page(incident: Incident, svg: Markup) -> IncidentPage:
    """Return the page's data."""
    asked, clock = incident.asked, incident.clock
    return IncidentPage(
        name=incident.name,
        start=moment(asked.start, clock),
        end=moment(asked.end, clock),
        length=duration((asked.end - asked.start).total_seconds() / 60.0),
        points=asked.points,
        known_at=None if asked.known_at is None else moment(asked.known_at, clock),
        left_out=asked.left_out,
        facts=_facts(incident),
        clock=incident.clock_words,
        svg=svg,
        undrawn=left_undrawn(incident),
        story=tuple(_story(row, incident) for row in incident.timeline.itertuples()),
        responses=tuple(_response(row, incident) for row in incident.responses.itertuples()),
        watch=tuple(_point(row) for row in incident.points.itertuples()),
        detectors=tuple(_detector(row, incident) for row in incident.detectors.itertuples()),
        verdicts=tuple(verdict_view(row, incident) for row in incident.verdicts.itertuples()),
    )


def _facts(incident: Incident) -> tuple[str, ...]:
    """Return what can be counted in the logs, as sentences."""
    line, start = incident.timeline, incident.asked.start
    inside = line[line["time"] >= start]
    raised = inside[inside["what"].str.contains(" raised")]
    out = [
        f"Raised in the window: {_count((raised['kind'] == 'alarm').sum(), 'gas alarm')}, "
        f"{_count((raised['kind'] == 'fault').sum(), 'fault alarm')}."
    ]
    open_ = int((incident.verdicts["raised"] < start).sum())
    if open_:
        out.append(f"Still open from before when it began: {open_}.")
    alarms = incident.responses[incident.responses["kind"] == "alarm"]
    if len(alarms):
        told = [
            f"{int(alarms[f'{name}_time'].notna().sum())} {word}"
            for name, word in zip(RESPONSES, _ANSWERED, strict=True)
        ]
        out.append(f"Of the gas alarms listed below ({len(alarms)}): {', '.join(told)}.")
    out.append(f"Readings logged in the window: {len(incident.rows['readings'])}.")
    if incident.asked.known_at is None:
        refused = len(incident.refused)
        out.append(f"Rows and cells of the whole files that could not be used: {refused}.")
    return tuple(out)


def _count(number_of: int, word: str) -> str:
    return f"{number_of} {word}{'' if number_of == 1 else 's'}"


_ANSWERED = (
    "acknowledged",
    "followed by a resample",
    "followed by ventilation",
    "cleared",
)


def _story(row: Any, incident: Incident) -> StoryLine:
    utc = row.time.strftime("%H:%M:%S")
    day = row.time.strftime("%m-%d ") if str(row.ship_time)[:10] != f"{row.time:%Y-%m-%d}" else ""
    return StoryLine(
        ship=str(row.ship_time),
        utc=f"{day}{utc} UTC",
        kind=plain(row.kind),
        point=text(row.point),
        gas=text(row.gas),
        what=text(row.what),
        value=value_unit(row.value, row.unit),
        inferred=row.basis == "inference",
        before=row.time < incident.asked.start,
        source=source(row.source_file, row.source_row),
    )


def _response(row: Any, incident: Incident) -> ResponseLine:
    answers = []
    for name in RESPONSES:
        minutes = getattr(row, f"{name}_minutes")
        words = duration(minutes) if pd.notna(minutes) else "none logged"
        from_row = source(getattr(row, f"{name}_file"), getattr(row, f"{name}_row"))
        if pd.notna(minutes) and not from_row:
            from_row = "inferred: no row of it"
        answers.append((words, from_row))
    return ResponseLine(
        what=what_alarm(row),
        point=text(row.point),
        raised=moment(row.raised, incident.clock),
        answers=tuple(answers),
    )


def _point(row: Any) -> PointLine:
    why = [part.split(" ", 1) for part in row.unwatched_why.split("; ") if part]
    found = [part.rsplit(" (", 1) for part in row.conditions.split("; ") if part]
    return PointLine(
        point=text(row.point),
        space=text(row.space),
        visits=str(row.visits),
        watched=f"{duration(row.watched_minutes)} of {duration(row.minutes)}",
        why="; ".join(f"{reason_word(name)} {length}" for name, length in why),
        health=", ".join(
            f"{word} {number(value, 2)}"
            for word, value in (("line health", row.line_health), ("flow share", row.flow_share))
            if np.isfinite(value)
        ),
        conditions="; ".join(
            f"{condition_word(name)} ({percent(float(share.rstrip(')')))})" for name, share in found
        ),
    )


def _detector(row: Any, incident: Incident) -> DetectorLine:
    return DetectorLine(
        gas=text(row.gas),
        check=plain(row.check),
        time=moment(row.time, incident.clock),
        age=f"{row.age_days:.1f} days",
        reference=number(row.reference),
        found=number(row.as_found),
        left=number(row.as_left),
        error=number(row.error),
        source=source(row.source_file, row.source_row),
    )
