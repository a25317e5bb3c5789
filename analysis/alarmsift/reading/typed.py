"""From texts to times, numbers and words: each row of a draft judged, cell by cell."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pandas as pd

from alarmsift.errors import InputError
from alarmsift.reading import cell_numbers
from alarmsift.reading.action_words import action_of
from alarmsift.reading.asked import Known
from alarmsift.reading.draft import Draft
from alarmsift.reading.joined import row_times
from alarmsift.reading.judge import Judge, labels, texts
from alarmsift.reading.time_columns import clocks_only, region_of, zone_of
from alarmsift.reading.values import Values
from alarmsift.reading.words import EVENTS, NOTHING, STATES, gas_of, key, status_of
from alarmsift.tables.schema import (
    CAUSES,
    DIRECTIONS,
    GAS_UNITS,
    POINT_KINDS,
    TABLES,
)


@dataclass(frozen=True)
class Typed:
    """The rows of one file as canonical columns, times still by the clock that wrote them.

    Attributes
    ----------
    draft : Draft
    judge : Judge
    frame : DataFrame, shape (k, columns of the table without time)
        All draft rows; those of ``judge.dead`` are not to be used.
    moment, aware : array, shape (k,)
        As in :class:`alarmsift.reading.times.Times`; zeros when the table has no time.
    minutes_only : bool
    """

    draft: Draft
    judge: Judge
    frame: pd.DataFrame
    moment: np.ndarray
    aware: np.ndarray
    minutes_only: bool


def type_rows(draft: Draft, known: Known, *, order: str, comma: bool) -> Typed:
    """Return a draft's rows in their kinds, refusing what can't be used."""
    judge = Judge(draft)
    size = len(draft.rows)
    moment, aware, minutes = np.zeros(size, np.int64), np.zeros(size, bool), False
    table = TABLES[draft.table]
    if "time" in table.names:
        moment, aware, minutes = _times(draft, judge, known, order)
    made: dict[str, object] = {}
    kinds = {column.name: column.kind for column in table.columns if column.name != "time"}
    for name, kind in kinds.items():
        if kind in ("label", "text") and name in draft.columns and name != "unit":
            made[name] = _words(draft, judge, name, must=name in table.must)
    parsed = {
        name: cell_numbers.parse(draft.columns[name].texts, comma=comma)
        for name, kind in kinds.items()
        if kind in ("number", "whole") and name in draft.columns
    }
    work = Values(draft, judge, known, made, parsed)
    for name in parsed:
        made[name] = work.column(name, must=name in table.must)
    work.finish()
    _own_rules(draft, judge, known, made)
    columns = {name: made[name] for name in kinds if name in made}
    frame = pd.DataFrame(columns, index=range(size), copy=False)
    return Typed(draft, judge, frame, moment, aware, minutes)


def _times(
    draft: Draft, judge: Judge, known: Known, order: str
) -> tuple[np.ndarray, np.ndarray, bool]:
    column = draft.columns["time"]
    found = row_times(column, order)
    if len(found.bad) > 0.5 * len(found.moment) and clocks_only(column):
        raise InputError(
            "the rows hold times of day, and no date stands in a column, above the header or in "
            "the file's name.",
            file=draft.sheet.file,
            row=int(draft.sheet.lines[draft.rows[0]]),
            column=draft.written.get("time", "time"),
            mend="Put the date into the file's name, like log_2026-01-31.csv, or above the header.",
        )
    hints = [draft.units.get(name, "") for name in ("time", "start", "date")]
    _same_region(draft, known, hints)
    _say_filled(draft, known)
    zone = next((z for z in map(zone_of, hints) if z is not None), None)
    moment, aware = found.moment, found.aware
    if zone is not None:
        known.books.learn(
            f"Times in {draft.sheet.file} are {_offset_name(zone)}, as their header says."
        )
        moment, aware = np.where(aware, moment, moment - zone), np.ones(len(moment), dtype=bool)
    judge.row(column.blank_rows(), "time", "no time")
    judge.row(found.bad, "time", "not a time (like 2026-01-31T23:59:00Z)")
    return moment, aware, found.minutes_only


def _say_filled(draft: Draft, known: Known) -> None:
    """Say that a date was taken from the row above, as ``time_columns.dated`` does."""
    sheet, name = draft.sheet, draft.written.get("date")
    if name not in sheet.header or not {"time", "start"} & draft.written.keys():
        return
    blank = sheet.columns[sheet.header.index(str(name))].blank()
    if len(blank) and blank.any() and not blank[0]:
        known.books.learn(
            f"{int(blank.sum())} rows in {sheet.file} have no date of their own; the date above "
            "them was taken."
        )


def _same_region(draft: Draft, known: Known, hints: list[str]) -> None:
    """Stop when a header names another zone than the ship's clock."""
    for hint in hints:
        region = region_of(hint)
        if region and region != known.site.clock:
            raise InputError(
                f"the header says that times are of {region}; the ship's clock is taken as "
                f"{known.site.clock}.",
                file=draft.sheet.file,
                column=draft.written.get("time", "time"),
                mend=f'Add to site.toml the line clock = "{region}"',
            )


