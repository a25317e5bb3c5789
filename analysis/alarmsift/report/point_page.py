"""The data of a point's page, as plain records."""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from alarmsift.report.axis import Window
from alarmsift.report.bouts import Bout, bouts_of
from alarmsift.report.evidence_view import EvidenceView, evidence_views, outcomes_of
from alarmsift.report.figures import number, text, value_unit
from alarmsift.report.gas_view import GasLine, gas_lines
from alarmsift.report.json_file import tool_version
from alarmsift.report.point_links import PointLinks, point_links
from alarmsift.report.repair_view import RepairLine, repairs_of
from alarmsift.report.times import Moment, duration, moments
from alarmsift.report.weights_view import weights_words
from alarmsift.report.words import (
    OUTCOMES,
    Look,
    cause_look,
    condition_word,
    ending_word,
    plain,
    reason_word,
    severity,
)
from alarmsift.tables.diagnosis import Diagnosis

MOST_EPISODES, MOST_GAPS, MOST_BOUTS = 250, 60, 6


@dataclass(frozen=True)
class EpisodeLine:
    """One row of the table of episodes."""

    episode: str
    bout: str
    gas: str
    level: str
    kind: str
    raised: Moment
    cleared: Moment
    ended: str
    length: str
    peak: str
    look: Look
    probability: float
    p_gas: float
    treat_as: str


@dataclass(frozen=True)
class SpanLine:
    """A condition or a gap in the watch."""

    word: str
    start: Moment
    end: Moment
    length: str
    probability: float
    why: str
    next_check: str


@dataclass(frozen=True)
class Plot:
    """One picture with its heading and its text for those who can't see it."""

    title: str
    alt: str
    file: str
    svg: str
    short: str = ""


@dataclass(frozen=True)
class Plots:
    """The still pictures of a point, and what its moving plot carries (JSON; blank = none).

    ``spots`` are places to go to in it: (words, start, end [s since 1970 UTC]).
    """

    still: tuple[Plot, ...] = ()
    live: str = ""
    spots: tuple[tuple[str, int, int], ...] = ()


@dataclass(frozen=True)
class FindingLine:
    """What an engineer found when they looked."""

    time: Moment
    gas: str
    found: str
    note: str
    outcome: str
    alarms: str


@dataclass(frozen=True)
class PointPage:
    """All of one point's page."""

    ship: str
    version: str
    point: str
    file: str
    facts: tuple[tuple[str, str], ...]
    worst: str
    treat_as: str
    headline: str
    next_check: str
    outcomes: tuple[tuple[str, str], ...]
    plots: Plots
    episodes: tuple[EpisodeLine, ...]
    hidden_episodes: int
    gas: tuple[GasLine, ...]
    evidence: tuple[EvidenceView, ...]
    hidden_bouts: int
    conditions: tuple[SpanLine, ...]
    gaps: tuple[SpanLine, ...]
    hidden_gaps: int
    setpoints: tuple[str, ...]
    findings: tuple[FindingLine, ...]
    repairs: tuple[RepairLine, ...]
    links: PointLinks
    before: tuple[str, str] | None
    after: tuple[str, str] | None
    weights: str


def point_page(
    diagnosis: Diagnosis,
    row: pd.Series,
    *,
    plots: Plots,
    window: Window,
    pages: dict[str, str],
) -> PointPage:
    """Return the data of one point's page.

    Parameters
    ----------
    diagnosis : Diagnosis
        What to show.
    row : Series
        The point's row in ``diagnosis.points``.
    plots : Plots
        The pictures, the whole period first, and the data of the moving plot.
    window : Window
        The period of the logs.
    pages : dict
        Point -> page stem, in the order of the round.
    """
    point = str(row["point"])
    mine = diagnosis.episodes[diagnosis.episodes["point"] == point]
    bouts = bouts_of(mine, window, most=MOST_BOUTS)
    episodes = _worst_first_cut(mine)
    gaps = diagnosis.coverage[diagnosis.coverage["point"] == point]
    links = list(pages.items())
    here = list(pages).index(point)
    long_gaps = gaps.sort_values("minutes", ascending=False, kind="stable").iloc[:MOST_GAPS]
    return PointPage(
        ship=diagnosis.logs.site.name or diagnosis.logs.name,
        version=tool_version(),
        point=point,
        file=pages[point],
        facts=_facts(diagnosis, row),
        worst=text(row["worst"]),
        treat_as=_treat_as(bouts),
        headline=text(row["headline"]),
        next_check=text(row["next_check"]),
        outcomes=outcomes_of(diagnosis.checks, text(row["next_check"])),
        plots=plots,
        episodes=_episode_lines(episodes, diagnosis),
        hidden_episodes=len(mine) - len(episodes),
        gas=gas_lines(diagnosis, {}, point=point),
        evidence=evidence_views(diagnosis, bouts),
        hidden_bouts=max(int(mine["bout"].nunique()) - len(bouts), 0),
        conditions=_conditions(diagnosis, point),
        gaps=_gap_lines(long_gaps.sort_index(), diagnosis),
        hidden_gaps=len(gaps) - len(long_gaps),
        setpoints=_setpoints(diagnosis, point),
        findings=_findings(diagnosis, point),
        repairs=repairs_of(diagnosis, point),
        links=point_links(diagnosis, row, pages),
        before=links[here - 1] if here else None,
        after=links[here + 1] if here + 1 < len(links) else None,
        weights=weights_words(diagnosis),
    )


