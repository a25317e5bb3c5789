"""The unit of each gas value, and the factor by which it becomes the canonical one."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pandas as pd
import pyarrow as pa

from alarmsift.errors import InputError
from alarmsift.reading import cell_numbers
from alarmsift.reading.asked import Known
from alarmsift.reading.draft import Draft
from alarmsift.reading.judge import labels
from alarmsift.reading.question import rows_shown
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


def factors(draft: Draft, values: GasValues, known: Known) -> tuple[np.ndarray, np.ndarray]:
    """Return the factor to the canonical unit and which unit cells were not understood.

    Parameters
    ----------
    draft : Draft
    values : GasValues
    known : Known

    Returns
    -------
    (array of float, array of bool), each shape (k,)

    Raises
    ------
    InputError
        When nothing says the unit of a gas that has values.
    """
    factor = np.ones(len(values.gas))
    unknown = np.zeros(len(values.gas), dtype=bool)
    for number, gas in enumerate(values.gas.categories):
        rows = np.flatnonzero((values.gas.codes == number) & values.live)
        if len(rows) and gas in GAS_UNITS:
            units, odd = _of_gas(draft, values, known, (str(gas), rows))
            factor[rows] = _factor(draft, known, str(gas), units)
            unknown[rows] = odd
    return factor, unknown


def _of_gas(
    draft: Draft, values: GasValues, known: Known, which: tuple[str, np.ndarray]
) -> tuple[np.ndarray, np.ndarray]:
    """Return the unit of each value of one gas and which unit cells were not understood.

    Units are numbers into ``units.UNITS`` here: a million texts would take seconds.
    """
    gas, rows = which
    unit = np.full(len(rows), -1, dtype=np.int8)
    odd = np.zeros(len(rows), dtype=bool)
    for written in values.units:
        names = [gas_unit(str(text), gas) for text in written.categories]
        place = np.array([_PLACE.get(name, -2) for name in names] + [-1], dtype=np.int8)
        found = place[written.codes[rows]]
        odd |= (found == -2) & (unit < 0)
        unit = np.where((unit < 0) & (found >= 0), found, unit)
    _refuse_usual(draft, values, known, (gas, rows), odd)
    seen = {UNITS[number] for number in np.unique(unit) if number >= 0}
    if draft.table == "readings":
        known.reading_units.setdefault(gas, set()).update(seen)
    blank = unit < 0
    for name, some in _by_name(values.names, rows, blank):
        fallback = _otherwise(draft, known, (gas, rows[some]), (seen, name))
        unit[some] = _PLACE[fallback]
        if draft.table == "readings":
            known.reading_units[gas].add(fallback)
    return unit, odd


def _by_name(
    names: pd.Categorical | None, rows: np.ndarray, blank: np.ndarray
) -> list[tuple[str, np.ndarray]]:
    """Return the values that bear no unit, by the file's column that they come from."""
    at = np.flatnonzero(blank)
    if not len(at):
        return []
    if names is None:
        return [("", at)]
    codes = names.codes[rows[at]]
    return [(str(names.categories[code]), at[codes == code]) for code in np.unique(codes)]


def _refuse_usual(
    draft: Draft, values: GasValues, known: Known, which: tuple[str, np.ndarray], odd: np.ndarray
) -> None:
    """Stop when a unit that is not known is no slip: it fills much of the column."""
    gas, rows = which
    name = draft.written.get("value", "")
    few = odd.sum() < _A_FEW and odd.mean() <= 0.5
    if odd.mean() <= _NO_SLIP or few or known.site_unit(name, gas):
        return
    for written in values.units:
        counts = np.bincount(written.codes[rows[odd]] + 1, minlength=2)[1:]
        if len(counts) and counts.max() > _NO_SLIP * len(rows):
            unit = str(written.categories[counts.argmax()])
            said = f"the unit '{unit}' does not say the unit of {gas}; it could be"
            raise ask_unit(draft, known, (gas, rows[odd]), said)


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
    draft: Draft, known: Known, which: tuple[str, np.ndarray], hints: tuple[set[str], str]
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
        raise ask_unit(draft, known, (gas, rows), f"nothing says the unit of {gas}; it could be")
    known.books.warn(
        f"The unit of {gas} in {draft.sheet.file} is not said; {GAS_UNITS[gas]} taken."
    )
    return GAS_UNITS[gas]


def _factor(draft: Draft, known: Known, gas: str, units: np.ndarray) -> np.ndarray:
    """Return the factor of each value, shape (k,)."""
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
