"""The data of the first page, as plain records; nothing here knows of HTML."""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from alarmsift.report.alarm_list import AlarmList, alarm_list
from alarmsift.report.axis import Window
from alarmsift.report.day_drawing import PanelDrawing, panel_drawing
from alarmsift.report.day_picture import day_panels
from alarmsift.report.figures import number, text, value_unit
from alarmsift.report.gas_view import MOST_GAS, GasLine, gas_lines
from alarmsift.report.glossary import address
from alarmsift.report.import_view import ImportView, import_view
from alarmsift.report.json_file import tool_version
from alarmsift.report.load_view import LoadView, load_view
from alarmsift.report.record_view import RecordView, record_view
from alarmsift.report.repair_view import RepairView, repair_view
from alarmsift.report.rules_view import RuleLine, rule_lines
from alarmsift.report.state_view import (
    ConditionLine,
    DetectorView,
    StandLine,
    condition_lines,
    detector_views,
    gravest,
    stand_lines,
)
from alarmsift.report.times import Moment, clock_words, duration, moment, moments
from alarmsift.report.urgent import GROUPS, Urgent, urgent_items
from alarmsift.report.watch_picture import WatchPicture, watch_picture
from alarmsift.report.weights_view import weights_words
from alarmsift.report.words import CAUSES, TREAT_AS, Look, cause_look
from alarmsift.tables.diagnosis import Diagnosis


@dataclass(frozen=True)
class UrgentView:
    """One line of the list with its time."""

    item: Urgent
    since: Moment


@dataclass(frozen=True)
class UrgentGroup:
    """Lines of one kind."""

    key: str
    title: str
    fresh: bool
    items: tuple[UrgentView, ...]


@dataclass(frozen=True)
class CauseCount:
    """Alarms of one cause: ``counts`` by treat_as; ``share`` of the commonest cause [0 to 1].

    ``term`` is its place in the glossary.
    """

    look: Look
    term: str
    counts: dict[str, int]
    total: int
    share: float
    points: int
    minutes: str


@dataclass(frozen=True)
class PointLine:
    """One point in the list of points."""

    point: str
    page: str
    space: str
    counts: dict[str, int]
    faults: int
    headline: str
    next_check: str
    worst: str
    needs_person: bool


@dataclass(frozen=True)
class SetpointLine:
    """One setpoint; ``points`` says where it holds."""

    gas: str
    level: str
    value: str
    points: str
    start: Moment
    end: Moment
    source: str


@dataclass(frozen=True)
class IndexPage:
    """All of the first page."""

    name: str
    version: str
    clock: str
    first: Moment
    last: Moment
    length: str
    cycle: str
    alarms: int
    faults: int
    open: int
    treat: dict[str, int]
    urgent: tuple[UrgentGroup, ...]
    gas: tuple[GasLine, ...]
    hidden_gas: int
    causes: tuple[CauseCount, ...]
    fault_causes: tuple[CauseCount, ...]
    every_alarm: AlarmList
    load: LoadView
    record: RecordView
    points: tuple[PointLine, ...]
    panels: tuple[PanelDrawing, ...]
    day_looks: tuple[Look, ...]
    detectors: tuple[DetectorView, ...]
    stands: tuple[StandLine, ...]
    repairs: RepairView
    conditions: tuple[ConditionLine, ...]
    hidden_conditions: int
    watch: WatchPicture
    cycle_limit: str
    setpoints: tuple[SetpointLine, ...]
    rules: tuple[RuleLine, ...]
    imported: ImportView
    learnt: tuple[str, ...]
    weights: str

    @property
    def urgent_items(self) -> list[Urgent]:
        """What needs a person, all groups in one list."""
        return [view.item for group in self.urgent for view in group.items]


