"""``report.pdf``: the first page's summary, and a page for each point that asks for a person."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pandas as pd

from alarmsift.report.alarm_list import AlarmLine, alarm_lines, clipped, gravest_first
from alarmsift.report.figures import number, percent, sentence, text
from alarmsift.report.gas_view import gas_lines
from alarmsift.report.index_page import IndexPage
from alarmsift.report.pdf_pictures import (
    DailyHighest,
    daily_highest,
    days_height,
    draw_daily,
    draw_days,
)
from alarmsift.report.pdf_sheet import GRAVE, SOFT, UNDATED, Sheets
from alarmsift.report.pdf_table import Column, Row, draw_table
from alarmsift.report.state_view import condition_lines
from alarmsift.report.times import Moment, duration
from alarmsift.report.urgent import last_row
from alarmsift.report.words import CAUTIONS, REASON_GROUPS, TREAT_AS
from alarmsift.tables.diagnosis import Diagnosis

MOST_ALARMS = 10  # of one point's page; the gravest and latest
MOST_GAS = 4


def write_pdf(diagnosis: Diagnosis, page: IndexPage, pages: dict[str, str], path: Path) -> None:
    """Write the PDF.

    Parameters
    ----------
    diagnosis : Diagnosis
        What the points' pages are drawn from.
    page : IndexPage
        What the first page of the report shows: the summary is the same.
    pages : dict
        Point -> page stem.
    path : Path
        Where it is written.
    """
    ship = page.name or "Unnamed ship"
    period = f"{page.first.ship} to {page.last.ship}, ship's time" if page.first.iso else "no rows"
    last = last_row(diagnosis)
    made = UNDATED if pd.isna(last) else last.floor("s").to_pydatetime()
    sheets = Sheets(f"{ship}: gas alarms", period, caution=CAUTIONS[0], made=made)
    sheets.add_page()
    _front(sheets, page, ship)
    _now(sheets, page)
    _period(sheets, page)
    _standing(sheets, page)
    for point, charts in _charts(diagnosis, _asking(page, pages)):
        _point(sheets, diagnosis, page, point, pages=pages, charts=charts)
    _cautions(sheets, page)
    path.write_bytes(bytes(sheets.output()))


def _when(moment: Moment) -> str:
    return f"{moment.ship} ({moment.utc})" if moment.iso else ""


def _front(sheets: Sheets, page: IndexPage, ship: str) -> None:
    sheets.paragraph(
        "What the gas alarms were, and which points are not really watched", colour=SOFT
    )
    sheets.ink(20, bold=True)
    for line in sheets.lines(ship, sheets.epw):
        sheets.cell(0, 9, line)
        sheets.ln(9)
    if page.first.iso:
        sheets.paragraph(f"{_when(page.first)} to {_when(page.last)}, {page.length}", bold=True)
    round_words = f", a round takes about {page.cycle}" if page.cycle else ""
    sheets.paragraph(
        f"{len(page.points)} points{round_words}. Ship's time: {page.clock}.", colour=SOFT
    )
    sheets.ln(1)
    sheets.rule()
    sheets.ln(2)
    sheets.paragraph(f"{CAUTIONS[0]} {CAUTIONS[1]}", bold=True)
    sheets.paragraph(CAUTIONS[2])
    if page.weights:
        sheets.paragraph(page.weights, bold=True)
    counts = "; ".join(
        f"{mark} {word.lower()} {page.treat[key]}" for key, (word, mark, _) in TREAT_AS.items()
    )
    still = f", {page.open} still open" if page.open else ""
    sheets.paragraph(
        f"{page.alarms} gas alarms{still}, and {page.faults} fault alarms. By how they are to be "
        f"treated: {counts}."
    )


def _now(sheets: Sheets, page: IndexPage) -> None:
    sheets.heading("Needs a person now", size=14)
    if not page.urgent:
        sheets.paragraph("Nothing in these logs asks for a person now. No proof that all is well.")
    for group in page.urgent:
        sheets.heading(group.title, size=10.5)
        rows = [
            Row(
                (
                    view.item.where,
                    sentence(clipped(view.item.reason or view.item.detail)),
                    _when(view.since),
                    view.item.next_check,
                ),
                grave=group.key in ("gas", "cut_off"),
            )
            for view in group.items
        ]
        columns = (
            Column("Where", 24),
            Column("Why", 56),
            Column("Since", 24),
            Column("Next check", 34),
        )
        draw_table(sheets, columns, rows)


def _period(sheets: Sheets, page: IndexPage) -> None:
    if not page.panels:
        return
    sheets.room(32 + days_height(page.panels[0].panel))
    sheets.heading("The whole period, day by day", size=14)
    legend = ", ".join(f"{look.letter} {look.word}" for look in page.day_looks)
    sheets.paragraph(
        f"A letter says what a day's alarms mostly were, the gravest first: {legend or 'none'}. "
        "A heavy frame: treat as gas. A grey bar at the foot: hours for which nobody watched."
    )
    for drawing in page.panels:
        draw_days(sheets, drawing.panel)


def _standing(sheets: Sheets, page: IndexPage) -> None:
    if page.causes:
        _causes(sheets, page)
    if page.stands:
        sheets.heading("Detectors")
        columns = (Column("Detector", 22), Column("Last check, next due", 40), Column("Said", 78))
        rows = [
            Row((f"{s.detector} {s.kind}", _due(s.last, s.due), sentence(s.why)), grave=s.grave)
            for s in page.stands
        ]
        draw_table(sheets, columns, rows)
    if any(row.all_hours > 0 for row in page.watch.rows):
        _unwatched(sheets, page)


def _causes(sheets: Sheets, page: IndexPage) -> None:
    sheets.heading("Gas alarms by cause")
    columns = [Column("Cause", 40), Column("Alarms", 14, number=True)]
    columns += [Column(word, 20, number=True) for word, _, _ in TREAT_AS.values()]
    columns += [Column("Points", 14, number=True), Column("In all", 22, number=True)]
    rows = [
        Row(
            (
                one.look.word,
                str(one.total),
                *(str(one.counts[key] or "") for key in TREAT_AS),
                str(one.points),
                one.minutes,
            ),
            grave=one.counts["gas"] + one.counts["unresolved"] > 0,
        )
        for one in page.causes
    ]
    draw_table(sheets, columns, rows)


def _unwatched(sheets: Sheets, page: IndexPage) -> None:
    sheets.heading(f"Unwatched for longer than {page.cycle_limit} minutes")
    columns = (
        Column("Point", 36),
        Column("Hours", 14, number=True),
        Column("Of the time", 16, number=True),
        Column("Longest", 20, number=True),
        *(Column(words, 26, number=True) for words in REASON_GROUPS.values()),
    )
    rows = [
        Row(
            (
                row.point,
                number(row.all_hours),
                percent(row.share),
                duration(row.longest_minutes),
                *(number(row.hours[key]) if key in row.hours else "" for key in REASON_GROUPS),
            )
        )
        for row in page.watch.rows
        if row.all_hours > 0
    ]
    draw_table(sheets, columns, rows)


def _due(last: Moment, due: Moment) -> str:
    if not last.iso:
        return "never in these logs"
    return f"{last.ship}; due {due.ship}" if due.iso else last.ship


def _asking(page: IndexPage, pages: dict[str, str]) -> list[str]:
    """Return the points with a sheet of their own, the most urgent first."""
    where = dict.fromkeys(item.where for item in page.urgent_items)
    return [point for point in where if point in pages]


def _charts(diagnosis: Diagnosis, points: list[str]) -> Iterator[tuple[str, list[DailyHighest]]]:
    """Yield each point with the highest readings of its days."""
    visits, limits = diagnosis.visits, diagnosis.setpoints
    rows = visits.groupby("point", observed=True).indices if len(visits) else {}
    for point in points:
        mine = visits.iloc[rows.get(point, [])]
        held = limits[(limits["point"] == point).to_numpy()]
        yield point, daily_highest(mine, held, diagnosis.logs.clock)


def _point(
    sheets: Sheets,
    diagnosis: Diagnosis,
    page: IndexPage,
    point: str,
    *,
    pages: dict[str, str],
    charts: list[DailyHighest],
) -> None:
    row = next(row for row in diagnosis.points.itertuples() if str(row.point) == point)
    sheets.add_page()
    sheets.start_section(sheets.fit(point))
    sheets.heading(point, size=16)
    if text(row.space):
        sheets.paragraph(text(row.space), colour=SOFT)
    if text(row.headline):
        sheets.paragraph(sentence(text(row.headline)), size=10.5)
    if text(row.next_check):
        sheets.paragraph(f"Next check: {text(row.next_check)}", bold=True)
    for chart in charts:
        draw_daily(sheets, chart)
    mine = gravest_first(diagnosis.episodes[diagnosis.episodes["point"] == point])
    if len(mine):
        sheets.heading("Alarms")
        if len(mine) > MOST_ALARMS:
            sheets.paragraph(
                f"The gravest and latest {MOST_ALARMS} of {len(mine)}; all are in episodes.csv.",
                colour=SOFT,
            )
        _alarms(sheets, alarm_lines(mine.iloc[:MOST_ALARMS], diagnosis, pages))
    _gas(sheets, diagnosis, point, pages)
    now = diagnosis.conditions[(diagnosis.conditions["point"] == point).to_numpy()]
    for one in condition_lines(now[now["end"].isna()], pages, diagnosis.logs.clock):
        sheets.paragraph(
            f"Still so: {one.word}, since {_when(one.start)} ({percent(one.probability)} likely). "
            f"{sentence(one.why)}"
        )
    for blind in page.watch.rows:
        if blind.point == point and blind.all_hours > 0:
            sheets.paragraph(
                f"Unwatched for {number(blind.all_hours)} h in all ({percent(blind.share)} of the "
                f"time), at most {duration(blind.longest_minutes)} at a stretch."
            )


def _alarms(sheets: Sheets, lines: tuple[AlarmLine, ...]) -> None:
    columns = (
        Column("Alarm", 13),
        Column("Raised", 27),
        Column("What", 18),
        Column("Most likely", 25),
        Column("Treat as", 24),
        Column("Lasted", 18, number=True),
        Column("Peak", 18, number=True),
    )
    rows = [
        Row(
            (
                one.episode,
                _when(one.raised),
                one.what,
                one.look.word,
                f"{TREAT_AS[one.treat_as][1]} {TREAT_AS[one.treat_as][0]}",
                ("open, " if one.open else "") + one.length,
                one.peak,
            ),
            grave=one.gas,
        )
        for one in lines
    ]
    draw_table(sheets, columns, rows)


def _gas(sheets: Sheets, diagnosis: Diagnosis, point: str, pages: dict[str, str]) -> None:
    lines = gas_lines(diagnosis, pages, point=point)[:MOST_GAS]
    if not lines:
        return
    sheets.heading("Possible gas: how fast it grew")
    sheets.paragraph(f"{CAUTIONS[5]} Act on every alarm at once.", bold=True, colour=GRAVE)
    columns = (
        Column("Gas", 10),
        Column("Raised", 28),
        Column("Growth, 90 % range", 44),
        Column("Vapour inflow, 90 % range", 44),
        Column("Rose first", 22),
    )
    rows = [
        Row(
            (
                g.gas,
                _when(g.raised),
                f"{g.rate}. {g.why}" if g.rate else g.why,
                f"{g.inflow}. {g.inflow_why}" if g.inflow else g.inflow_why,
                g.first,
            ),
            grave=g.treat_as == "gas",
        )
        for g in lines
    ]
    draw_table(sheets, columns, rows)


def _cautions(sheets: Sheets, page: IndexPage) -> None:
    sheets.heading("Cautions", size=14)
    for line in CAUTIONS:
        sheets.paragraph(f"• {line}")
    sheets.paragraph(
        f"Made by alarmsift {page.version}. index.html beside this file has the evidence behind "
        "each verdict, and every alarm.",
        colour=SOFT,
    )
    if sheets.lost:
        sheets.paragraph(sheets.lost_words(), bold=True)
