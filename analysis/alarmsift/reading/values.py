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
from alarmsift.reading.judge import Judge, labels
from alarmsift.reading.question import rows_shown, toml_key
from alarmsift.reading.sheet import TextColumn
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
        status = np.where((status <= 0) & self._filler(value, status <= 0), _PLACE["fault"], status)
        excused = status > 0
        judge.cell(bad & excused, "value", "not a number")
        judge.row(bad & ~excused, "value", "not a number")
        judge.row(np.isnan(value) & ~excused, "value", "no value, and no status")
        self.made["status"] = _only_used(np.maximum(status, 0))
        return self._gas_value("value", value)

    def _filler(self, value: np.ndarray, free: np.ndarray) -> np.ndarray:
        """Return which values are the numbers that programs write where there is none."""
        filler = np.isin(value, _FILLERS)
        count = int((filler & free & ~self.judge.dead).sum())
        if count:
            shown = ", ".join(f"{number:g}" for number in np.unique(value[filler]))
            self.known.books.warn(
                f"{count} values in {self.draft.sheet.file} read {shown}, which programs write "
                "where there is no measurement; they were given the status 'fault'."
            )
        return filler

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
        """Return flow, suction, temperature or humidity in the contract's unit, shape (k,).

        A unit behind the number goes before that of the header, and that before ``[units]``.
        """
        draft = self.draft
        cells, found = draft.columns[name], self.parsed[name]
        written = draft.written.get(name, name)
        header = draft.units.get(name, "") or self.known.site_unit(written, name)
        factor, offset = np.ones(len(found.unit)), np.zeros(len(found.unit))
        numbers = (cells.used() > 0) & ~np.isnan(found.value)
        for unit in sorted(set(found.unit[numbers].tolist()) or {""}):
            mine = found.unit == unit
            rows = np.flatnonzero(mine[cells.codes])
            factor[mine], offset[mine] = self._convert(name, unit or header, rows)
        value = value * factor[cells.codes] + offset[cells.codes]
        return self._below_ambient(value) if name == "suction" else value

    def _convert(self, name: str, unit: str, rows: np.ndarray) -> tuple[float, float]:
        """Return factor and offset to the contract's unit of one unit of a column."""
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
                shown=self._ways(name, could_be, rows),
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
        if "action" in self.made and "unit" in self.draft.columns:
            written = pd.Series(labels(self.draft.columns["unit"])[0]).astype("object")
            done = pd.Series(self.made["action"]).isin(_GAS_ACTIONS)
            mine = pd.Series(self.made.get("unit", written)).astype("object")
            self.made["unit"] = pd.Categorical(mine.where(done & mine.notna(), written))


def _only_used(codes: np.ndarray) -> pd.Categorical:
    """Return statuses from their places in STATUSES, with those categories only that occur."""
    used = np.flatnonzero(np.bincount(codes, minlength=len(STATUSES)))
    place = np.zeros(len(STATUSES), dtype=np.int8)
    place[used] = np.arange(len(used))
    names = pd.Index([STATUSES[number] for number in used], dtype="str")
    return pd.Categorical.from_codes(place[codes], categories=names)
