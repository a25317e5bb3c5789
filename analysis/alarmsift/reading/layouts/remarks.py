"""A log of operations in free words: a time and a remark, perhaps the place."""

from __future__ import annotations

import numpy as np
import pyarrow as pa

from alarmsift.reading.action_words import action_of
from alarmsift.reading.draft import Draft, Layout, left_out, pick, unit_of
from alarmsift.reading.header import Name
from alarmsift.reading.sheet import Sheet, TextColumn, constant
from alarmsift.reading.time_columns import time_column

_CELLS = ("point", "event", "note", "value", "unit", "reference", "cylinder", "expiry")


def table_of(names: list[Name]) -> str:
    """Return operations when there are a time and a remark, and nothing of readings or alarms."""
    have = {name.plain for name in names}
    other = have & {"gas", "state", "status", "level", "text", "end", "action"}
    words = have & {"event", "note"}
    return "operations" if have & {"time", "date"} and words and not other else ""


def draft(sheet: Sheet, names: list[Name], table: str) -> Draft:
    """Return one operation a row; what no rule knows is a note."""
    found = pick(names, {"time", "date", *_CELLS})
    columns = {name: sheet.columns[found[name]] for name in _CELLS if name in found}
    source = columns.pop("event") if "event" in columns else columns["note"]
    actions = [action_of(text) or "note" for text in source.texts.to_pylist()]
    columns["action"] = TextColumn(source.codes, pa.array(actions, pa.string()))
    columns.setdefault("note", source)
    columns["time"] = time_column(sheet, found)
    if "point" not in columns:
        columns["point"] = constant("", len(sheet.lines))
    taken = sorted(set(actions) - {"note"})
    said = f"operations were read out of remarks ({', '.join(taken) or 'none known'})"
    return Draft(
        sheet=sheet,
        table=table,
        layout="remarks",
        columns=columns,
        rows=np.arange(len(sheet.lines)),
        written={plain: names[number].written for plain, number in found.items()},
        units={plain: unit_of(sheet, n, names[n]) for plain, n in found.items()},
        exact=frozenset(plain for plain, n in found.items() if names[n].exact),
        left_out=left_out(names, set(found.values())),
        found_in=None if "point" in found else columns["note"],
        said=(said,),
    )


LAYOUT = Layout("remarks", table_of, draft)
