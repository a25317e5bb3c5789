"""The unit of each gas value, and the factor by which it becomes the canonical one."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

import numpy as np
import pandas as pd
import pyarrow as pa

from alarmsift.errors import InputError
from alarmsift.reading import cell_numbers
from alarmsift.reading.asked import Known
from alarmsift.reading.draft import Draft
from alarmsift.reading.judge import labels
from alarmsift.reading.question import rows_shown
from alarmsift.reading.sheet import counts
from alarmsift.reading.units import (
    LFL,
    MASS,
    MOLAR_VOLUME,
    PPM,
    UNITS,
    VOL,
    gas_unit,
    to_canonical,
)
from alarmsift.reading.words import gas_of
from alarmsift.tables.schema import GAS_UNITS

# A unit that this share of a gas's cells bears, and that is not known, is no slip of the pen.
_NO_SLIP = 0.2
_A_FEW = 10  # cells; in a file of a few rows the share says little

_MOST_KINDS = 1 << 16  # more are counted after they were looked for

_PLACE = {unit: number for number, unit in enumerate(UNITS)}
# Two published limits of one gas [%vol], to show why the basis must be said.
_TWO_BASES = (("NFPA 497:2008", 2.1), ("IEC 60079-20-1:2010", 1.7))
_LFL_SHOWN = 2.1  # [%vol] propane, NFPA 497 (2008): only to show what a question is about
# Gas -> its usual unit, what it could be too, and why it matters.
_READINGS = {
    "HC": (LFL, VOL, f"half a per cent by volume of propane is 24 {LFL}"),
    "H2S": (PPM, MASS, f"one {PPM} is 1.4 {MASS}"),
    "O2": (VOL, PPM, f"one {VOL} is 10000 {PPM}"),
    "CO": (PPM, MASS, f"one {PPM} is 1.2 {MASS}"),
}


@dataclass(frozen=True)
class GasValues:
    """Values whose units are to be settled.

    Attributes
    ----------
    gas : Categorical, shape (k,)
    units : list of Categorical, each shape (k,)
        Unit texts, the most telling first (behind the number, the unit column).
    live : array of bool, shape (k,)
        Rows that hold a number.
    names : Categorical or None, shape (k,)
        Name of the file's column that each value comes from.
    """

    gas: pd.Categorical
    units: list[pd.Categorical]
    live: np.ndarray
    names: pd.Categorical | None = None


@dataclass(frozen=True)
class _Kinds:
    """The values gathered by what says their unit: gas, unit texts and column.

    A million rows have a handful of kinds, and whatever is asked is asked once a kind.

    Attributes
    ----------
    values : GasValues
    key : array of int, shape (k,)
        Kind of each row.
    count : array of int64, shape (q,)
        How many live rows are of each kind.
    gas, name : array of int, shape (q,)
        Code of each kind in ``values.gas`` and ``values.names``; 0 when there are no names.
    units : list of array of int, each shape (q,)
        Codes of each kind in ``values.units``, -1 = blank.
    """

    values: GasValues
    key: np.ndarray
    count: np.ndarray
    gas: np.ndarray
    name: np.ndarray
    units: list[np.ndarray]

    def rows(self, kinds: np.ndarray) -> np.ndarray:
        """Return the live rows of some kinds, in order."""
        marked = np.zeros(len(self.count), dtype=bool)
        marked[kinds] = True
        return np.flatnonzero(marked[self.key] & self.values.live)


def _kinds(values: GasValues) -> _Kinds:
    names = [] if values.names is None else [values.names]
    said = [values.gas, *values.units, *names]
    sizes = [len(one.categories) + 1 for one in said]
    most = math.prod(sizes)
    kind = np.int16 if most < 1 << 15 else np.int32 if most < 1 << 31 else np.int64
    key: np.ndarray = np.zeros(len(values.gas), dtype=kind)
    for one, size in zip(said, sizes, strict=True):
        np.multiply(key, size, out=key)
        np.add(key, one.codes, out=key)
        np.add(key, 1, out=key)
    if most <= _MOST_KINDS:
        distinct = np.arange(most)
    else:
        distinct, key = np.unique(key, return_inverse=True)
    count = counts(key if values.live.all() else key[values.live], len(distinct))
    codes, rest = [], distinct
    for size in reversed(sizes):
        codes.append(rest % size - 1)
        rest = rest // size
    codes.reverse()
    name = codes.pop() if names else np.zeros(len(distinct), dtype=np.int64)
    return _Kinds(values, key, count, codes[0], name, codes[1:])


def factors(draft: Draft, values: GasValues, known: Known) -> tuple[np.ndarray | None, np.ndarray]:
    """Return the factor to the canonical unit, and the rows whose unit was not understood.

    Parameters
    ----------
    draft : Draft
    values : GasValues
    known : Known

    Returns
    -------
    (array of float, shape (k,), or None; array of int64)
        None when all values are in the canonical units.

    Raises
    ------
    InputError
        When nothing says the unit of a gas that has values.
    """
    kinds = _kinds(values)
    factor = np.ones(len(kinds.count))
    unknown = np.zeros(len(kinds.count), dtype=bool)
    for number, gas in enumerate(values.gas.categories):
        mine = np.flatnonzero((kinds.gas == number) & (kinds.count > 0))
        if len(mine) and gas in GAS_UNITS:
            units, odd = _of_gas(draft, kinds, known, (str(gas), mine))
            factor[mine] = _factor(draft, known, str(gas), units)
            unknown[mine] = odd
    odd_rows = kinds.rows(unknown) if unknown.any() else np.empty(0, dtype=np.int64)
    if (factor == 1.0).all():
        return None, odd_rows
    return np.where(values.live, factor[kinds.key], 1.0), odd_rows


def _of_gas(
    draft: Draft, kinds: _Kinds, known: Known, which: tuple[str, np.ndarray]
) -> tuple[np.ndarray, np.ndarray]:
    """Return the unit of each kind of one gas, and of which the unit cells were not understood.

    Units are numbers into ``units.UNITS`` here.
    """
    gas, mine = which
    unit = np.full(len(mine), -1, dtype=np.int8)
    odd = np.zeros(len(mine), dtype=bool)
    for written, codes in zip(kinds.values.units, kinds.units, strict=True):
        names = [gas_unit(str(text), gas) for text in written.categories]
        place = np.array([_PLACE.get(name, -2) for name in names] + [-1], dtype=np.int8)
        found = place[codes[mine]]
        odd |= (found == -2) & (unit < 0)
        unit = np.where((unit < 0) & (found >= 0), found, unit)
    _refuse_usual(draft, kinds, known, (gas, mine), odd)
    seen = {UNITS[number] for number in np.unique(unit) if number >= 0}
    if draft.table == "readings":
        known.reading_units.setdefault(gas, set()).update(seen)
    for name, some in _by_name(kinds, mine, unit < 0):
        fallback = _otherwise(draft, known, (gas, partial(kinds.rows, mine[some])), (seen, name))
        unit[some] = _PLACE[fallback]
        if draft.table == "readings":
            known.reading_units[gas].add(fallback)
    return unit, odd


def _by_name(kinds: _Kinds, mine: np.ndarray, blank: np.ndarray) -> list[tuple[str, np.ndarray]]:
    """Return which of some kinds bear no unit, by the file's column that they come from."""
    at = np.flatnonzero(blank)
    names = kinds.values.names
    if not len(at):
        return []
    if names is None:
        return [("", at)]
    codes = kinds.name[mine[at]]
    return [(str(names.categories[code]) if code >= 0 else "", at[codes == code])
            for code in np.unique(codes)]  # fmt: skip