def index_page(
    diagnosis: Diagnosis,
    pages: dict[str, str],
    *,
    window: Window,
    detector_svgs: dict[str, str],
) -> IndexPage:
    """Return the data of the first page.

    Parameters
    ----------
    diagnosis : Diagnosis
        What to show.
    pages : dict
        Point -> page stem.
    window : Window
        The period of the logs.
    detector_svgs : dict
        Name of a detector ("HC", "HC (aft)") -> its plot, ready to stand in a page.
    """
    clock, episodes = diagnosis.logs.clock, diagnosis.episodes
    ends = pd.Series(pd.to_datetime([window.start * 3600, window.end * 3600], unit="s", utc=True))
    there = len(diagnosis.visits) > 0 or len(episodes) > 0
    first, last = moments(ends, clock) if there else (Moment(), Moment())
    alarms, faults = episodes[episodes["kind"] != "fault"], episodes[episodes["kind"] == "fault"]
    shown = [look for key, look in CAUSES.items() if (episodes["cause"] == key).any()]
    whose = diagnosis.conditions["point"].astype(str).str.startswith("detector")
    lines = diagnosis.conditions[~whose]
    listed = gravest(lines)
    gas = gas_lines(diagnosis, pages)
    return IndexPage(
        name=diagnosis.logs.site.name or diagnosis.logs.name,
        version=tool_version(),
        clock=clock_words(clock),
        first=first,
        last=last,
        length=duration(window.length * 60) if there else "",
        cycle=duration(diagnosis.cycle_minutes),
        alarms=len(alarms),
        faults=len(faults),
        open=int(alarms["cleared"].isna().sum()),
        treat={key: int((episodes["treat_as"] == key).sum()) for key in TREAT_AS},
        urgent=_urgent(diagnosis, pages),
        gas=gas[:MOST_GAS],
        hidden_gas=len(gas[MOST_GAS:]),
        causes=_cause_counts(alarms),
        fault_causes=_cause_counts(faults),
        every_alarm=alarm_list(diagnosis, pages),
        load=load_view(diagnosis, pages),
        record=record_view(diagnosis),
        points=_points(diagnosis, pages),
        panels=tuple(
            panel_drawing(panel)
            for panel in day_panels(diagnosis, pages, ends if there else ends.iloc[:0])
        ),
        day_looks=tuple(shown),
        detectors=detector_views(
            diagnosis,
            detector_svgs,
            condition_lines(diagnosis.conditions[whose], pages, clock),
        ),
        stands=stand_lines(diagnosis),
        repairs=repair_view(diagnosis, pages),
        conditions=condition_lines(listed, pages, clock),
        hidden_conditions=len(lines) - len(listed),
        watch=watch_picture(diagnosis.coverage, pages, window=window, clock=clock),
        cycle_limit=number(diagnosis.logs.site.cycle_limit_min),
        setpoints=_setpoints(diagnosis, len(pages)),
        rules=rule_lines(diagnosis),
        imported=import_view(diagnosis.logs.ledger, clock),
        learnt=tuple(one for one in diagnosis.learnt if one not in diagnosis.logs.ledger.learnt),
        weights=weights_words(diagnosis),
    )


def _urgent(diagnosis: Diagnosis, pages: dict[str, str]) -> tuple[UrgentGroup, ...]:
    items = urgent_items(diagnosis, pages)
    clock = diagnosis.logs.clock
    out = []
    for key, title in GROUPS:
        mine = [item for item in items if item.group == key]
        for fresh in (True, False):
            lines = tuple(
                UrgentView(item, moment(item.since, clock)) for item in mine if item.fresh is fresh
            )
            if lines:
                out.append(UrgentGroup(key, title if fresh else f"{title}, earlier", fresh, lines))
    return tuple(out)


def _cause_counts(episodes: pd.DataFrame) -> tuple[CauseCount, ...]:
    parts = sorted(
        episodes.groupby("cause", observed=True), key=lambda part: (-len(part[1]), str(part[0]))
    )
    most = max((len(part) for _, part in parts), default=1)
    return tuple(
        CauseCount(
            look=cause_look(cause),
            term=f"cause-{address(str(cause))}" if str(cause) in CAUSES else "",
            counts={key: int((part["treat_as"] == key).sum()) for key in TREAT_AS},
            total=len(part),
            share=len(part) / most,
            points=int(part["point"].nunique()),
            minutes=duration(float(part["minutes"].sum())),
        )
        for cause, part in parts
    )


def _points(diagnosis: Diagnosis, pages: dict[str, str]) -> tuple[PointLine, ...]:
    episodes = diagnosis.episodes
    counts = pd.crosstab(episodes["point"], episodes["treat_as"]) if len(episodes) else None
    faults = episodes[episodes["kind"] == "fault"]["point"].value_counts()
    out = []
    for row in diagnosis.points.itertuples():
        mine = (
            counts.loc[row.point]
            if counts is not None and row.point in counts.index
            else pd.Series(dtype=int)
        )
        out.append(
            PointLine(
                point=str(row.point),
                page=pages[str(row.point)],
                space=text(row.space),
                counts={key: int(mine.get(key, 0)) for key in TREAT_AS},
                faults=int(faults.get(row.point, 0)),
                headline=text(row.headline),
                next_check=text(row.next_check),
                worst=text(row.worst),
                needs_person=bool(row.needs_person),
            )
        )
    return tuple(out)


def _setpoints(diagnosis: Diagnosis, count: int) -> tuple[SetpointLine, ...]:
    frame, clock = diagnosis.setpoints, diagnosis.logs.clock
    if not len(frame):
        return ()
    keys = ["gas", "level", "value", "unit", "direction", "start", "end", "source"]
    out = []
    for key, part in frame.groupby(keys, dropna=False, observed=True, sort=False):
        row = dict(zip(keys, key, strict=True))
        names = part["point"].astype(str).unique().tolist()
        sign = "≤ " if row["direction"] == "falling" else ""
        out.append(
            SetpointLine(
                str(row["gas"]),
                text(row["level"]),
                sign + value_unit(row["value"], row["unit"]),
                "all points" if len(names) >= count else ", ".join(names),
                moment(row["start"], clock),
                moment(row["end"], clock),
                text(row["source"]),
            )
        )
    return tuple(out)
