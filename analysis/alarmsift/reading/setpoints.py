"""What setpoints say: the unit of each gas, and the rows that stand in ``site.toml``."""

from __future__ import annotations

import numpy as np
import pandas as pd

from alarmsift.errors import InputError
from alarmsift.reading.asked import Known
from alarmsift.reading.disk import SITE_FILE
from alarmsift.reading.draft import Draft
from alarmsift.reading.judge import labels
from alarmsift.reading.units import gas_unit, to_canonical
from alarmsift.reading.words import gas_of
from alarmsift.tables.schema import GAS_UNITS, SETPOINTS, conform
from alarmsift.tables.site import Site


def note_units(drafts: list[Draft], site: Site) -> dict[str, str]:
    """Return gas -> unit as the setpoints say it, where they say one only."""
    said: dict[str, set[str]] = {gas: set() for gas in GAS_UNITS}
    for setpoint in site.setpoints:
        said[setpoint.gas].add(gas_unit(setpoint.unit, setpoint.gas))
    for draft in drafts:
        if draft.table != "setpoints":
            continue
        gases = labels(draft.columns["gas"], gas_of)[0].astype("object")
        header = draft.units.get("value", "")
        units = (
            labels(draft.columns["unit"])[0].astype("object") if "unit" in draft.columns else None
        )
        for at, gas in enumerate(gases):
            if gas in said:
                text = header if units is None or pd.isna(units[at]) else str(units[at])
                said[gas].add(gas_unit(text, gas))
    return {gas: next(iter(u - {""})) for gas, u in said.items() if len(u - {""}) == 1}


def site_rows(frame: pd.DataFrame, known: Known, lines: list[int]) -> pd.DataFrame:
    """Return the setpoints of the table and of ``site.toml``; the latter win where both speak."""
    given = known.site.setpoints
    if not given:
        return frame
    rows = pd.DataFrame(
        {
            "gas": [s.gas for s in given],
            "level": [s.level for s in given],
            "value": [s.value * _factor(s.gas, s.unit, known) for s in given],
            "unit": [GAS_UNITS[s.gas] for s in given],
            "point": [s.point or np.nan for s in given],
            "deadband": [np.nan if s.deadband is None else s.deadband for s in given],
            "confirm_visits": [
                np.nan if s.confirm_visits is None else s.confirm_visits for s in given
            ],
            "direction": [s.direction or ("falling" if s.gas == "O2" else "rising") for s in given],
            "source_file": SITE_FILE,
            "source_row": lines[: len(given)] + [0] * (len(given) - len(lines)),
        }
    )
    key = ["gas", "level", "point"]
    here = set(rows[key].astype("object").fillna("").itertuples(index=False, name=None))
    there = frame[key].astype("object").fillna("").itertuples(index=False, name=None)
    twice = pd.Series([one in here for one in there], index=frame.index, dtype=bool)
    if twice.any():
        known.books.warn(
            f"{int(twice.sum())} setpoints stand in the table and in site.toml; those of site.toml "
            "were taken."
        )
    left = frame[~twice].astype({"gas": "str", "level": "str", "unit": "str", "direction": "str",
                                 "source_file": "str"})  # fmt: skip
    return conform(pd.concat([left, rows], ignore_index=True) if len(left) else rows, SETPOINTS)


def _factor(gas: str, unit: str, known: Known) -> float:
    """Return the factor of a setpoint's value to the gas's canonical unit."""
    plain = gas_unit(unit, gas) if unit else ""
    if unit and not plain:
        raise InputError(
            f"the unit '{unit}' of a [[setpoint]] is not one of {gas}.",
            file=SITE_FILE,
            mend=f'Write for example unit = "{GAS_UNITS[gas]}".',
        )
    others = known.reading_units.get(gas, set())
    plain = plain or known.setpoint_units.get(gas, "") or (min(others) if len(others) == 1 else "")
    if not plain:
        known.books.learn(f"A [[setpoint]] of {gas} without a unit was taken as {GAS_UNITS[gas]}.")
        plain = GAS_UNITS[gas]
    factor = to_canonical(gas, plain, known.lfl_percent)
    if factor is None:
        raise InputError(
            f"a [[setpoint]] of {gas} is in {plain}, and no [lfl] is set.",
            file=SITE_FILE,
            mend='Add the lines: [lfl]  gas = "..."  vol_percent = ...',
        )
    return factor