def _refuse_usual(
    draft: Draft, kinds: _Kinds, known: Known, which: tuple[str, np.ndarray], odd: np.ndarray
) -> None:
    """Stop when a unit that is not known is no slip: it fills much of the column."""
    gas, mine = which
    name = draft.written.get("value", "")
    rows = kinds.count[mine]
    total, wrong = int(rows.sum()), int(rows[odd].sum())
    few = wrong < _A_FEW and wrong <= 0.5 * total
    if wrong <= _NO_SLIP * total or few or known.site_unit(name, gas):
        return
    for written, codes in zip(kinds.values.units, kinds.units, strict=True):
        most = np.bincount(codes[mine[odd]] + 1, weights=rows[odd], minlength=2)[1:]
        if most.max() > _NO_SLIP * total:
            unit = str(written.categories[most.argmax()])
            said = f"the unit '{unit}' does not say the unit of {gas}; it could be"
            raise ask_unit(draft, known, (gas, kinds.rows(mine[odd])), said)


def ask_unit(draft: Draft, known: Known, which: tuple[str, np.ndarray], said: str) -> InputError:
    """Return the question which unit a gas has, with three rows read in either."""
    gas, rows = which
    plain, other, why = _READINGS[gas]
    column = draft.columns["value"]
    name = draft.written.get("value", "value")
    if draft.value_names is not None and len(rows):
        name = str(draft.value_names.text(rows[:1])[0])
    lfl = known.lfl_percent or _LFL_SHOWN
    return InputError(
        f"{said} {plain} or {other}: {why}.",
        file=draft.sheet.file,
        row=int(draft.sheet.lines[draft.rows[rows[0]]]) if len(rows) else None,
        column=name,
        shown=rows_shown(draft, column, rows, {u: _read_as(gas, u, lfl) for u in (plain, other)}),
        mend=f'Add to site.toml, under [units], the line: {gas} = "{plain}" or {gas} = "{other}"',
    )


