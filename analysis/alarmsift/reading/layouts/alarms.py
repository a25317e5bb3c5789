"""An alarm list in other words: states in a column, or all of it in a text."""

from __future__ import annotations

import numpy as np

from alarmsift.reading.alarm_cells import complete
from alarmsift.reading.draft import Draft, Layout, left_out, pick, unit_of
from alarmsift.reading.header import Name
from alarmsift.reading.sheet import Sheet
from alarmsift.reading.time_columns import time_column

CELLS = ("point", "gas", "event", "level", "state", "status", "value", "unit", "text")


def table_of(names: list[Name]) -> str:
    """Return events when there are a time and a state of something, or a text."""
    have = {name.plain for name in names}
    if not have & {"time", "date"} or have & {"action", "end"}:
        return ""
    about = {"point", "gas", "level", "event", "text"} & have
    stated = "state" in have or ("status" in have and about & {"gas", "level", "event", "text"})
    return "events" if (stated and about) or "text" in have else ""


def draft(sheet: Sheet, names: list[Name], table: str) -> Draft:
    """Return one event a row."""
    found = pick(names, {"time", "date", *CELLS})
    size = len(sheet.lines)
    cells = complete({n: sheet.columns[found[n]] for n in CELLS if n in found}, size)
    columns = {"time": time_column(sheet, found), **cells.columns}
    return Draft(
        sheet=sheet,
        table=table,
        layout="alarms",
        columns=columns,
        rows=np.arange(size),
        written={plain: names[number].written for plain, number in found.items()},
        units={plain: unit_of(sheet, n, names[n]) for plain, n in found.items()},
        left_out=left_out(names, set(found.values())),
        found_in=cells.found_in,
        said=tuple(cells.said),
    )


LAYOUT = Layout("alarms", table_of, draft)
