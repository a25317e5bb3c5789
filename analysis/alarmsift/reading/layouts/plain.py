"""The plain layout: one row a reading, event, operation, point, setpoint or finding."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from alarmsift.reading.draft import Draft, Layout, left_out, pick, unit_of
from alarmsift.reading.header import Name
from alarmsift.reading.sheet import Sheet, TextColumn
from alarmsift.reading.time_columns import time_column
from alarmsift.tables.schema import SOURCE_COLUMNS, TABLES

# Columns by which a table is known, in the order to ask: a table of operations has the columns of
# a table of readings too.
_MARKS = {
    "events": {"time", "point", "event", "state"},
    "findings": {"time", "point", "found"},
    "operations": {"time", "action"},
    "readings": {"time", "point", "gas", "value"},
    "setpoints": {"gas", "level", "value"},
}


def table_of(names: list[Name]) -> str:
    """Return which plain table has these columns; blank when none has."""
    have = {name.plain for name in names}
    if "date" in have:
        have.add("time")
    for table, marks in _MARKS.items():
        if marks <= have and (table != "events" or _exact(names, marks)):
            return table
    if {"gas", "level", "limit"} <= have and "time" not in have:
        return "setpoints"
    about = set(TABLES["points"].names) - {"point"}
    if {"point"} <= have and have & about and "time" not in have:
        return "points"
    return ""


def _exact(names: list[Name], marks: set[str]) -> bool:
    """Tell whether these columns bear their plain names; other alarm lists have other words too."""
    return marks - {"time"} <= {name.plain for name in names if name.exact}


def draft(sheet: Sheet, names: list[Name], table: str) -> Draft:
    """Return the file as it is, under plain names."""
    if table == "setpoints" and all(name.plain != "value" for name in names):
        names = [replace(name, plain="value") if name.plain == "limit" else name for name in names]
    wanted = set(TABLES[table].names) | set(SOURCE_COLUMNS)
    found = pick(names, wanted | {"date"})
    columns: dict[str, TextColumn] = {
        plain: sheet.columns[number] for plain, number in found.items() if plain in wanted
    }
    used = set(found.values())
    if "time" in wanted:
        columns["time"] = time_column(sheet, found)
    return Draft(
        sheet=sheet,
        table=table,
        layout="plain" if all(names[n].exact for n in used) else "long",
        columns=columns,
        rows=np.arange(len(sheet.lines)),
        written={plain: names[number].written for plain, number in found.items()},
        units={plain: unit_of(sheet, n, names[n]) for plain, n in found.items()},
        exact=frozenset(plain for plain, n in found.items() if names[n].exact),
        left_out=left_out(names, used),
    )


LAYOUT = Layout("plain", table_of, draft)