def _read_as(gas: str, unit: str, lfl: float) -> Callable[[str], str]:
    factor = to_canonical(gas, unit, lfl) or 1.0
    basis = f" (LFL {lfl:g} %vol)" if gas == "HC" and unit != LFL else ""

    def read(text: str) -> str:
        found = cell_numbers.parse(pa.array([text], pa.string()), comma="," in text)
        number = float(found.value[0])
        return "no number" if np.isnan(number) else f"{number * factor:.3g} {GAS_UNITS[gas]}{basis}"

    return read


def _otherwise(
    draft: Draft,
    known: Known,
    which: tuple[str, Callable[[], np.ndarray]],
    hints: tuple[set[str], str],
) -> str:
    """Return the unit of values that bear none: header, [units], setpoints, the file's others."""
    (gas, rows), (seen, name) = which, hints
    header = gas_unit(draft.units.get("value", ""), gas)
    site = known.site_unit(name, draft.written.get("value", ""), gas)
    if site and not gas_unit(site, gas):
        raise InputError(
            f"[units] says '{site}' for {gas}, which is not a unit of it.",
            file="site.toml",
            mend=f'Write for example {gas} = "{GAS_UNITS[gas]}".',
        )
    unit = header or gas_unit(site, gas) or known.setpoint_units.get(gas, "")
    if unit:
        return unit
    others = seen or (known.reading_units.get(gas, set()) if draft.table != "readings" else set())
    if len(others) == 1:
        return next(iter(others))
    if draft.table == "readings" or (draft.table == "setpoints" and not others):
        raise ask_unit(draft, known, (gas, rows()), f"nothing says the unit of {gas}; it could be")
    known.books.warn(
        f"The unit of {gas} in {draft.sheet.file} is not said; {GAS_UNITS[gas]} taken."
    )
    return GAS_UNITS[gas]


def _factor(draft: Draft, known: Known, gas: str, units: np.ndarray) -> np.ndarray:
    """Return the factor of each unit given, same shape."""
    table = np.ones(len(UNITS))
    for number in np.unique(units).tolist():
        unit = UNITS[number]
        factor = to_canonical(gas, unit, known.lfl_percent)
        if factor is None:
            raise _ask_lfl(draft, gas, unit)
        if unit != GAS_UNITS[gas]:
            known.books.learn(_sentence(draft, known, gas, (unit, factor)))
        table[number] = factor
    return np.asarray(table[units])


def _ask_lfl(draft: Draft, gas: str, unit: str) -> InputError:
    """Return the question for the lower flammable limit, with rows on two bases for propane."""
    column = draft.columns["value"]
    ways = {f"propane, {basis}": _read_as(gas, unit, limit) for basis, limit in _TWO_BASES}
    numbers = ~cell_numbers.parse(column.texts).bad[column.codes] & ~column.blank()
    rows = np.flatnonzero(numbers)
    if "gas" in draft.columns:
        names = labels(draft.columns["gas"], gas_of)[0]
        rows = rows[np.asarray(names.astype(object) == gas)[rows]]
    return InputError(
        f"{gas} is written in {unit}; to make {LFL} of it the lower flammable limit of the gas is "
        "needed.",
        file=draft.sheet.file,
        shown=rows_shown(draft, column, rows, ways),
        mend='Add to site.toml the lines: [lfl]  gas = "..."  vol_percent = ... '
        "(from the safety data sheet of the cargo or the calibration gas).",
    )


def _sentence(draft: Draft, known: Known, gas: str, how: tuple[str, float]) -> str:
    unit, factor = how
    basis = ""
    if gas == "HC" and known.site.lfl is not None:
        basis = f" (lower flammable limit {known.site.lfl[1]:g} %vol, {known.site.lfl[0]})"
    if unit == MASS:
        basis = f" (at 20 degC and 101.325 kPa: {MOLAR_VOLUME:g} L/mol)"
    return (
        f"{gas} in {draft.sheet.file} was converted from {unit} to {GAS_UNITS[gas]}: "
        f"x {factor:.4g}{basis}."
    )
