"""The columns of numbers of one file: values, their units, and the states in their place."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pandas as pd
import pyarrow as pa

from alarmsift.errors import InputError
from alarmsift.reading import cell_numbers
from alarmsift.reading.asked import Known
from alarmsift.reading.draft import Draft
from alarmsift.reading.gas_units import GasValues, factors
from alarmsift.reading.judge import Judge, categorical, labels
from alarmsift.reading.question import rows_shown, toml_key
from alarmsift.reading.sheet import TextColumn, counts
from alarmsift.reading.units import beside_unit
from alarmsift.tables.schema import GAS_UNITS, STATUSES, TABLES

# Unit of the contract, and what a bare number could also be.
_BESIDE = {
    "flow": ("L/min", "L/min, L/h or mL/min"),
    "suction": ("kPa", "kPa, mbar or mmH2O"),
    "temperature": ("degC", "degC, degF or K"),
    "humidity": ("%RH", "%RH"),
}
_IN_GAS_UNIT = ("value", "reference", "deadband")
# Actions whose value is a gas concentration; others hold a level, an offset, a sea state.
_GAS_ACTIONS = ("zero_check", "zero_adjust", "span_check", "span_adjust", "setpoint")
# Common practice, no source: missing-value marks and the ends of 16-bit counters.
_FILLERS = (-999.0, -9999.0, -99999.0, -999.9, -999.99, -32768.0, 32767.0, 65535.0)
_PLACE = {status: number for number, status in enumerate(STATUSES)}


class Values:
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
        self.odd_unit: list[np.ndarray] = []

    def column(self, name: str, *, must: bool) -> np.ndarray:
        """Return one column in its canonical unit, shape (k,)."""
        cells, found = self.draft.columns[name], self.parsed[name]
        if name == "value" and self.draft.table == "readings":
            return self._reading()
        (self.judge.row if must else self.judge.cell)(cells.rows(found.bad), name, "not a number")
        if must:
            self.judge.row(cells.rows(np.isnan(found.value)), name, f"no {name}")
        value = np.where(found.status != "", np.nan, found.value)
        if name in _BESIDE:
            return self._beside(name, value)
        if name in _IN_GAS_UNIT:
            return self._gas_value(name, value[cells.codes])
        return np.asarray(value[cells.codes])

    def _reading(self) -> np.ndarray:
        """Return the gas readings; a word in place of the number becomes the status.

        Only the rows whose cell is no plain number are looked at one by one.
        """
        cells, found = self.draft.columns["value"], self.parsed["value"]
        said = np.array([_PLACE.get(word, -1) for word in found.status.tolist()], dtype=np.int8)
        filler = np.isin(found.value, _FILLERS)
        odd = cells.rows(found.bad | (said >= 0) | np.isnan(found.value) | filler)
        code = cells.codes[odd]
        status = self._status()
        own = status[odd]
        instead = said[code]
        own = np.where((own <= 0) & (instead >= 0), instead, own)
        self._say_fillers(odd, found.value[code], filler[code], own <= 0)
        own = np.where((own <= 0) & filler[code], _PLACE["fault"], own)
        bad, excused = found.bad[code], own > 0
        self.judge.cell(odd[bad & excused], "value", "not a number")
        self.judge.row(odd[bad & ~excused], "value", "not a number")
        none = np.isnan(found.value[code]) & ~excused
        self.judge.row(odd[none], "value", "no value, and no status")
        status[odd] = np.maximum(own, 0)
        self.made["status"] = _only_used(status)
        return self._gas_value("value", found.value[cells.codes])

    def _say_fillers(
        self, rows: np.ndarray, value: np.ndarray, filler: np.ndarray, free: np.ndarray
    ) -> None:
        """Say how many values are the numbers that programs write where there is none."""
        count = int((filler & free & ~self.judge.dead[rows]).sum())
        if count:
            shown = ", ".join(f"{number:g}" for number in np.unique(value[filler]))
            self.known.books.warn(
                f"{count} values in {self.draft.sheet.file} read {shown}, which programs write "
                "where there is no measurement; they were given the status 'fault'."
            )

    def _status(self) -> np.ndarray:
        """Return the place in STATUSES of each row's status cell, shape (k,).

        A blank cell is a status of the first place: 'ok'.
        """
        status = self.made.get("status")
        if not isinstance(status, pd.Categorical):
            return np.zeros(len(self.draft.rows), dtype=np.int8)
        place = np.array([_PLACE[name] for name in status.categories] + [0], dtype=np.int8)
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
        units = []
        if (found.unit != "").any():
            behind = TextColumn(cells.codes, pa.array(found.unit.tolist(), pa.string()))
            units.append(labels(behind)[0])
        if "unit" in self.draft.columns:
            units.append(labels(self.draft.columns["unit"])[0])
        names = self.draft.value_names
        values = GasValues(gas, units, live, None if names is None else labels(names)[0])
        factor, odd = factors(self.draft, values, self.known)
        self.odd_unit.append(odd)
        return value if factor is None else value * factor

    def _beside(self, name: str, value: np.ndarray) -> np.ndarray:
        """Return flow, suction, temperature or humidity in the contract's unit, shape (k,).

        ``value`` holds the number of each distinct text, shape (m,). A unit behind the number goes
        before that of the header, and that before ``[units]``.
        """
        draft = self.draft
        cells, found = draft.columns[name], self.parsed[name]
        written = draft.written.get(name, name)
        header = draft.units.get(name, "") or self.known.site_unit(written, name)
        factor, offset = np.ones(len(found.unit)), np.zeros(len(found.unit))
        used = cells.used()
        numbers = (used > 0) & ~np.isnan(found.value)
        for unit in sorted(set(found.unit[numbers].tolist()) or {""}):
            mine = found.unit == unit
            factor[mine], offset[mine] = self._convert(name, unit or header, mine)
        value = value * factor + offset
        if name == "suction":
            value = self._below_ambient(value, used)
        return np.asarray(value[cells.codes])

    def _convert(self, name: str, unit: str, mine: np.ndarray) -> tuple[float, float]:
        """Return factor and offset to the contract's unit of one unit of a column.

        ``mine`` tells which of the column's texts bear it, shape (m,).
        """
        draft = self.draft
        written = draft.written.get(name, name)
        canonical, could_be = _BESIDE[name]
        how = beside_unit(unit, name) if unit else None
        if how is None and not unit and (name in draft.exact or name == "humidity"):
            return 1.0, 0.0
        if how is None:
            what = f"the unit '{unit}' is not known" if unit else "nothing says the unit"
            raise InputError(
                f"{what} of {name}; it could be {could_be}.",
                file=draft.sheet.file,
                column=written,
                shown=self._ways(name, could_be, draft.columns[name].rows(mine)),
                mend=f"Add to site.toml, under [units], the line: {toml_key(written)} = "
                f'"{canonical}"',
            )
        if how != (1.0, 0.0):
            self.known.books.learn(
                f"{name} in {draft.sheet.file} was converted from {unit} to {canonical}."
            )
        return how

    def _ways(self, name: str, could_be: str, rows: np.ndarray) -> list[str]:
        """Return three rows with what each unit makes of their cells."""
        draft = self.draft
        column = draft.columns[name]
        numbers = dict(zip(column.texts.to_pylist(), self.parsed[name].value.tolist(), strict=True))
        rows = rows[:2000]
        rows = rows[[not np.isnan(numbers[text]) for text in column.text(rows)]]
        canonical = _BESIDE[name][0]

        def way(unit: str) -> Callable[[str], str]:
            factor, offset = beside_unit(unit, name) or (1.0, 0.0)
            return lambda text: f"{numbers[text] * factor + offset:.4g} {canonical}"

        ways = {unit: way(unit) for unit in could_be.replace(" or ", ", ").split(", ")}
        return rows_shown(draft, column, rows, ways)

    def _below_ambient(self, value: np.ndarray, used: np.ndarray) -> np.ndarray:
        """Return suction as kPa below ambient: a gauge that shows it negative is turned round.

        ``used`` tells how many rows hold each value, shape (m,).
        """
        if used[value < 0].sum() > 0.9 * used[~np.isnan(value)].sum():
            self.known.books.learn(
                f"suction in {self.draft.sheet.file} is negative: taken as gauge pressure and "
                "turned round to kPa below ambient."
            )
            return -value
        return value

    def finish(self) -> None:
        """List the unit cells that were not understood, and write the canonical units."""
        if "unit" in self.draft.columns:
            odd = np.unique(np.concatenate([np.empty(0, dtype=np.int64), *self.odd_unit]))
            self.judge.cell(odd, "unit", "not a unit of this gas; the usual one taken")
        gas = self.made.get("gas")
        if "unit" in TABLES[self.draft.table].names and isinstance(gas, pd.Categorical):
            self.made["unit"] = _units_of(gas)
        if "action" in self.made and "unit" in self.draft.columns:
            written = pd.Series(labels(self.draft.columns["unit"])[0]).astype("object")
            done = pd.Series(self.made["action"]).isin(_GAS_ACTIONS)
            mine = pd.Series(self.made.get("unit", written)).astype("object")
            self.made["unit"] = pd.Categorical(mine.where(done & mine.notna(), written))


def _only_used(codes: np.ndarray) -> pd.Categorical:
    """Return statuses from their places in STATUSES, with those categories only that occur."""
    used = np.flatnonzero(counts(codes, len(STATUSES)))
    place = np.zeros(len(STATUSES), dtype=np.int8)
    place[used] = np.arange(len(used))
    return categorical(place[codes], [STATUSES[number] for number in used])


def _units_of(gas: pd.Categorical) -> pd.Categorical:
    """Return the canonical unit of each row's gas, shape (k,)."""
    units = [GAS_UNITS[name] for name in gas.categories]
    names = list(dict.fromkeys(units)) if len(set(units)) == len(units) else sorted(set(units))
    place = np.array([names.index(unit) for unit in units] + [-1], dtype=np.int8)
    return categorical(place[gas.codes], names)
