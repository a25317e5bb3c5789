"""Every alarm in a row, as the first page lists them for sorting, filtering and searching."""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from alarmsift.report.figures import number, text, value_unit
from alarmsift.report.times import Moment, duration, moments
from alarmsift.report.urgent import last_row
from alarmsift.report.words import CAUSES, TREAT_AS, Look, cause_look, severity
from alarmsift.tables.diagnosis import NOT_SETTLED, Diagnosis

MOST_ALARMS = 1500  # of one page: it stays under 1.5 MB
LONGEST_WHY = 160  # letters; the whole sentence is on the point's page
LEAST_OF_IT = 100  # of what comes before what keeps it open


@dataclass(frozen=True)
class AlarmLine:
    """One alarm; ``last_day`` is the ship's date on which it ended or the logs did."""

    episode: str
    point: str
    page: str
    what: str
    cause: str
    look: Look
    raised: Moment
    last_day: str
    minutes: str
    length: str
    open: bool
    value: str
    peak: str
    treat_as: str
    gas: bool
    why: str


@dataclass(frozen=True)
class AlarmList:
    """The rows, the latest first, and what the choices of the filter are.

    ``hidden`` and ``hidden_gas`` count alarms that are in episodes.csv only.
    """

    lines: tuple[AlarmLine, ...]
    hidden: int
    hidden_gas: int
    causes: tuple[tuple[str, str], ...]
    points: tuple[str, ...]
    first_day: str
    last_day: str


def alarm_list(diagnosis: Diagnosis, pages: dict[str, str]) -> AlarmList:
    """Return the gravest ``MOST_ALARMS`` alarms of the logs, the latest first.

    Parameters
    ----------
    diagnosis : Diagnosis
        Its episodes are listed.
    pages : dict
        Point -> page stem.
    """
    every = gravest_first(diagnosis.episodes)
    kept, left = every.iloc[:MOST_ALARMS], every.iloc[MOST_ALARMS:]
    kept = kept.sort_values(["raised", "episode"], ascending=False, kind="stable")
    lines = alarm_lines(kept, diagnosis, pages)
    days = sorted({line.raised.ship[:10] for line in lines} | {line.last_day for line in lines})
    there = set(kept["cause"].astype(str))
    return AlarmList(
        lines=lines,
        hidden=len(left),
        hidden_gas=sum(severity(one) <= severity("unresolved") for one in left["treat_as"]),
        causes=tuple((key, look.word) for key, look in CAUSES.items() if key in there),
        points=tuple(point for point in pages if point in set(kept["point"].astype(str))),
        first_day=days[0] if days else "",
        last_day=days[-1] if days else "",
    )


def gravest_first(episodes: pd.DataFrame) -> pd.DataFrame:
    """Return the alarms, the gravest ``treat_as`` first, then the latest."""
    grade = episodes["treat_as"].map(severity).astype(float)
    order = episodes.assign(grade=grade).sort_values(
        ["grade", "raised"], ascending=[True, False], kind="stable"
    )
    return episodes.loc[order.index]


def alarm_lines(
    frame: pd.DataFrame, diagnosis: Diagnosis, pages: dict[str, str]
) -> tuple[AlarmLine, ...]:
    """Return alarms as lines, in the order of ``frame``."""
    clock, end = diagnosis.logs.clock, last_row(diagnosis)
    raised = moments(frame["raised"], clock)
    ended = moments(frame["cleared"].fillna(end).clip(lower=frame["raised"]), clock)
    return tuple(
        AlarmLine(
            episode=str(row.episode),
            point=str(row.point),
            page=pages.get(str(row.point), ""),
            what=f"{text(row.gas)} {text(row.level)}".strip(),
            cause=str(row.cause),
            look=cause_look(row.cause),
            raised=start,
            last_day=last.ship[:10],
            minutes=f"{row.minutes:.1f}" if number(row.minutes) else "",
            length=duration(row.minutes),
            open=bool(pd.isna(row.cleared)),
            value=f"{row.peak:.6g}" if number(row.peak) else "",
            peak=value_unit(row.peak, row.unit),
            treat_as=str(row.treat_as) if row.treat_as in TREAT_AS else "unresolved",
            gas=severity(row.treat_as) <= severity("unresolved"),
            why=clipped(text(row.why)),
        )
        for row, start, last in zip(frame.itertuples(), raised, ended, strict=True)
    )


def clipped(why: str) -> str:
    """Return the sentence, cut between two of its parts where it is long.

    Examples
    --------
    >>> clipped("a" * 90 + "; " + "b" * 90) == "a" * 90 + "; …"
    True
    >>> clipped("Short.")
    'Short.'
    >>> clipped("a" * 90 + "; " + "b" * 90 + ". Not settled: it is still open.")[90:]
    '; … Not settled: it is still open.'
    >>> clipped("Most likely water. Not settled: " + "c" * 150)[:32]
    'Most likely water. Not settled: '
    """
    if len(why) <= LONGEST_WHY:
        return why
    # What keeps it open is what the reader has to do something about: that stays.
    said, mark, rest = why.partition(NOT_SETTLED)
    cut = said[: max(LONGEST_WHY - len(mark + rest), LEAST_OF_IT)]
    if cut == said:
        return why
    at = cut.rfind("; ") if "; " in cut else cut.rfind(" ")
    return cut[:at].rstrip(";") + ("; …" if cut[at : at + 1] == ";" else " …") + mark + rest
