"""What stands in each canonical table: names, kinds and units of the columns.

All frames carry every column of their table, in this order, even when the logs did not have it
(then it is blank), followed by ``source_file`` and ``source_row``. So no later step has to ask
whether a column exists, only whether it holds anything.

Kinds
-----
time    ``datetime64[us, UTC]``
label   ``category`` of str: few distinct values, many rows
text    ``str`` (missing = NaN)
number  ``float64``
whole   ``float64`` holding whole numbers (so that blank stays possible)
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
import pandas as pd

TIME_DTYPE = "datetime64[us, UTC]"
SOURCE_COLUMNS = ("source_file", "source_row")


@dataclass(frozen=True)
class Column:
    """One column of a canonical table."""

    name: str
    kind: str
    must: bool = False
    unit: str = ""


@dataclass(frozen=True)
class Table:
    """One canonical table."""

    name: str
    columns: tuple[Column, ...]

    @property
    def names(self) -> list[str]:
        """Column names without the source columns."""
        return [column.name for column in self.columns]

    @property
    def must(self) -> list[str]:
        """Names of the columns without which a file is not this table."""
        return [column.name for column in self.columns if column.must]


def _t(name: str, *columns: Column) -> Table:
    return Table(name, columns)


READINGS = _t(
    "readings",
    Column("time", "time", must=True),
    Column("point", "label", must=True),
    Column("gas", "label", must=True),
    Column("value", "number", must=True),  # in the gas's own unit: GAS_UNITS
    Column("unit", "label"),
    Column("status", "label"),
    Column("flow", "number", unit="L/min"),
    Column("suction", "number", unit="kPa"),  # below ambient
    Column("temperature", "number", unit="degC"),
    Column("humidity", "number", unit="%RH"),
    Column("analyser", "label"),
)
EVENTS = _t(
    "events",
    Column("time", "time", must=True),
    Column("point", "label", must=True),
    Column("gas", "label"),
    Column("event", "label", must=True),
    Column("level", "label"),
    Column("state", "label", must=True),
    Column("value", "number"),
    Column("text", "text"),
)
OPERATIONS = _t(
    "operations",
    Column("time", "time", must=True),
    Column("action", "label", must=True),
    Column("point", "label"),
    Column("gas", "label"),
    Column("value", "number"),
    Column("reference", "number"),
    Column("unit", "label"),
    Column("level", "label"),
    Column("note", "text"),
    Column("cylinder", "text"),
    Column("expiry", "text"),
    Column("basis_vol_percent", "number", unit="%vol"),
)
POINTS = _t(
    "points",
    Column("point", "text", must=True),
    Column("space", "text"),
    Column("kind", "label"),
    Column("order", "whole"),
    Column("length_m", "number", unit="m"),
    Column("bore_mm", "number", unit="mm"),
    Column("volume_m3", "number", unit="m3"),
    Column("neighbours", "text"),  # points, space-separated
    Column("analyser", "text"),
)
SETPOINTS = _t(
    "setpoints",
    Column("gas", "label", must=True),
    Column("level", "label", must=True),
    Column("value", "number", must=True),
    Column("unit", "label"),
    Column("point", "text"),  # blank = all
    Column("deadband", "number"),
    Column("confirm_visits", "whole"),
    Column("direction", "label"),
)
FINDINGS = _t(
    "findings",
    Column("time", "time", must=True),
    Column("point", "label", must=True),
    Column("gas", "label"),
    Column("found", "label", must=True),
    Column("note", "text"),
)

TABLES: dict[str, Table] = {
    table.name: table for table in (READINGS, EVENTS, OPERATIONS, POINTS, SETPOINTS, FINDINGS)
}

# Unit of each gas channel in every canonical table.
GAS_UNITS = {"HC": "%LFL", "H2S": "ppm", "O2": "%vol", "CO": "ppm"}

STATUSES = ("ok", "over_range", "under_range", "fault", "test", "not_sampled")
EVENT_KINDS = ("alarm", "fault")
STATES = ("raised", "cleared", "acknowledged", "muted", "reset")
POINT_KINDS = ("ballast", "void", "pump_room", "cofferdam", "duct_keel", "cabinet", "other")
DIRECTIONS = ("rising", "falling")
ACTIONS = (
    "disconnect",
    "reconnect",
    "purge",
    "resample",
    "zero_check",
    "zero_adjust",
    "span_check",
    "span_adjust",
    "setpoint",
    "ballast_fill_start",
    "ballast_fill_end",
    "ballast_discharge_start",
    "ballast_discharge_end",
    "level",
    "ventilation_on",
    "ventilation_off",
    "cargo_start",
    "cargo_end",
    "sea_state",
    "restart",
    "maintenance",
    "clock",
    "note",
)
CAUSES = (
    "gas",
    "ambient_vapour",
    "water",
    "blocked",
    "moisture",
    "carry_over",
    "zero_drift",
    "test_gas",
    "spike",
    "tight_setpoint",
    "pump",
)
# Causes that are gas in the air, in the space or from the deck.
REAL = ("gas", "ambient_vapour")
UNDETERMINED = "undetermined"
CONDITIONS = (
    "water",
    "blocked",
    "air_leak",
    "left_disconnected",
    "not_sampled",
    "no_alarm",
    "zero_drift",
    "low_sensitivity",
    "low_flow_all",
)

_DTYPES = {"time": TIME_DTYPE, "number": "float64", "whole": "float64", "text": "str"}


def empty(table: Table) -> pd.DataFrame:
    """Return the table with no row and all its columns in their kinds.

    Examples
    --------
    >>> empty(SETPOINTS).columns.tolist()[:3]
    ['gas', 'level', 'value']
    """
    return _no_row(table).copy(deep=False)


@cache
def _no_row(table: Table) -> pd.DataFrame:
    return conform(pd.DataFrame(), table)


def conform(frame: pd.DataFrame, table: Table) -> pd.DataFrame:
    """Return ``frame`` with exactly the table's columns, in order and in their kinds.

    Parameters
    ----------
    frame : DataFrame, shape (n, any)
        Columns of the table, in any order, some may be missing. ``source_file`` and
        ``source_row`` are kept when there, else made (blank file, rows 2, 3, ...).
        Times must be aware or already UTC.
    table : Table
        One of the tables of this module.

    Returns
    -------
    DataFrame, shape (n, len(table.columns) + 2)
    """
    out: dict[str, pd.Series[object]] = {}
    index = pd.RangeIndex(len(frame))
    # One column of blanks serves for all that the logs didn't have; pandas copies it on a write.
    blank: dict[str, pd.Series[object]] = {}
    for column in table.columns:
        if column.name in frame:
            out[column.name] = _as_kind(frame[column.name].reset_index(drop=True), column.kind)
        else:
            kind = "number" if column.kind == "whole" else column.kind
            if kind not in blank:
                blank[kind] = _blank(index, kind)
            out[column.name] = blank[kind]
    if "source_file" in frame:
        source = frame["source_file"].reset_index(drop=True)
    else:
        source = pd.Series("", index=index, dtype="str")
    out["source_file"] = source.astype("category")
    if "source_row" in frame:
        out["source_row"] = frame["source_row"].reset_index(drop=True).astype("int64")
    else:
        out["source_row"] = pd.Series(range(2, len(frame) + 2), index=index, dtype="int64")
    return pd.DataFrame(out, index=index, copy=False)


def _blank(index: pd.RangeIndex, kind: str) -> pd.Series:
    """Return a column that holds nothing."""
    if kind == "label":
        codes = np.full(len(index), -1, dtype=np.int8)
        dtype = pd.CategoricalDtype(pd.Index([], dtype="str"))
        nothing = pd.Categorical.from_codes(codes, dtype=dtype, validate=False)
        return pd.Series(nothing, index=index)
    return _as_kind(pd.Series(float("nan"), index=index, dtype="float64"), kind)


def _as_kind(series: pd.Series, kind: str) -> pd.Series:
    if kind == "label":
        if isinstance(series.dtype, pd.CategoricalDtype):
            return series
        if series.dtype.kind == "f" and series.isna().all():
            return _blank(pd.RangeIndex(len(series)), kind)
        return series.astype("str").astype("category")
    if kind == "time":
        if series.dtype == TIME_DTYPE:
            return series
        return pd.to_datetime(series, utc=True).astype(TIME_DTYPE)
    return series.astype(_DTYPES[kind])
