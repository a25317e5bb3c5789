"""From texts to times, numbers and words: each row of a draft judged, cell by cell."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pandas as pd
import pyarrow as pa

from alarmsift.errors import InputError
from alarmsift.reading import cell_numbers, times
from alarmsift.reading.asked import Known
from alarmsift.reading.draft import Draft
from alarmsift.reading.gas_units import GasValues, factors
from alarmsift.reading.judge import Judge, labels, texts
from alarmsift.reading.sheet import TextColumn
from alarmsift.reading.units import beside_unit
from alarmsift.reading.words import EVENTS, STATES, gas_of, key, status_of
from alarmsift.tables.schema import (
    ACTIONS,
    CAUSES,
    DIRECTIONS,
    GAS_UNITS,
    POINT_KINDS,
    STATUSES,
    TABLES,
)

_BESIDE = ("flow", "suction", "temperature", "humidity")
_IN_GAS_UNIT = ("value", "reference", "deadband")
# Actions whose value is a gas concentration; others hold a level, an offset, a sea state.
_GAS_ACTIONS = ("zero_check", "zero_adjust", "span_check", "span_adjust", "setpoint")


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


def type_rows(draft: Draft, known: Known, *, day_first: bool, comma: bool) -> Typed:
    """Return a draft's rows in their kinds, refusing what can't be used."""
    judge = Judge(draft)
    size = len(draft.rows)
    moment, aware, minutes = np.zeros(size, np.int64), np.zeros(size, bool), False
    table = TABLES[draft.table]
    if "time" in table.names:
        moment, aware, minutes = _times(draft, judge, day_first)
    made: dict[str, object] = {}
    kinds = {column.name: column.kind for column in table.columns if column.name != "time"}
    for name in kinds:
        if kinds[name] in ("label", "text") and name in draft.columns and name != "unit":
            made[name] = _words(draft, judge, name, must=name in table.must)
    parsed = {
        name: cell_numbers.parse(draft.columns[name].texts, comma=comma)
        for name, kind in kinds.items()
        if kind in ("number", "whole") and name in draft.columns
    }
    work = _Values(draft, judge, known, made, parsed)
    for name in parsed:
        made[name] = work.column(name, must=name in table.must)
    work.finish()
    _own_rules(draft, judge, known, made)
    frame = pd.DataFrame({name: made[name] for name in kinds if name in made}, index=range(size))
    return Typed(draft, judge, frame, moment, aware, minutes)


def _times(draft: Draft, judge: Judge, day_first: bool) -> tuple[np.ndarray, np.ndarray, bool]:
    column = draft.columns["time"]
    found = times.parse(column.texts, day_first=day_first)
    judge.row(column.blank(), "time", "no time")
    judge.row(found.bad[column.codes], "time", "not a time (like 2026-01-31T23:59:00Z)")
    return found.moment[column.codes], found.aware[column.codes], found.minutes_only


def _among(known: tuple[str, ...]) -> Callable[[str], str]:
    return lambda text: key(text) if key(text) in known else ""


def _lower(text: str) -> str:
    return " ".join(text.lower().split())


# Column -> how its texts become plain words, and what is said when they don't.
_TRANSLATE: dict[str, tuple[Callable[[str], str], str]] = {
    "gas": (gas_of, f"not a gas that alarmsift knows ({', '.join(GAS_UNITS)})"),
    "status": (status_of, "not a status"),
    "level": (_lower, ""),
    "event": (lambda t: EVENTS.get(key(t), ""), "neither 'alarm' nor 'fault'"),
    "state": (lambda t: STATES.get(key(t), ""), "not a state (raised, cleared, acknowledged, ...)"),
    "action": (lambda t: key(t) if key(t) in ACTIONS else "note", ""),
    "kind": (_among(POINT_KINDS), f"not a kind of space ({', '.join(POINT_KINDS)})"),
    "direction": (_among(DIRECTIONS), "neither 'rising' nor 'falling'"),
    "found": (_among((*CAUSES, "nothing")), "neither a cause nor 'nothing'"),
}


def _words(draft: Draft, judge: Judge, name: str, *, must: bool) -> object:
    """Return a column of words, refusing what is not understood."""
    column = draft.columns[name]
    if must:
        judge.row(column.blank(), name, f"no {name}")
    translate, reason = _TRANSLATE.get(name, (None, ""))
    if translate is None and TABLES[draft.table].columns[
        TABLES[draft.table].names.index(name)
    ].kind == "text":
        return texts(column)
    made, bad = labels(column, translate)
    (judge.row if must else judge.cell)(bad, name, reason)
    return made


class _Values:
    """The columns of numbers of one draft, with their units and states."""

    def __init__(
        self,
        draft: Draft,
        judge: Judge,
        known: Known,
        made: dict[str, object],
        parsed: dict[str, cell_numbers.Numbers],
    ) -> None:
        self.draft, self.judge, self.known = draft, judge, known
        self.made, self.parsed = made, parsed
        self.odd_unit = np.zeros(len(draft.rows), dtype=bool)

    def column(self, name: str, *, must: bool) -> np.ndarray:
        """Return one column in its canonical unit, shape (k,)."""
        cells, found = self.draft.columns[name], self.parsed[name]
        value = found.value[cells.codes]
        bad = found.bad[cells.codes]
        if name == "value" and self.draft.table == "readings":
            return self._reading(value, bad)
        worded = (found.status != "")[cells.codes]
        (self.judge.row if must else self.judge.cell)(bad, name, "not a number")
        if must:
            self.judge.row(np.isnan(value), name, f"no {name}")
        value = np.where(worded, np.nan, value)
        if name in _BESIDE:
            return self._beside(name, value)
        if name in _IN_GAS_UNIT:
            return self._gas_value(name, value)
        return value

    def _reading(self, value: np.ndarray, bad: np.ndarray) -> np.ndarray:
        """Return the gas readings; a word in place of the number becomes the status."""
        draft, judge = self.draft, self.judge
        cells, found = draft.columns["value"], self.parsed["value"]
        said = np.array([_PLACE.get(word, -1) for word in found.status.tolist()], dtype=np.int8)
        instead = said[cells.codes]
        own = self._status(len(value))
        status = np.where((own <= 0) & (instead >= 0), instead, own)
        excused = status > 0
        judge.cell(bad & excused, "value", "not a number")
        judge.row(bad & ~excused, "value", "not a number")
        judge.row(np.isnan(value) & ~excused, "value", "no value, and no status")
        self.made["status"] = _only_used(np.maximum(status, 0))
        return self._gas_value("value", value)

    def _status(self, size: int) -> np.ndarray:
        """Return the place in STATUSES of each row's status cell, -1 = blank, shape (k,)."""
        status = self.made.get("status")
        if not isinstance(status, pd.Categorical):
            return np.full(size, -1, dtype=np.int8)
        place = np.array([_PLACE[name] for name in status.categories] + [-1], dtype=np.int8)
        return np.asarray(place[status.codes])

    def _gas_value(self, name: str, value: np.ndarray) -> np.ndarray:
        """Return values of gases in the gases' canonical units, shape (k,)."""
        gas = self.made.get("gas")
        if not isinstance(gas, pd.Categorical):
            return value
        live = ~self.judge.dead & ~np.isnan(value) & (gas.codes >= 0)
        if "action" in self.made:
            live &= np.asarray(pd.Series(self.made["action"]).isin(_GAS_ACTIONS))
        cells, found = self.draft.columns[name], self.parsed[name]
        behind, _ = labels(TextColumn(cells.codes, pa.array(found.unit.tolist(), pa.string())))
        units = [behind]
        if "unit" in self.draft.columns:
            units.append(labels(self.draft.columns["unit"])[0])
        names = self.draft.value_names
        values = GasValues(gas, units, live, None if names is None else labels(names)[0])
        factor, odd = factors(self.draft, values, self.known)
        self.odd_unit |= odd
        return np.where(factor == 1.0, value, value * factor)

    def _beside(self, name: str, value: np.ndarray) -> np.ndarray:
        """Return flow, suction, temperature or humidity in the contract's unit, shape (k,)."""
        draft, known = self.draft, self.known
        written = draft.written.get(name, name)
        unit = draft.units.get(name, "") or known.site_unit(written, name)
        how = beside_unit(unit, name) if unit else None
        canonical = {"flow": "L/min", "suction": "kPa", "temperature": "degC", "humidity": "%RH"}[name]
        if how is None and not unit and (name in draft.exact or name == "humidity"):
            how = (1.0, 0.0)
        if how is None:
            what = f"the unit '{unit}' is not known" if unit else "nothing says the unit"
            raise InputError(
                f"{what} of {name}; it could be {_COULD_BE[name]}.",
                file=draft.sheet.file,
                column=written,
                mend=f'Add to site.toml, under [units], the line: {key(written)} = "{canonical}"',
            )
        if how != (1.0, 0.0):
            known.books.learn(
                f"{name} in {draft.sheet.file} was converted from {unit} to {canonical}."
            )
        value = value * how[0] + how[1]
        return self._below_ambient(value) if name == "suction" else value

    def _below_ambient(self, value: np.ndarray) -> np.ndarray:
        """Return suction as kPa below ambient: a gauge that shows it negative is turned round."""
        real = value[~np.isnan(value)]
        if len(real) and (real < 0).mean() > 0.9:
            self.known.books.learn(
                f"suction in {self.draft.sheet.file} is negative: taken as gauge pressure and "
                "turned round to kPa below ambient."
            )
            return -value
        return value

    def finish(self) -> None:
        """List the unit cells that were not understood, and write the canonical units."""
        if "unit" in self.draft.columns:
            self.judge.cell(self.odd_unit, "unit", "not a unit of this gas; the usual one taken")
        gas = self.made.get("gas")
        if "unit" in TABLES[self.draft.table].names and isinstance(gas, pd.Categorical):
            self.made["unit"] = gas.map(GAS_UNITS)


