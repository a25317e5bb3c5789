"""The load of alarms, as the first page shows it."""

from __future__ import annotations

from dataclasses import dataclass

from alarmsift.report.figures import number, percent, text
from alarmsift.tables.diagnosis import Diagnosis

MOST_TAGS = 10


@dataclass(frozen=True)
class LoadLine:
    """One measure, with all alarms and without nuisance."""

    title: str
    unit: str
    all: str
    without: str
    guide: str
    source: str


@dataclass(frozen=True)
class TagLine:
    """One alarm (point, gas, level) among the most frequent."""

    point: str
    page: str
    what: str
    raises: int
    share: str
    nuisance: int
    chatter: str
    chattering: bool


@dataclass(frozen=True)
class LoadView:
    """Measures, and the alarms that make the load; ``hidden`` more are in alarm_tags.csv."""

    lines: tuple[LoadLine, ...]
    tags: tuple[TagLine, ...]
    hidden: int


def load_view(diagnosis: Diagnosis, pages: dict[str, str]) -> LoadView:
    """Return the load of alarms."""
    tags = diagnosis.alarm_tags
    return LoadView(
        lines=tuple(
            LoadLine(
                str(row.title),
                str(row.unit),
                number(row.all),
                number(row.without_nuisance),
                text(row.guide),
                text(row.source),
            )
            for row in diagnosis.alarm_load.itertuples()
        ),
        tags=tuple(
            TagLine(
                str(row.point),
                pages.get(str(row.point), ""),
                f"{text(row.gas)} {text(row.level)}".strip(),
                int(row.raises),
                percent(row.share),
                int(row.nuisance),
                number(row.chatter_index, 2),
                bool(row.chattering),
            )
            for row in tags.iloc[:MOST_TAGS].itertuples()
        ),
        hidden=max(len(tags) - MOST_TAGS, 0),
    )
