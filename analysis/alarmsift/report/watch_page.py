"""Half a sheet for the next watch: what isn't watched, what is treated as gas, what to check."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

from alarmsift.report.times import Moment, clock_words, moment
from alarmsift.report.urgent import Urgent, last_row
from alarmsift.report.weights_view import weights_words
from alarmsift.report.words import severity
from alarmsift.tables.diagnosis import Diagnosis

# What fits on half an A4 sheet; what does not fit is counted on it, never left out silently.
MOST_GAS, MOST_UNWATCHED, MOST_CHECKS = 6, 6, 4
MOST_NAMES = 4  # points named beside one check
MOST_ALSO = 10  # points named without a line of their own


@dataclass(frozen=True)
class WatchLine:
    """One place: what stands there, and since when."""

    where: str
    mark: str
    words: str
    since: Moment


@dataclass(frozen=True)
class CheckLine:
    """One check that is outstanding, and where; ``more`` places are not named."""

    check: str
    where: tuple[str, ...]
    more: int


@dataclass(frozen=True)
class WatchPage:
    """All of the half sheet; ``also_...`` and ``more_checks`` say what has no line of its own."""

    name: str
    clock: str
    until: Moment
    gas: tuple[WatchLine, ...]
    also_gas: str
    unwatched: tuple[WatchLine, ...]
    also_unwatched: str
    checks: tuple[CheckLine, ...]
    more_checks: int
    weights: str


def watch_page(diagnosis: Diagnosis, items: list[Urgent]) -> WatchPage:
    """Return what the next watch must know, the gravest first.

    Parameters
    ----------
    diagnosis : Diagnosis
        What to hand over.
    items : list of Urgent
        What needs a person, the gravest first.
    """
    clock = diagnosis.logs.clock
    gas = [item for item in items if is_gas(item)]
    blind = [item for item in items if item.group == "unwatched"]
    checks = outstanding(items)
    return WatchPage(
        name=diagnosis.logs.site.name or diagnosis.logs.name,
        clock=clock_words(clock),
        until=moment(last_row(diagnosis), clock),
        gas=tuple(_line(item, diagnosis) for item in gas[:MOST_GAS]),
        also_gas=_also(gas[MOST_GAS:]),
        unwatched=tuple(_line(item, diagnosis) for item in blind[:MOST_UNWATCHED]),
        also_unwatched=_also(blind[MOST_UNWATCHED:]),
        checks=checks[:MOST_CHECKS],
        more_checks=len(checks[MOST_CHECKS:]),
        weights=weights_words(diagnosis),
    )


def is_gas(item: Urgent) -> bool:
    """Tell whether a line of the list is of an alarm that is to be treated as gas."""
    return item.group == "gas" or (
        item.group == "cut_off" and severity(item.mark) <= severity("unresolved")
    )


def outstanding(items: list[Urgent]) -> tuple[CheckLine, ...]:
    """Return each check once with the places that ask for it, in the order of the list."""
    where: dict[str, list[str]] = defaultdict(list)
    for item in items:
        if item.next_check and item.where not in where[item.next_check]:
            where[item.next_check].append(item.where)
    return tuple(
        CheckLine(check, tuple(places[:MOST_NAMES]), len(places[MOST_NAMES:]))
        for check, places in where.items()
        if places
    )


def _also(items: list[Urgent]) -> str:
    """Return the names of places, and how many more there are."""
    names = list(dict.fromkeys(item.where for item in items))
    more = len(names[MOST_ALSO:])
    return ", ".join(names[:MOST_ALSO]) + (f" and {more} more (index.html)" if more else "")


def _line(item: Urgent, diagnosis: Diagnosis) -> WatchLine:
    return WatchLine(item.where, item.mark, item.detail, moment(item.since, diagnosis.logs.clock))