def _worst_first_cut(episodes: pd.DataFrame) -> pd.DataFrame:
    """Return the rows to list in order of time; when too many, the gravest and latest stay."""
    if len(episodes) <= MOST_EPISODES:
        return episodes
    grade = episodes["treat_as"].map(severity)
    order = episodes.assign(grade=grade).sort_values(
        ["grade", "raised"], ascending=[True, False], kind="stable"
    )
    return episodes.loc[order.index[:MOST_EPISODES]].sort_values("raised", kind="stable")


def _treat_as(bouts: list[Bout]) -> str:
    return str(bouts[0].episode["treat_as"]) if bouts else ""


def _facts(diagnosis: Diagnosis, row: pd.Series) -> tuple[tuple[str, str], ...]:
    logs = diagnosis.logs
    whole = logs.points[logs.points["point"] == row["point"]]
    facts = [("Space", text(row["space"])), ("Kind", plain(row["kind"]))]
    facts.append(("Analyser", text(row["analyser"])))
    if len(whole):
        one = whole.iloc[0]
        facts.append(("Line", _line_words(one)))
        facts.append(("Volume of the space", value_unit(one["volume_m3"], "m³")))
    facts.append(("Visits", number(row["visits"])))
    facts.append(("Clean flow", value_unit(row["clean_flow"], "L/min")))
    for name in row.index:
        if str(name).startswith("background_"):
            gas = str(name).removeprefix("background_")
            level, noise = number(row[name], 2), number(row.get(f"noise_{gas}"), 2)
            if level:
                facts.append((f"{gas} background", f"{level} ± {noise}" if noise else level))
    return tuple((key, words) for key, words in facts if words)


def _line_words(one: pd.Series) -> str:
    parts = [value_unit(one["length_m"], "m"), value_unit(one["bore_mm"], "mm bore")]
    return ", ".join(part for part in parts if part)


def _episode_lines(frame: pd.DataFrame, diagnosis: Diagnosis) -> tuple[EpisodeLine, ...]:
    clock = diagnosis.logs.clock
    raised, cleared = moments(frame["raised"], clock), moments(frame["cleared"], clock)
    return tuple(
        EpisodeLine(
            str(row.episode),
            text(row.bout),
            text(row.gas),
            text(row.level),
            text(row.kind),
            a,
            b,
            ending_word(row.ended_by),
            duration(float(row.minutes)),
            value_unit(row.peak, row.unit),
            cause_look(row.cause),
            float(row.probability),
            float(row.p_gas),
            str(row.treat_as),
        )
        for row, a, b in zip(frame.itertuples(), raised, cleared, strict=True)
    )


def _conditions(diagnosis: Diagnosis, point: str) -> tuple[SpanLine, ...]:
    frame = diagnosis.conditions[diagnosis.conditions["point"] == point]
    clock = diagnosis.logs.clock
    starts, ends = moments(frame["start"], clock), moments(frame["end"], clock)
    lengths = ((frame["end"] - frame["start"]).dt.total_seconds() / 60).astype(float)
    return tuple(
        SpanLine(
            condition_word(row.condition),
            a,
            b,
            duration(minutes),
            float(row.probability),
            text(row.why),
            text(row.next_check),
        )
        for row, a, b, minutes in zip(frame.itertuples(), starts, ends, lengths, strict=True)
    )


def _gap_lines(frame: pd.DataFrame, diagnosis: Diagnosis) -> tuple[SpanLine, ...]:
    clock = diagnosis.logs.clock
    starts, ends = moments(frame["start"], clock), moments(frame["end"], clock)
    return tuple(
        SpanLine(reason_word(row.reason), a, b, duration(float(row.minutes)), float("nan"), "", "")
        for row, a, b in zip(frame.itertuples(), starts, ends, strict=True)
    )


def _setpoints(diagnosis: Diagnosis, point: str) -> tuple[str, ...]:
    frame, clock = diagnosis.setpoints, diagnosis.logs.clock
    frame = frame[frame["point"] == point]
    out = []
    starts, ends = moments(frame["start"], clock), moments(frame["end"], clock)
    for row, start, end in zip(frame.itertuples(), starts, ends, strict=True):
        words = f"{row.gas} {text(row.level)}: {value_unit(row.value, row.unit)}"
        if start.ship:
            words += f", from {start.ship} ({start.utc})"
        if end.ship:
            words += f", until {end.ship} ({end.utc})"
        out.append(words)
    return tuple(out)


def _findings(diagnosis: Diagnosis, point: str) -> tuple[FindingLine, ...]:
    frame = diagnosis.findings
    frame = frame[(frame["point"].astype("object") == point).to_numpy(dtype=bool)]
    times = moments(frame["time"], diagnosis.logs.clock)
    return tuple(
        FindingLine(
            time,
            text(row.gas),
            plain(row.found),
            text(row.note),
            OUTCOMES[str(row.outcome)] + ("; conflict: gas is not ruled out" * bool(row.conflict)),
            text(row.episodes),
        )
        for row, time in zip(frame.itertuples(), times, strict=True)
    )