def _offset_name(zone: int) -> str:
    minutes = abs(zone) // 60_000_000
    return "in UTC" if not zone else f"in UTC{'+-'[zone < 0]}{minutes // 60}:{minutes % 60:02d}"


def _among(known: tuple[str, ...]) -> Callable[[str], str]:
    return lambda text: key(text) if key(text) in known else ""


def _name(text: str) -> str:
    """Return a name as it is, blank when it is damaged or a word for 'nothing'."""
    damaged = _CONTROL.search(text)
    nothing = text.lower() in NOTHING or not any(letter.isalnum() for letter in text)
    return "" if damaged or nothing else text


def _lower(text: str) -> str:
    return " ".join(text.lower().split())


_CONTROL = re.compile(r"[\x00-\x1f\x7f]")
# Column -> how its texts become plain words, and what is said when they don't.
_TRANSLATE: dict[str, tuple[Callable[[str], str], str]] = {
    "gas": (gas_of, f"not a gas that alarmsift knows ({', '.join(GAS_UNITS)})"),
    "status": (status_of, "not a status"),
    "level": (_lower, ""),
    "event": (
        lambda t: EVENTS.get(key(t), ""),
        "neither 'alarm' nor 'fault' of a gas sampling system",
    ),
    "state": (lambda t: STATES.get(key(t), ""), "not a state (raised, cleared, acknowledged, ...)"),
    "action": (lambda t: action_of(t) or "note", ""),
    "kind": (_among(POINT_KINDS), f"not a kind of space ({', '.join(POINT_KINDS)})"),
    "direction": (_among(DIRECTIONS), "neither 'rising' nor 'falling'"),
    "found": (_among((*CAUSES, "nothing")), "neither a cause nor 'nothing'"),
}


def _words(draft: Draft, judge: Judge, name: str, *, must: bool) -> object:
    """Return a column of words, refusing what is not understood."""
    column = draft.columns[name]
    if must:
        judge.row(column.blank_rows(), name, f"no {name}")
    translate, reason = _TRANSLATE.get(name, (_name, "not a name"))
    if (name, "text") in {(one.name, one.kind) for one in TABLES[draft.table].columns}:
        return texts(column)
    made, bad = labels(column, translate)
    (judge.row if must else judge.cell)(bad, name, reason)
    return made


def _own_rules(draft: Draft, judge: Judge, known: Known, made: dict[str, object]) -> None:
    """Apply what only one table needs."""
    if draft.table == "operations":
        _unknown_actions(draft, judge, known, made)
    if draft.table == "setpoints":
        gas = pd.Series(made["gas"]).astype("object")
        said = pd.Series(made.get("direction", [None] * len(gas))).astype("object")
        usual = gas.map(lambda g: "falling" if g == "O2" else "rising")
        made["direction"] = pd.Categorical(said.where(said.notna(), usual))


def _say_actions(draft: Draft, listed: list[str], known: Known) -> None:
    """Say which words were taken for which action."""
    pairs = [f"'{t}' = {action_of(t)}" for t in sorted(listed) if action_of(t) not in ("", key(t))]
    if pairs:
        more = f" and {len(pairs) - 12} more" if len(pairs) > 12 else ""
        known.books.learn(
            f"Operations in {draft.sheet.file} were taken by their words: "
            f"{', '.join(pairs[:12])}{more}."
        )


def _unknown_actions(draft: Draft, judge: Judge, known: Known, made: dict[str, object]) -> None:
    """Keep an unknown action as a note, its own word in front of the note's text."""
    column = draft.columns["action"]
    listed = column.texts.to_pylist()
    _say_actions(draft, listed, known)
    unknown = np.array([bool(t) and not action_of(t) for t in listed])
    rows = unknown[column.codes] & ~judge.dead
    if not rows.any():
        return
    word = texts(column)
    note = pd.Series(made["note"]) if "note" in made else pd.Series(np.nan, word.index, dtype="str")
    made["note"] = note.where(~rows, (word + ": " + note.fillna("")).str.removesuffix(": "))
    names = sorted({t for t in word[rows]})
    shown = ", ".join(f"'{n}'" for n in names[:5]) + (" and others" if len(names) > 5 else "")
    known.books.warn(
        f"{int(rows.sum())} operation(s) in {draft.sheet.file} have an action that is not known "
        f"({shown}); they were kept as notes."
    )