_PLACE = {status: number for number, status in enumerate(STATUSES)}


def _only_used(codes: np.ndarray) -> pd.Categorical:
    """Return statuses from their places in STATUSES, with those categories only that occur."""
    used = np.flatnonzero(np.bincount(codes, minlength=len(STATUSES)))
    place = np.zeros(len(STATUSES), dtype=np.int8)
    place[used] = np.arange(len(used))
    names = pd.Index([STATUSES[number] for number in used], dtype="str")
    return pd.Categorical.from_codes(place[codes], categories=names)


_COULD_BE = {
    "flow": "L/min, L/h or mL/min",
    "suction": "kPa, mbar or mmH2O",
    "temperature": "degC, degF or K",
    "humidity": "%RH",
}


def _own_rules(draft: Draft, judge: Judge, known: Known, made: dict[str, object]) -> None:
    """Apply what only one table needs."""
    if draft.table == "operations":
        _unknown_actions(draft, judge, known, made)
    if draft.table == "setpoints":
        gas = pd.Series(made["gas"]).astype("object")
        said = pd.Series(made.get("direction", [None] * len(gas))).astype("object")
        usual = gas.map(lambda g: "falling" if g == "O2" else "rising")
        made["direction"] = pd.Categorical(said.where(said.notna(), usual))


def _unknown_actions(draft: Draft, judge: Judge, known: Known, made: dict[str, object]) -> None:
    """Keep an unknown action as a note, its own word in front of the note's text."""
    column = draft.columns["action"]
    unknown = np.array([bool(t) and key(t) not in ACTIONS for t in column.texts.to_pylist()])
    rows = unknown[column.codes] & ~judge.dead
    if not rows.any():
        return
    word = texts(column)
    note = pd.Series(made["note"]) if "note" in made else pd.Series(np.nan, word.index, dtype="str")
    made["note"] = note.where(~rows, (word + ": " + note.fillna("")).str.removesuffix(": "))
    names = sorted({t for t in word[rows]})
    shown = ", ".join(f"'{n}'" for n in names[:5]) + (" and others" if len(names) > 5 else "")
    known.books.warn(
        f"{int(rows.sum())} operations in {draft.sheet.file} have an action that is not known "
        f"({shown}); they were kept as notes."
    )

